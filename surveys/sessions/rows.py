"""The rows of a counting session: one a wipe. A row in which nothing is written is no wipe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.fields import DayField, paired
from inventory.sentences import error_text
from surveys.leak.wipe import Count
from surveys.sessions.cells import counts_field, future, named, pairing_fault, seconds_field

#: Rows that a new page has, rows that a click adds, and the most that one session holds.
ROWS, MORE, MOST = 8, 8, 60
ROW_PREFIX = "wipes"


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
            raise forms.ValidationError(future(day))
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
