"""The head of a counting session: what all of its wipes share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.fields import DayField, paired
from inventory.ledger.models import Item, ItemKind
from inventory.pages import WritingForm
from surveys.leak.wipe import Count
from surveys.monitors.models import MonitorKind
from surveys.sessions.cells import counts_field, future, named, pairing_fault, seconds_field
from surveys.sessions.rows import RowForm

#: Monitors on which wipes are counted.
COUNTERS = (MonitorKind.WIPE_COUNTER, MonitorKind.CONTAMINATION)


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
                self.add_error(name, future(data[name]))
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
