"""The forms of a counting session: its head, and one row a wipe. A row may be left empty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.fields import CountsField, DayField, SecondsField, paired
from inventory.ledger.models import Item, ItemKind
from inventory.pages import WritingForm
from inventory.sentences import day_text, error_text
from surveys.leak.wipe import Count
from surveys.monitors.models import MonitorKind

#: Rows that a new page has, rows that a click adds, and the most that one session holds.
ROWS, MORE, MOST = 8, 8, 60
#: Monitors on which wipes are counted.
COUNTERS = (MonitorKind.WIPE_COUNTER, MonitorKind.CONTAMINATION)
ROW_PREFIX = "wipes"


def numeric(**more: str) -> forms.TextInput:
    return forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", **more})


def counts_field(label: Any, **more: Any) -> CountsField:
    return CountsField(label=label, required=False, widget=numeric(), **more)


def seconds_field(label: Any, **more: Any) -> SecondsField:
    return SecondsField(label=label, required=False, widget=numeric(), **more)


def named(label: Any, **more: Any) -> forms.CharField:
    """A source or gauge by name, with the names that the page knows on offer."""
    attrs = {"list": "names", "autocomplete": "off", "spellcheck": "false"}
    widget = forms.TextInput(attrs=attrs)
    return forms.CharField(label=label, required=False, max_length=400, widget=widget, **more)


class SessionForm(WritingForm):
    """What all wipes of a session share."""

    counter = forms.ModelChoiceField(
        Item.objects.none(), label=gettext_lazy("Counter"), to_field_name="code"
    )
    counted_on = DayField(label=gettext_lazy("Counted on"))
    counted_by = forms.CharField(label=gettext_lazy("Counted by"), max_length=200)
    background_counts = counts_field(
        gettext_lazy("Background counts"),
        help_text=gettext_lazy("One background for the batch; several are pooled: 389 + 401"),
    )
    background_seconds = seconds_field(
        gettext_lazy("Background time (s)"), help_text=gettext_lazy("One time for each count.")
    )
    check_source = named(gettext_lazy("Check source"))
    check_counts = counts_field(gettext_lazy("Check-source counts"))
    check_seconds = seconds_field(gettext_lazy("Check-source time (s)"))
    wiped_on = DayField(label=gettext_lazy("Wiped on"))
    sampled_by = forms.CharField(label=gettext_lazy("Wiped by"), max_length=200)
    seconds = seconds_field(gettext_lazy("Counting time of a wipe (s)"))
    accept = forms.BooleanField(
        label=gettext_lazy("I accept these results as radiation protection supervisor"),
        required=False,
    )

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = request.today
        self.order: Sequence[RowForm] = ()  # the row of each wipe that is to be recorded
        items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
        counter: Any = self.fields["counter"]
        counter.queryset = (
            items.of_kind(ItemKind.MONITOR)
            .filter(monitor__monitor_kind__in=COUNTERS)
            .order_by("label_sort")
        )
        for name in ("background_counts", "background_seconds", "seconds"):
            needed: Any = self.fields[name]
            needed.needed = True  # to be recorded; working out asks less
        if "rps" not in request.roles:
            del self.fields["accept"]

    @property
    def groups(self) -> Iterator[tuple[str, list[forms.BoundField]]]:
        """The head in the order of the work."""
        for title, names in GROUPS:
            yield str(title), [self[name] for name in names]

    def clean(self) -> dict[str, Any]:
        """Counts with their times, and no day in the future."""
        data = super().clean() or {}
        for name in ("counted_on", "wiped_on"):
            if data.get(name) and data[name] > self.today:
                self.add_error(name, _future(data[name]))
        for name in ("background", "check"):
            data[name] = self._pairs(data, name)
        times = data.get("seconds") or []
        if len(times) > 1:
            self.add_error("seconds", _("One time, which holds for every count without its own."))
        data["seconds"] = times[0] if len(times) == 1 else None
        if data["check"] and not data.get("check_source") and "check_source" not in self.errors:
            self.add_error("check_source", _("Say which source it was."))
        return data

    def _wrong(self, name: str) -> bool:
        return f"{name}_counts" in self.errors or f"{name}_seconds" in self.errors

    def _pairs(self, data: Mapping[str, Any], name: str) -> list[Count]:
        """Counts with their times; a time that stands there from the last session, without a
        count, is none yet. A fault stands beside the times."""
        numbers, times = data.get(f"{name}_counts") or [], data.get(f"{name}_seconds") or []
        if self._wrong(name) or not numbers:
            return []
        if fault := pairing_fault(numbers, times):
            self.add_error(f"{name}_seconds", fault)
            return []
        return paired(numbers, times) or []

    def refuse(self, error: DomainError, *tables: Any) -> None:
        """Say a domain error at its field, or at the row of the wipe that it is about."""
        if error.number is not None and error.number < len(self.order):
            self.order[error.number].refuse(error, *tables)
        else:
            super().refuse(error, *tables)

    def clean_to_record(self) -> None:
        """What recording needs beyond working out."""
        if not self.cleaned_data.get("background") and not self._wrong("background"):
            self.add_error("background_counts", _("Give the background of the batch."))


GROUPS = (
    (
        gettext_lazy("Counter and background"),
        (
            *("counter", "counted_on", "counted_by"),
            *("background_counts", "background_seconds", "seconds"),
        ),
    ),
    (
        gettext_lazy("Check source"),
        ("check_source", "check_counts", "check_seconds"),
    ),
    (
        gettext_lazy("The wipes: for every row that says nothing else"),
        ("wiped_on", "sampled_by"),
    ),
)


def _future(day: Any) -> str:
    return _("%(on)s lies in the future.") % {"on": day_text(day)}


def pairing_fault(numbers: Sequence[float], times: Sequence[float]) -> str:
    """Why counts and times do not belong together, or nothing."""
    if not numbers:
        return _("Give the counts.")
    if not times:
        return _("Give the counting time.")
    if len(numbers) != len(times):
        said = _("%(seconds)s times do not fit %(counts)s counts: give one time for each count.")
        return said % {"seconds": len(times), "counts": len(numbers)}
    return "" if all(times) else _("A counting time is above 0.")


class RowForm(forms.Form):
    """One wipe. What is written once at the top is not written again."""

    #: Its fields by the name that a domain error has for them, where that is another one.
    NAMED = {"gross_counts": "gross", "gross_seconds": "seconds", "sources": "what"}

    what = named(gettext_lazy("Gauge or source"))
    gross = counts_field(gettext_lazy("Gross counts"))
    seconds = seconds_field(gettext_lazy("Time (s)"))
    point_wiped = forms.CharField(label=gettext_lazy("Point wiped"), required=False, max_length=200)
    wiped_on = DayField(label=gettext_lazy("Wiped on"), required=False)
    sampled_by = forms.CharField(label=gettext_lazy("Wiped by"), required=False, max_length=200)
    remark = forms.CharField(label=gettext_lazy("Remark"), required=False, max_length=1000)

    def __init__(self, *args: Any, today: Any = None, number: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.number = today, number
        for name, field in self.fields.items():
            # Every label is heard with its row; the eye has the row before it.
            field.widget.attrs["aria-describedby"] = f"wipe-{number}-result"
            field.widget.attrs["class"] = f"cell-{name}"

    @property
    def written(self) -> bool:
        """Whether anything is written in the row, looked up in what was sent."""
        if not self.is_bound:
            return False
        names = (name for name in self.fields)
        return any(self.data.get(self.add_prefix(name), "").strip() for name in names)

    @property
    def cells(self) -> list[forms.BoundField]:
        """The cells in the order in which they are filled."""
        return list(self)

    @property
    def sentences(self) -> list[str]:
        """Every fault of the row."""
        return [str(error) for errors in self.errors.values() for error in errors]

    def clean_wiped_on(self) -> Any:
        """Not in the future."""
        day = self.cleaned_data["wiped_on"]
        if day and self.today and day > self.today:
            raise forms.ValidationError(_future(day))
        return day

    def pairs(self, usual: float | None) -> list[Count]:
        """Its counts with their times; the usual time where it says none."""
        numbers = self.cleaned_data.get("gross") or []
        times = self.cleaned_data.get("seconds") or []
        if not times and usual:
            times = [usual] * len(numbers)
        return paired(numbers, times) or []

    def check_counts(self, usual: float | None) -> None:
        """A row that says what was wiped needs its counts, or is no wipe of this session."""
        if {"gross", "seconds"} & self.errors.keys():
            return
        numbers = self.cleaned_data.get("gross") or []
        times = self.cleaned_data.get("seconds") or []
        if not numbers:
            self.add_error("gross", _("No count yet: write it, or empty the row."))
            return
        times = times or ([usual] * len(numbers) if usual else [])
        if fault := pairing_fault(numbers, times):
            self.add_error("seconds", fault)

    def refuse(self, error: DomainError, *tables: Any) -> None:
        """Say a domain error in this row."""
        field = self.NAMED.get(error.field or "", error.field)
        self.add_error(field if field in self.fields else None, error_text(error, *tables))


class Rows:
    """The rows of a grid, numbered from 1, bound to what was sent or filled for a new page."""

    def __init__(self, rows: list[RowForm]) -> None:
        self.rows = rows

    @classmethod
    def sent(cls, data: Any, today: Any) -> Rows:
        """The rows as they were sent."""
        every = range(1, rows_in(data) + 1)
        return cls(
            [RowForm(data, prefix=_prefix(n), auto_id="%s", today=today, number=n) for n in every]
        )

    @classmethod
    def filled(cls, values: Sequence[Mapping[str, Any]], size: int) -> Rows:
        """Rows for a page that nobody has checked yet."""
        values = list(values)[:MOST]
        size = min(MOST, max(size, len(values)))
        initial = [*values, *({} for _ in range(size - len(values)))]
        return cls(
            [
                RowForm(initial=one, prefix=_prefix(n), auto_id="%s", number=n)
                for n, one in enumerate(initial, 1)
            ]
        )

    def __iter__(self) -> Iterator[RowForm]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def written(self) -> list[RowForm]:
        """The rows in which something stands."""
        return [row for row in self.rows if row.written]

    @property
    def faults(self) -> Iterator[tuple[int, str]]:
        """Every fault with the number of its row."""
        for row in self.written:
            for text in row.sentences:
                yield row.number, text


def _prefix(number: int) -> str:
    return f"{ROW_PREFIX}-{number}"


def rows_in(data: Any) -> int:
    """How many rows were sent."""
    try:
        return min(MOST, max(1, int(data.get("rows", ""))))
    except ValueError:
        return ROWS


def written_values(data: Any) -> list[dict[str, str]]:
    """What stands in each row that was sent, unchecked."""
    return [
        {name: data.get(f"{_prefix(n)}-{name}", "") for name in RowForm.base_fields}
        for n in range(1, rows_in(data) + 1)
    ]
