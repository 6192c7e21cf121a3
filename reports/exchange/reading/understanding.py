"""Everything that is understood of a file, with what its owner has decided so far."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from inventory.calc.explain import Step
from reports.exchange.reading import dates, gone, layout, monitors, numbers, sources, wipes
from reports.exchange.reading.asking import Asking, Waiting, options
from reports.exchange.reading.columns import ColumnRead, DataRow, RowReader
from reports.exchange.reading.heads import take_apart
from reports.exchange.reading.layout import Place
from reports.exchange.reading.nuclide import Nuclides
from reports.exchange.reading.rows import Columns, Lines, fill_down
from reports.exchange.reading.settling import complete
from reports.exchange.reading.vocabulary import UNUSED
from reports.exchange.understood import (
    Book,
    Cell,
    Column,
    Decisions,
    LoadFault,
    Row,
    Sheet,
    SheetKind,
    SheetRead,
    Skipped,
    Understood,
)

#: Which fields hold days, and which hold numbers whose commas must agree.
DAYS = frozenset(
    {"reference", "received", "certificate_on", "wiped_on", "counted_on", "calibrated_on"}
    | {"valid_until"}
)
_READERS: Mapping[SheetKind, Callable[[RowReader], Row]] = {
    "sources": sources.read_row,
    "wipes": wipes.read_row,
    "monitors": monitors.read_monitor,
    "calibrations": monitors.read_calibration,
    "gauges": monitors.read_gauge,
}
_NUMBERS = frozenset(
    {"activity", "result", "uncertainty", "detection_limit", "gross", "background", "seconds"}
    | {"background_seconds", "efficiency"}
)


def understand(book: Book, decisions: Decisions) -> Understood:
    """Read a whole book. Raises LoadFault when nothing in it is a list that could be loaded."""
    reading = _Reading(book, decisions)
    for sheet in book.sheets:
        reading.sheet(sheet)
    return reading.understood()


@dataclass(slots=True)
class _Listed:
    """A sheet that lists something, before its rows are read."""

    sheet: Sheet
    kind: SheetKind
    places: Sequence[Place]
    rows: Sequence[DataRow]


@dataclass(slots=True)
class _Reading:
    """The reading of one book: sheets first, then the rows with what all sheets show."""

    book: Book
    decisions: Decisions
    asking: Asking = field(init=False)
    nuclides: Nuclides = field(init=False)
    notes: list[Step] = field(default_factory=list)
    sheets: list[SheetRead] = field(default_factory=list)
    skipped: list[Skipped] = field(default_factory=list)
    listed: list[_Listed] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.asking = Asking(self.decisions.answers)
        self.nuclides = Nuclides()
        self.notes.extend(self.book.notes)

    # ------------------------------------------------------------ sheets

    def sheet(self, sheet: Sheet) -> None:
        """Recognise a sheet and tell its rows apart."""
        heads = layout.find_heads(sheet.lines)
        if heads is None:
            self._not_read(sheet)
            return
        kind = layout.kind_of(sheet, heads, self.asking)
        if kind == "other":
            self._not_read(sheet, heads.first)
            return
        below = sheet.lines[heads.last + 1 :]

        def samples(index: int) -> Sequence[Cell]:
            return [line.cells[index] for line in below[:200] if index < len(line.cells)]

        places, notes, waiting = complete(
            sheet, kind, layout.places(heads, kind), samples, self.nuclides.is_one, self.asking
        )
        self.notes.extend(notes)
        self.sheets.append(_sheet_read(sheet, kind, heads.last, places))
        used = [place.index for place in places if place.field and place.field != UNUSED]
        lines = Lines(sheet.name, heads, self.decisions.cells, used or [0], self.nuclides.is_one)
        rows = lines.rows(sheet.lines)
        self.skipped.extend(lines.skipped)
        if not waiting:
            rows = self._filled_down(sheet, rows, places, kind)
            self.listed.append(_Listed(sheet, kind, places, rows))

    def _filled_down(
        self, sheet: Sheet, rows: list[DataRow], places: Sequence[Place], kind: SheetKind
    ) -> list[DataRow]:
        """Rows of sources with the gauge and place that are written once above them."""
        if kind != "sources":
            return rows
        at: dict[str, list[int]] = {}
        for place in places:
            at.setdefault(place.field, []).append(place.index)
        key = [*at.get("nuclide", []), *at.get("serial", [])]
        columns = Columns(at.get("gauge", []), at.get("place", []), key)

        def goes_on(row: DataRow) -> bool | None:
            question = Step("read_ask_blank_gauge", {"text": sheet.name})
            labels = options("above", "none", prefix="read_blank_gauge_")
            example = f"{sheet.name}!{row.number}"
            try:
                answer = self.asking.ask(f"blank_gauge:{sheet.name}", question, labels, example)
            except Waiting:
                return None
            return answer == "above"

        return list(fill_down(rows, columns, goes_on))

    def _not_read(self, sheet: Sheet, head: int = -1) -> None:
        line = sheet.lines[head].number if head >= 0 else 0
        self.sheets.append(SheetRead(sheet.name, "other", line, ()))
        if sheet.lines:
            self.notes.append(Step("read_sheet_not_read", {"text": sheet.name}))

    # ------------------------------------------------------------ rows

    def understood(self) -> Understood:
        """Read the rows of every sheet."""
        commas = self._commas()
        rows: list[Row] = []
        for one in self.listed:
            rows.extend(self._rows(one, commas))
        questions = self.asking.questions()
        if not rows and not questions:
            lists = any(one.kind != "other" for one in self.sheets)
            raise LoadFault([Step("read_no_rows" if lists else "read_no_list")])
        return Understood(
            book=self.book,
            decisions=self.decisions,
            sheets=tuple(self.sheets),
            rows=tuple(rows),
            skipped=tuple(self.skipped),
            questions=questions,
            notes=tuple(self.notes),
        )

    def _commas(self) -> bool:
        """Whether a comma is certainly a decimal mark somewhere in the file."""
        return any(
            numbers.settle(texts).settled == numbers.COMMA
            for one in self.listed
            for place in one.places
            if (texts := _texts(one, place, _NUMBERS))
        )

    def _rows(self, one: _Listed, commas: bool) -> list[Row]:
        columns: dict[str, list[ColumnRead]] = {}
        for place in one.places:
            if place.field and place.field != UNUSED:
                columns.setdefault(place.field, []).append(self._column(one, place, commas))
        title = layout.place_of_sheet(one.sheet.name, len(self.book.sheets))
        has_place = "place" in columns
        if one.kind not in ("sources", "gauges"):
            title = ""
        if title and not has_place:
            values = {"text": one.sheet.name}
            self.notes.append(Step("read_sheet_is_place", values))
        out = []
        for data in one.rows:
            if not data.title and title and not has_place:
                data = replace(data, title=title)
            reader = RowReader(one.sheet.name, one.kind, data, columns, self.asking, self.nuclides)
            if skipped := gone.skipped(reader):
                self.skipped.append(skipped)
                continue
            out.append(_READERS[one.kind](reader))
        return out

    def _column(self, one: _Listed, place: Place, commas: bool) -> ColumnRead:
        head = take_apart(place.head)
        order = dates.settle(_texts(one, place, DAYS))
        marks = numbers.settle(_texts(one, place, _NUMBERS))
        return ColumnRead(
            letter=place.letter,
            index=place.index,
            head=place.head or place.letter,
            field=place.field,
            unit=head.unit,
            basis=head.basis,
            head_day=head.day,
            days=dates.Days(order, one.sheet.from_1904, self.asking),
            marks=replace(marks, commas_in_file=commas and not marks.settled),
        )


def _texts(one: _Listed, place: Place, fields: frozenset[str]) -> list[str]:
    """The texts of a column that holds days, or numbers; typed cells settle nothing."""
    if place.field.partition(":")[0] not in fields:
        return []
    cells = (row.cells[place.index] for row in one.rows if place.index < len(row.cells))
    return [cell.text for cell in cells if isinstance(cell.content, str) and len(cell.text) < 100]


def _sheet_read(sheet: Sheet, kind: SheetKind, head: int, places: Sequence[Place]) -> SheetRead:
    columns = [
        Column(
            place.letter,
            place.head,
            "" if place.field == UNUSED else place.field,
            take_apart(place.head).unit if place.head else "",
        )
        for place in places
        if place.head or (place.field and place.field != UNUSED)
    ]
    return SheetRead(sheet.name, kind, sheet.lines[head].number, tuple(columns))
