"""The rows of a file and what would come of each, as its page shows them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.explain import Step
from reports.exchange.page.say import each, say
from reports.exchange.page.words import KINDS, STATUS, field_text
from reports.exchange.pending import as_in_the_file
from reports.exchange.planned import Difference, Plan, RowPlan
from reports.exchange.understood import Row, SheetRead, Value

#: What names a row best, the first that is there.
NAMING = ("nuclide", "serial", "tag", "gauge")
#: Statuses that a person must look at, whatever else the row says.
LOOK_AT = ("fault", "waits", "changes", "differs", "twice")
#: What is said of more than half of a sheet's rows, if it has so many, is said of the sheet:
#: nobody needs to look at each of them for it.
MANY_ROWS = 5


@dataclass(frozen=True, slots=True)
class ShownValue:
    """A field of a row: what was understood; ``written`` what stands in the cell, where that is
    something else, and in the file, where the cell was corrected."""

    label: str
    understood: str
    written: str
    corrected: bool


@dataclass(frozen=True, slots=True)
class Editable:
    """A cell of a row that can be written anew."""

    cell: str
    label: str
    head: str
    text: str
    original: str
    faults: Sequence[str] = ()
    first: bool = False  # where a person begins to write

    @property
    def changed(self) -> bool:
        """Whether something else stands in its place."""
        return self.text != self.original


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One row as the page shows it."""

    key: str
    anchor: str
    where: str
    title: str
    kind: str
    status: str
    values: Sequence[ShownValue] = ()
    faults: Sequence[str] = ()
    notes: Sequence[str] = ()
    open_points: Sequence[str] = ()
    writes: Sequence[str] = ()
    differences: Sequence[str] = ()
    cells: Sequence[Editable] = field(default_factory=list)

    @property
    def shape(self) -> str:
        """The shape before the status."""
        return STATUS[self.status][0]

    @property
    def word(self) -> str:
        """The status in words."""
        return str(STATUS[self.status][1])

    @property
    def left_out(self) -> bool:
        """Whether it is not to be loaded."""
        return self.status == "left_out"


class Rows:
    """The rows of a file in its order, each with its status; drawn only where they are shown."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._plans = {one.row.key: one for one in plan.rows}
        self._sheets = {one.name: one for one in plan.understood.sheets}
        self._place = {name: place for place, name in enumerate(self._sheets)}
        self.all = list(plan.understood.rows)
        self.status = {row.key: self._status(row) for row in self.all}
        self._common = self._said_everywhere()

    def _status(self, row: Row) -> str:
        planned = self._plans.get(row.key)
        if planned is None:
            return "left_out"
        if not row.entries and not planned.faults:
            return "waits"
        return planned.status

    def _said_everywhere(self) -> dict[str, set[str]]:
        """For each sheet the codes that more than half of its rows have."""
        rows = Counter(row.sheet for row in self.all)
        told: dict[str, Counter[str]] = {sheet: Counter() for sheet in rows}
        for row in self.all:
            told[row.sheet].update({step.code for step in _said(row, self._plans.get(row.key))})
        return {
            sheet: {code for code, count in codes.items() if count * 2 > rows[sheet] >= MANY_ROWS}
            for sheet, codes in told.items()
        }

    def needs_eye(self, row: Row) -> bool:
        """Whether a person should look at it: more than a clean new or known row."""
        planned = self._plans.get(row.key)
        if planned is None:
            return False
        looked = self.status[row.key] in LOOK_AT
        said = {step.code for step in _said(row, planned)}
        return looked or bool(planned.differences or said - self._common[row.sheet])

    def chosen(self, show: str) -> list[Row]:
        """The rows of one of the filters."""
        if show == "eye":
            return [row for row in self.all if self.needs_eye(row)]
        if show in STATUS:
            return [row for row in self.all if self.status[row.key] == show]
        return self.all

    def filters(self) -> list[tuple[str, str, int]]:
        """Every filter that shows something: its name, its words, how many rows."""
        counts = Counter(self.status.values())
        out = [("all", _("all rows"), len(self.all))]
        eye = sum(self.needs_eye(row) for row in self.all)
        if eye:
            out.insert(0, ("eye", _("what needs my eye"), eye))
        out += [
            (name, str(word), counts[name]) for name, (_s, word) in STATUS.items() if counts[name]
        ]
        return out

    def row(self, key: str) -> Row | None:
        """A row by its key."""
        return next((row for row in self.all if row.key == key), None)

    def show(self, row: Row, *, edit: bool = False) -> ShownRow:
        """A row in words; with ``edit`` also its cells."""
        planned = self._plans.get(row.key)
        faults = planned.faults if planned else [fault.text for fault in row.faults]
        return ShownRow(
            key=row.key,
            anchor=self.anchor(row),
            where=_("%(sheet)s, row %(line)s") % {"sheet": row.sheet, "line": row.line},
            title=_title(row),
            kind=str(KINDS.get(row.kind, row.kind)),
            status=self.status[row.key],
            values=[self._shown(row, name, value) for name, value in row.values.items()],
            faults=each(faults),
            notes=each(_notes(row, planned)),
            open_points=each(planned.open_points) if planned else [],
            writes=each(planned.writes) if planned else [],
            differences=[_difference(one) for one in planned.differences if one.stays]
            if planned
            else [],
            cells=_begin(list(self._cells(row))) if edit else [],
        )

    def anchor(self, row: Row) -> str:
        """The name of its place on the page."""
        return f"row-{self._place.get(row.sheet, 0) + 1}-{row.line}"

    def _shown(self, row: Row, name: str, value: Value) -> ShownValue:
        written = value.written
        if value.corrected:
            written = as_in_the_file(self.plan.understood.book, row.sheet, value.cell)
        elif " ".join(written.split()) == value.understood:
            written = ""
        return ShownValue(field_text(name), value.understood, written, value.corrected)

    def _cells(self, row: Row) -> Iterator[Editable]:
        """Every cell of the row in a column that is used."""
        read = self._sheets.get(row.sheet)
        faults: dict[str, list[str]] = {}
        for fault in row.faults:
            faults.setdefault(fault.field, []).append(say(fault.text))
        book, cells = self.plan.understood.book, self.plan.understood.decisions.cells
        for column in _used(read):
            cell = f"{column.letter}{row.line}"
            original = as_in_the_file(book, row.sheet, cell)
            text = cells.get(f"{row.sheet}!{cell}", original)
            said = faults.get(column.field, ())
            yield Editable(cell, field_text(column.field), column.head, text, original, said)


def _begin(cells: list[Editable]) -> list[Editable]:
    """A person begins at the first cell that is wrong, else at the first of all."""
    wrong = next((place for place, one in enumerate(cells) if one.faults), 0)
    return [replace(one, first=place == wrong) for place, one in enumerate(cells)]


def _used(read: SheetRead | None) -> list[Any]:
    return [column for column in read.columns if column.field] if read else []


def _title(row: Row) -> str:
    named = [row.values[name].understood for name in NAMING if name in row.values]
    return " ".join(text for text in named[:3] if text)


def _said(row: Row, planned: RowPlan | None) -> list[Step]:
    """Everything that is said of a row."""
    return [*row.notes, *planned.notes, *planned.open_points] if planned else list(row.notes)


def _notes(row: Row, planned: RowPlan | None) -> list[Step]:
    """Each note once; what will be an open point of a new source is said as one, and nothing is
    said to be open while an answer is waited for."""
    if planned is None:
        return list(row.notes)
    settled = planned.open_points or not row.entries
    told = [step for step in row.notes if not (settled and _is_open_point(step))]
    return [*told, *(step for step in planned.notes if step not in told)]


def _is_open_point(step: Step) -> bool:
    return step.code.startswith("read_open_")


def _difference(one: Difference) -> str:
    """A difference that is left as it is; one that is written stands among what is written."""
    values = {
        "thing": one.thing,
        "field": field_text(one.field),
        "old": one.old or _("nothing"),
        "new": one.new or _("nothing"),
    }
    said = _("%(thing)s, %(field)s: here %(old)s, in the file %(new)s.") % values
    return f"{said} {say(Step(one.stays, {}))}"
