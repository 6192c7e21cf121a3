"""Which lines below the heads are rows of the list, and what stands in their cells."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from inventory.calc.explain import Step
from reports.exchange.opening.sheet import column_letter, column_number
from reports.exchange.reading.columns import DataRow
from reports.exchange.reading.layout import Heads
from reports.exchange.reading.texts import is_ditto, is_unknown, tidy
from reports.exchange.understood import Cell, Line, Skipped

EMPTY = Cell(None)
_TOTAL = re.compile(
    r"^(grand |sub-?|running )?totals?\b|^sum\b|^sub-?total|^count:?$|^number of sources|"
    r"^average\b|^Σ",
    re.IGNORECASE,
)
_PLACE = re.compile(
    r"building|bldg|area|room|plant|mill|store|line|dep(t|artment)|bay|hall|house|unit|workshop|lab|"
    r"section|level|floor|site|yard|shop|kiln|tank|furnace|stack|silo|machine|gate|office|works|pit|"
    r"shed|tower|column|quarry|crusher|warehouse|zone|sector|block",
    re.IGNORECASE,
)
_FOOT = re.compile(
    r"^(\*+|note|nb\b|n\.b|last (updated|revised|printed)|updated|revised|printed|prepared|checked|"
    r"approved|signed|reviewed|page \d|end of|issue|rev\b|version|legend|key\b|yellow|red|green)",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Lines:
    """The lines of one sheet, told apart."""

    sheet: str
    heads: Heads
    corrections: Mapping[str, str]
    used: Sequence[int]  # indexes of the columns that are used
    is_nuclide: Callable[[str], bool]
    skipped: list[Skipped] = field(default_factory=list)
    _put_in: dict[int, dict[str, str]] = field(default_factory=dict)

    def rows(self, lines: Sequence[Line]) -> list[DataRow]:
        """Every row of the list."""
        self._skip_above(lines)
        found: list[DataRow] = []
        title = ""
        below = [self._corrected(line) for line in lines[self.heads.last + 1 :]]
        ends = self._last_row(below)
        for at, (line, corrected) in enumerate(below):
            why = self._why_not(line, at > ends)
            if why == "read_skipped_title":
                only = self._only(line)
                title = only if _PLACE.search(only) else ""
            if why:
                self._skip(line, why)
                continue
            found.append(self._row(line, corrected, title, found))
        return found

    def _skip_above(self, lines: Sequence[Line]) -> None:
        for line in lines[: self.heads.first]:
            self._skip(line, "read_skipped_above")

    def _skip(self, line: Line, code: str) -> None:
        texts = [tidy(cell.text) for cell in line.cells if cell.text and not cell.merged]
        self.skipped.append(Skipped(self.sheet, line.number, " | ".join(texts)[:200], Step(code)))

    def __post_init__(self) -> None:
        """Corrections by line: the letter of the column and the text."""
        for name, text in self.corrections.items():
            sheet, _, at = name.rpartition("!")
            found = re.fullmatch(r"([A-Z]{1,3})([0-9]+)", at)
            if sheet == self.sheet and found:
                self._put_in.setdefault(int(found[2]), {})[found[1]] = text

    def _corrected(self, line: Line) -> tuple[Line, frozenset[str]]:
        """The line with the texts that its owner has put in."""
        put_in = self._put_in.get(line.number)
        if not put_in:
            return line, frozenset()
        cells = list(line.cells)
        for letters, text in put_in.items():
            index = column_number(letters) - 1
            cells.extend([EMPTY] * (index + 1 - len(cells)))
            cells[index] = Cell(text, text) if text.strip() else EMPTY
        return Line(line.number, tuple(cells), line.hidden), frozenset(put_in)

    # ------------------------------------------------------------ what a line is

    def _last_row(self, below: Sequence[tuple[Line, frozenset[str]]]) -> int:
        """The last line with more than one used cell."""
        ends = -1
        for at, (line, _) in enumerate(below):
            if len(self._filled(line)) > 1 and not self._is_total(line):
                ends = at
        return ends

    def _filled(self, line: Line) -> list[str]:
        """Texts of the cells that are used and are their own, not filled from a merged range."""
        cells = line.cells
        return [
            cells[index].text or "="
            for index in self.used
            if index < len(cells)
            and not cells[index].merged
            and (cells[index].content is not None or cells[index].formula)
        ]

    def _only(self, line: Line) -> str:
        return next((tidy(cell.text) for cell in line.cells if cell.text), "")

    def _is_total(self, line: Line) -> bool:
        first = self._only(line)
        return bool(_TOTAL.match(first)) or any(
            _TOTAL.match(tidy(cell.text)) for cell in line.cells[:4] if cell.text
        )

    def _why_not(self, line: Line, after: bool) -> str:
        """Why a line is no row of the list; empty where it is one."""
        own = [cell for cell in line.cells if cell.content is not None and not cell.merged]
        if self._repeats_heads(line):
            return "read_skipped_heads"
        if self._is_total(line):
            return "read_skipped_total"
        filled = self._filled(line)
        if not filled:
            return "read_skipped_nothing"
        if len(own) == 1 and len(filled) <= 1 and not self.is_nuclide(own[0].text):
            foot = after or _FOOT.match(tidy(own[0].text))
            return "read_skipped_foot" if foot else "read_skipped_title"
        if all(is_unknown(text) or not text.strip("-=_ .*") for text in filled):
            return "read_skipped_nothing"
        if all(re.fullmatch(r"\(?\d{1,2}\)?", text) for text in filled) and len(filled) > 3:
            numbers = [int(text.strip("()")) for text in filled]
            if numbers == list(range(numbers[0], numbers[0] + len(numbers))):
                return "read_skipped_numbers"
        return ""

    def _repeats_heads(self, line: Line) -> bool:
        heads = self.heads.texts
        pairs = [
            (tidy(cell.text).casefold(), heads[index].casefold())
            for index, cell in enumerate(line.cells)
            if cell.content is not None and index < len(heads)
        ]
        same = [head for text, head in pairs if text and (text == head or head.endswith(text))]
        return len(pairs) > 1 and len(same) >= 0.7 * len(pairs)

    # ------------------------------------------------------------ a row

    def _row(
        self, line: Line, corrected: frozenset[str], title: str, found: Sequence[DataRow]
    ) -> DataRow:
        cells, notes = list(line.cells), []
        above = found[-1].cells if found else ()
        for index in self.used:
            if index < len(cells) and is_ditto(cells[index].text) and index < len(above):
                values = {"column": column_letter(index + 1), "text": tidy(above[index].text)}
                notes.append(Step("read_ditto", values))
                cells[index] = above[index]
        own = [cell for cell in cells if cell.content is not None and not cell.merged]
        struck = bool(own) and all(cell.struck for cell in own)
        return DataRow(
            line.number,
            cells,
            hidden=line.hidden,
            struck=struck,
            title=title,
            corrected=corrected,
            notes=tuple(notes),
        )


@dataclass(frozen=True, slots=True)
class Columns:
    """Indexes of the columns that are filled down, and of those that name a source."""

    gauge: Sequence[int]
    place: Sequence[int]
    key: Sequence[int]


def fill_down(
    rows: Sequence[DataRow], columns: Columns, goes_on: Callable[[DataRow], bool | None]
) -> Iterator[DataRow]:
    """Several sources under one gauge that is written once: a row without place and gauge goes on
    with those of the row above, as long as it names something of its own. ``goes_on`` answers for
    lists without a column for the place; None: nobody has said yet."""
    above: DataRow | None = None
    for row in rows:
        if above is not None and _is_blank_below(row, above, columns):
            answer = True if columns.place else goes_on(row)
            if answer is None:
                row = replace(row, waiting=True)
            elif answer:
                row = _filled(row, above, (*columns.gauge, *columns.place))
        above = row
        yield row


def _is_blank_below(row: DataRow, above: DataRow, columns: Columns) -> bool:
    both = (*columns.gauge, *columns.place)
    return (
        bool(columns.gauge)
        and row.title == above.title
        and all(_blank(row, index) for index in both)
        and not all(_blank(row, index) for index in columns.key)
        and any(not _blank(above, index) for index in both)
    )


def _filled(row: DataRow, above: DataRow, indexes: Sequence[int]) -> DataRow:
    cells = list(row.cells)
    for index in indexes:
        cells.extend([EMPTY] * (index + 1 - len(cells)))
        cells[index] = above.cells[index] if index < len(above.cells) else EMPTY
    note = Step("read_goes_on", {"row_number": above.number})
    return replace(row, cells=cells, notes=(*row.notes, note))


def _blank(row: DataRow, index: int) -> bool:
    return index >= len(row.cells) or row.cells[index].content is None
