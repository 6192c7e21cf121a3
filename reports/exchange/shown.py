"""A file and what would come of it, as its page shows them: words, never objects of the plan."""

from __future__ import annotations

from collections import ChainMap, Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.explain import Step
from inventory.sentences import SENTENCES as INVENTORY
from inventory.sentences import fill
from reports.exchange.pending import as_in_the_file
from reports.exchange.planned import Difference, Plan, RowPlan
from reports.exchange.sentences import SENTENCES as EXCHANGE
from reports.exchange.understood import Row, SheetRead, Value
from reports.exchange.words import KINDS, STATUS, field_text
from surveys.sentences import SENTENCES as SURVEYS

TABLE: Any = ChainMap(dict(EXCHANGE), dict(SURVEYS), dict(INVENTORY))
#: What names a row best, the first that is there.
NAMING = ("nuclide", "serial", "tag", "gauge")
#: Statuses that a person must look at, whatever else the row says.
LOOK_AT = ("fault", "waits", "changes", "differs", "twice")


def say(step: Step) -> str:
    """One code with its values as a sentence."""
    return fill(step.code, step.values, TABLE)


@dataclass(frozen=True, slots=True)
class ShownValue:
    """A field of a row: what was understood, and what is written where that is something else."""

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
        self._waiting = bool(plan.understood.open_questions)
        self.all = list(plan.understood.rows)
        self.status = {row.key: self._status(row) for row in self.all}

    def _status(self, row: Row) -> str:
        planned = self._plans.get(row.key)
        if planned is None:
            return "left_out"
        if self._waiting and not row.entries and not planned.faults:
            return "waits"
        return planned.status

    def needs_eye(self, row: Row) -> bool:
        """Whether a person should look at it: more than a clean new or known row."""
        planned = self._plans.get(row.key)
        if planned is None:
            return False
        looked = self.status[row.key] in LOOK_AT
        return looked or bool(planned.notes or row.notes or planned.differences)

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
        out += [(name, str(word), counts[name]) for name, (_s, word) in STATUS.items() if counts[name]]
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
            values=[_shown(name, value) for name, value in row.values.items()],
            faults=[say(step) for step in faults],
            notes=[say(step) for step in _notes(row, planned)],
            writes=[say(step) for step in planned.writes] if planned else [],
            differences=[_difference(one) for one in planned.differences] if planned else [],
            cells=list(self._cells(row)) if edit else [],
        )

    def anchor(self, row: Row) -> str:
        """The name of its place on the page."""
        return f"row-{self._place.get(row.sheet, 0) + 1}-{row.line}"

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


def _used(read: SheetRead | None) -> list[Any]:
    return [column for column in read.columns if column.field] if read else []


def _title(row: Row) -> str:
    named = [row.values[name].understood for name in NAMING if name in row.values]
    return " ".join(text for text in named[:3] if text)


def _shown(name: str, value: Value) -> ShownValue:
    same = " ".join(value.written.split()) == value.understood
    written = "" if same else value.written
    return ShownValue(field_text(name), value.understood, written, value.corrected)


def _notes(row: Row, planned: RowPlan | None) -> list[Step]:
    more = planned.notes if planned else []
    return [*row.notes, *(step for step in more if step not in row.notes)]


def _difference(one: Difference) -> str:
    values = {
        "thing": one.thing,
        "field": field_text(one.field),
        "old": one.old or _("nothing"),
        "new": one.new or _("nothing"),
    }
    if one.stays:
        said = _("%(thing)s, %(field)s: here %(old)s, in the file %(new)s.") % values
        return f"{said} {say(Step(one.stays, {}))}"
    return _("%(thing)s, %(field)s: %(old)s becomes %(new)s.") % values


# ---------------------------------------------------------------- the file as a whole


@dataclass(frozen=True, slots=True)
class ShownQuestion:
    """A question with its answers."""

    key: str
    name: str
    text: str
    options: Sequence[tuple[str, str]]
    examples: Sequence[str]
    answer: str


def questions(plan: Plan) -> list[ShownQuestion]:
    """Every question, those of the file before those about the register."""
    found = [*plan.understood.questions, *plan.questions]
    return [
        ShownQuestion(
            key=one.key,
            name=f"answer-{place}",
            text=say(one.text),
            options=[(option.value, say(option.label)) for option in one.options],
            examples=list(one.examples),
            answer=one.answer,
        )
        for place, one in enumerate(found, 1)
    ]


@dataclass(frozen=True, slots=True)
class ShownSheet:
    """How a sheet was recognised."""

    name: str
    kind: str
    head_line: int
    columns: Sequence[tuple[str, str, str, str]]  # letter, head, field, unit
    unused: Sequence[str]


def sheets(plan: Plan) -> list[ShownSheet]:
    """Every sheet with its columns, those that are not used named."""
    return [
        ShownSheet(
            name=one.name,
            kind=str(KINDS.get(one.kind, one.kind)),
            head_line=one.head_line,
            columns=[
                (column.letter, column.head, field_text(column.field), column.unit)
                for column in _used(one)
            ],
            unused=[
                f"{column.letter} ({column.head})" if column.head else column.letter
                for column in one.columns
                if not column.field
            ],
        )
        for one in plan.understood.sheets
    ]


def skipped(plan: Plan) -> list[tuple[str, str, str]]:
    """Rows that are no rows of the list: where, what stands there, why."""
    where = _("%(sheet)s, row %(line)s")
    return [
        (where % {"sheet": one.sheet, "line": one.line}, one.text, say(one.why))
        for one in plan.understood.skipped
    ]


def notes(plan: Plan) -> list[str]:
    """What is to be said of the file as a whole, each once."""
    steps = [*plan.understood.book.notes, *plan.understood.notes]
    return list(dict.fromkeys(say(step) for step in steps))


def will_write(counts: Mapping[str, int]) -> str:
    """Load 43 sources, 12 gauges, 57 wipes; 3 rows left out."""
    parts = list(_things(counts))
    if not parts:
        return _("Nothing new to load")
    said = _("Load %(things)s") % {"things": ", ".join(parts)}
    if counts["left_out"]:
        rows = ngettext("%(n)s row left out", "%(n)s rows left out", counts["left_out"])
        said += "; " + rows % {"n": counts["left_out"]}
    return said


def _things(counts: Mapping[str, int]) -> Iterator[str]:
    """So many of each kind, as far as there are any."""
    for name, text in (
        ("sources", ngettext("%(n)s source", "%(n)s sources", counts["sources"])),
        ("gauges", ngettext("%(n)s gauge", "%(n)s gauges", counts["gauges"])),
        ("places", ngettext("%(n)s place", "%(n)s places", counts["places"])),
        ("monitors", ngettext("%(n)s monitor", "%(n)s monitors", counts["monitors"])),
        (
            "calibrations",
            ngettext("%(n)s calibration", "%(n)s calibrations", counts["calibrations"]),
        ),
        ("wipes", ngettext("%(n)s wipe", "%(n)s wipes", counts["wipes"])),
        (
            "described",
            ngettext("%(n)s changed description", "%(n)s changed descriptions", counts["described"]),
        ),
        ("moved", ngettext("%(n)s move", "%(n)s moves", counts["moved"])),
    ):
        if counts[name]:
            yield text % {"n": counts[name]}


def hindrances(plan: Plan) -> list[str]:
    """Why it cannot be loaded yet."""
    out = []
    if waiting := len(plan.understood.open_questions):
        text = ngettext("%(n)s question has no answer.", "%(n)s questions have no answer.", waiting)
        out.append(text % {"n": waiting})
    if wrong := len(plan.faulty):
        text = ngettext(
            "%(n)s row is wrong as it stands: correct it or leave it out.",
            "%(n)s rows are wrong as they stand: correct them or leave them out.",
            wrong,
        )
        out.append(text % {"n": wrong})
    if not out and not plan.changes:
        out.append(_("Everything in this file is here already."))
    return out


def also(plan: Plan, open_points: int) -> list[str]:
    """What else to know before it is loaded."""
    counts, out = plan.counts, []
    for name, text in (
        ("here", ngettext("%(n)s row is here already.", "%(n)s rows are here already.", counts["here"])),
        (
            "differs",
            ngettext(
                "%(n)s row differs from what is here and is left so.",
                "%(n)s rows differ from what is here and are left so.",
                counts["differs"],
            ),
        ),
    ):
        if counts[name]:
            out.append(text % {"n": counts[name]})
    if open_points:
        text = ngettext("%(n)s row with an open point.", "%(n)s rows with open points.", open_points)
        out.append(text % {"n": open_points})
    return out


def missing(plan: Plan) -> list[tuple[str, str, str]]:
    """Sources of the register that the file does not name: code, label, place."""
    return [(one.item.code, one.item.label, one.place) for one in plan.missing]


def each(steps: Iterable[Step]) -> list[str]:
    """Steps as sentences."""
    return [say(step) for step in steps]
