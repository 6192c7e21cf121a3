"""What is known of a column, and one row of a sheet with its cells read by field."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, TypeVar

from inventory.calc.dates import PartialDate
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from reports.exchange.reading.asking import Asking, CellFault, Waiting
from reports.exchange.reading.dates import Days
from reports.exchange.reading.numbers import Marks
from reports.exchange.reading.texts import has_control, identity, is_unknown, tidy
from reports.exchange.understood import Cell, Entry, Fault, Row, SheetKind, Value

if TYPE_CHECKING:
    from reports.exchange.reading.nuclide import Nuclides

T = TypeVar("T")
EMPTY = Cell(None)
#: Signs of a cell that is used; what is longer is no field of a list.
LONGEST = 1000
ERRORS = ("#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#CALC!")


@dataclass(frozen=True, slots=True)
class ColumnRead:
    """A column that is used: where, for what, in which unit, and what its cells show of the order
    of dates and of the decimal mark."""

    letter: str
    index: int
    head: str
    field: str
    unit: str
    basis: str
    head_day: str
    days: Days
    marks: Marks


@dataclass(frozen=True, slots=True)
class DataRow:
    """One row of the list, after corrections and ditto marks."""

    number: int
    cells: Sequence[Cell]
    hidden: bool = False
    struck: bool = False
    title: str = ""  # of the section in which it stands
    waiting: bool = False  # for an answer about the row as a whole
    corrected: frozenset[str] = frozenset()  # letters
    notes: Sequence[Step] = ()


@dataclass(slots=True)
class RowReader:
    """Reads the fields of one row; faults, notes and open questions stay in it."""

    sheet: str
    kind: SheetKind
    row: DataRow
    columns: Mapping[str, Sequence[ColumnRead]]
    asking: Asking
    nuclides: Nuclides
    values: dict[str, Value] = field(default_factory=dict)
    notes: list[Step] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    waiting: bool = False

    def __post_init__(self) -> None:
        self.notes.extend(self.row.notes)
        self.waiting = self.waiting or self.row.waiting
        if self.row.hidden:
            self.notes.append(Step("read_hidden_row"))

    # ------------------------------------------------------------ cells

    def has(self, name: str) -> bool:
        """Whether the list has a column for a field."""
        return name in self.columns

    def column(self, name: str) -> ColumnRead | None:
        """The first column of a field that is filled in this row, else its first."""
        found = self.columns.get(name, ())
        for one in found:
            if self._at(one).content is not None:
                return one
        return found[0] if found else None

    def _at(self, column: ColumnRead) -> Cell:
        cells = self.row.cells
        return cells[column.index] if column.index < len(cells) else EMPTY

    def cell(self, name: str) -> Cell:
        """The cell of a field; an empty one where there is no such column."""
        column = self.column(name)
        return self._at(column) if column else EMPTY

    def where(self, name: str) -> str:
        """As an example of a question names the cell: ``Sheet1!B7``."""
        column = self.column(name)
        return f"{self.sheet}!{column.letter if column else '?'}{self.row.number}"

    def filled(self, name: str) -> bool:
        """Whether the cell says anything but that nobody knows."""
        cell = self.cell(name)
        return cell.formula or (cell.content is not None and not is_unknown(cell.text))

    # ------------------------------------------------------------ reading

    def take(self, name: str, read: Callable[[Cell], tuple[T, str]], empty: T) -> T:
        """A field through its reader, which gives the value and how it was understood."""
        cell, column = self.cell(name), self.column(name)
        if column is None or (cell.content is None and not cell.formula):
            return empty
        value, understood = empty, ""
        try:
            self._check(name, cell)
            value, understood = read(cell)
        except Waiting:
            self.waiting = True
        except CellFault as fault:
            self.faults.append(Fault(fault.step, name))
        except DomainError as error:
            self.faults.append(Fault(Step(error.code, error.values), name))
        corrected = column.letter in self.row.corrected
        self.values[name] = Value(
            f"{column.letter}{self.row.number}", cell.text, understood, corrected
        )
        return value

    def _check(self, name: str, cell: Cell) -> None:
        if cell.content is None:
            raise CellFault("read_formula_without_result")
        if cell.text in ERRORS:
            raise CellFault("read_error_value", text=cell.text)
        if len(cell.text) > LONGEST:
            raise CellFault("text_too_long", name=name, length=LONGEST)
        if has_control(cell.text):
            raise CellFault("text_has_control_character", text=tidy(cell.text)[:40])

    def text(self, name: str, longest: int = 100, *, name_like: bool = False) -> str:
        """Words; unknown is empty. ``name_like``: look-alike signs are put right, and said."""

        def read(cell: Cell) -> tuple[str, str]:
            if is_unknown(cell.text):
                return "", ""
            plain, changed = identity(cell.text) if name_like else (tidy(cell.text), False)
            if len(plain) > longest:
                raise CellFault("text_too_long", name=name, length=longest)
            if changed:
                self.notes.append(Step("read_signs_put_right", {"text": plain}))
            return plain, plain

        return self.take(name, read, "")

    def joined(self, name: str, longest: int) -> str:
        """Several columns of one field, the wider first: building, room."""
        parts = []
        for column in self.columns.get(name, ()):
            one = replace_columns(self, name, column)
            part = one.text(name, longest, name_like=True)
            self.adopt(one)
            if part and part not in parts:
                parts.append(part)
        text = ", ".join(parts)
        if name in self.values and len(self.columns[name]) > 1:
            self.values[name] = replace(self.values[name], understood=text)
        return text[:longest]

    def adopt(self, other: RowReader) -> None:
        """Take over what a reader of the same row has found."""
        self.values.update(other.values)
        self.notes.extend(other.notes)
        self.faults.extend(other.faults)
        self.waiting = self.waiting or other.waiting

    def partial(self, name: str) -> PartialDate | None:
        """A day, month or year."""
        column = self.column(name)

        def read(cell: Cell) -> tuple[PartialDate | None, str]:
            if is_unknown(cell.text) or column is None:
                return None, ""
            found = column.days.read(cell, self.where(name), self.notes)
            return found, column.days.shown(found)

        return self.take(name, read, None)

    def one_of(self, name: str, read: Callable[[str], str]) -> str:
        """A word out of few; ``read`` gives it or raises."""

        def word(cell: Cell) -> tuple[str, str]:
            found = read(tidy(cell.text))
            return found, found

        return self.take(name, word, "")

    # ------------------------------------------------------------ the row

    def note(self, code: str, values: Mapping[str, str | int] | None = None) -> None:
        """Something odd that was read all the same."""
        step = Step(code, dict(values or {}))
        if step not in self.notes:
            self.notes.append(step)

    def fault(self, code: str, name: str = "", values: Mapping[str, str] | None = None) -> None:
        """Why the row cannot be loaded."""
        self.faults.append(Fault(Step(code, dict(values or {})), name))

    def done(self, entries: Sequence[Entry]) -> Row:
        """The row as it was understood; none of it while a question is open or a cell at fault."""
        if self.waiting:
            self.notes.append(Step("read_waits_for_answer"))
        return Row(
            sheet=self.sheet,
            line=self.row.number,
            kind=self.kind,
            values=self.values,
            entries=() if self.faults or self.waiting else tuple(entries),
            faults=tuple(self.faults),
            notes=tuple(_once(self.notes)),
        )


def _once(steps: Sequence[Step]) -> list[Step]:
    out: list[Step] = []
    for step in steps:
        if step not in out:
            out.append(step)
    return out


def replace_columns(reader: RowReader, name: str, column: ColumnRead) -> RowReader:
    """A reader of the same row that sees one column of a field only."""
    columns = {name: [column]}
    one = RowReader(reader.sheet, reader.kind, reader.row, columns, reader.asking, reader.nuclides)
    one.notes.clear()
    return one
