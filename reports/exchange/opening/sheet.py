"""One sheet of an XLSX workbook, row by row."""

from __future__ import annotations

import bisect
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from xml.etree.ElementTree import Element  # the type only; defusedxml parses

from reports.exchange.opening import formats
from reports.exchange.opening.limits import MOST_CELLS, MOST_COLUMNS, Filled, refuse
from reports.exchange.opening.package import WithoutEmpty, elements
from reports.exchange.understood import Cell, Content, Line

_S = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_ROW, _COLUMN, _MERGED = f"{_S}row", f"{_S}col", f"{_S}mergeCell"
_VALUE, _FORMULA, _INLINE = f"{_S}v", f"{_S}f", f"{_S}is"
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?([0-9]{1,7})")
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?([0-9]{1,7}):\$?([A-Z]{1,3})\$?([0-9]{1,7})")
_MOST_MERGED = 20_000
EMPTY = Cell(None)


def text_of(element: Element) -> str:
    """The text of a cell, its runs joined; readings of ideographs are not part of it."""
    parts = []
    for child in element:
        if child.tag == f"{_S}t":
            parts.append(child.text or "")
        elif child.tag == f"{_S}r":
            parts.extend(one.text or "" for one in child if one.tag == f"{_S}t")
    return _unescaped("".join(parts))


def _unescaped(text: str) -> str:
    return _ESCAPED.sub(lambda one: chr(int(one[1], 16)), text) if "_x" in text else text


def column_number(letters: str) -> int:
    """``A`` is 1, ``AA`` 27."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def column_letter(number: int) -> str:
    """1 is ``A``, 27 ``AA``."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@dataclass(frozen=True, slots=True)
class Style:
    """What matters of the look of a cell."""

    number_format: str = "General"
    is_moment: bool = False
    is_span: bool = False
    struck: bool = False
    coloured: bool = False


@dataclass(frozen=True, slots=True)
class Styles:
    """The looks of a workbook by their number, and its calendar."""

    styles: Sequence[Style]
    epoch: datetime
    from_1904: bool

    @classmethod
    def of(cls, workbook: Any, epoch: datetime, from_1904: bool) -> Styles:
        """From the style sheet that openpyxl has read."""
        from openpyxl.styles.numbers import BUILTIN_FORMATS, is_date_format, is_timedelta_format

        own = list(workbook._number_formats)
        out = []
        for look in workbook._cell_styles:
            number = look.numFmtId
            at = number - 164
            code = BUILTIN_FORMATS.get(number) or (own[at] if 0 <= at < len(own) else "General")
            fill = workbook._fills[look.fillId] if look.fillId < len(workbook._fills) else None
            font = workbook._fonts[look.fontId] if look.fontId < len(workbook._fonts) else None
            out.append(
                Style(
                    code,
                    is_date_format(code),
                    is_timedelta_format(code),
                    bool(font is not None and font.strike),
                    getattr(fill, "fill_type", None) == "solid",
                )
            )
        return cls(out or [Style()], epoch, from_1904)

    def __getitem__(self, number: int) -> Style:
        return self.styles[number] if 0 <= number < len(self.styles) else self.styles[0]


@dataclass(slots=True)
class SheetReader:
    """Reads one sheet; what it noticed on the way stays in it."""

    name: str
    texts: Sequence[str]
    styles: Styles
    filled: Filled
    formulas: int = 0
    coloured: bool = False
    hidden_columns: list[str] = field(default_factory=list)
    _known: dict[Any, Cell] = field(default_factory=dict)

    def lines(self, source: Any) -> list[Line]:
        """Every row in which something stands, merged cells filled over their range."""
        lines: list[Line] = []
        merged: list[tuple[int, int, int, int]] = []
        number = 0
        for element in elements(WithoutEmpty(source, self.filled), _ROW, _COLUMN, _MERGED):
            if element.tag == _ROW:
                number = int(float(element.get("r") or number + 1))
                line = self._line(element, number)
                if line is not None:
                    lines.append(line)
            elif element.tag == _COLUMN:
                self._column(element)
            elif found := _RANGE.fullmatch(element.get("ref") or ""):
                left, top, right, bottom = found.groups()
                merged.append((int(top), column_number(left), int(bottom), column_number(right)))
                if len(merged) > _MOST_MERGED:
                    refuse("open_bomb")
        lines.sort(key=lambda line: line.number)
        return _spread(lines, merged) if merged else lines

    def _column(self, element: Element) -> None:
        if element.get("hidden") in ("1", "true"):
            first, last = int(element.get("min") or 0), int(element.get("max") or 0)
            for number in range(max(1, first), min(last, MOST_COLUMNS) + 1):
                self.hidden_columns.append(column_letter(number))

    def _line(self, row: Element, number: int) -> Line | None:
        cells: list[Cell] = []
        column = filled = 0
        for element in row:
            found = _REFERENCE.fullmatch(element.get("r") or "")
            column = column_number(found[1]) if found else column + 1
            cell = self._cell(element)
            if cell is EMPTY:
                continue
            if column > MOST_COLUMNS:
                self.filled.line(self.name, number, 0, column)
            while len(cells) < column - 1:
                cells.append(EMPTY)
            cells[column - 1 :] = [cell]
            filled += 1
        if not filled:
            return None
        self.filled.line(self.name, number, filled, len(cells))
        return Line(number, tuple(cells), row.get("hidden") in ("1", "true"))

    def _cell(self, element: Element) -> Cell:
        value, formula, inline = None, False, None
        for child in element:
            if child.tag == _VALUE:
                value = child.text
            elif child.tag == _FORMULA:
                formula = True
            elif child.tag == _INLINE:
                inline = text_of(child)
        kind = element.get("t") or "n"
        if value is None and inline is None and not formula:
            return EMPTY
        style = self.styles[int(element.get("s") or 0)]
        self.formulas += formula
        self.coloured = self.coloured or style.coloured
        key = (kind, value, inline, formula, style)
        if key not in self._known:
            if len(self._known) > 50_000:
                self._known.clear()
            self._known[key] = self._read(kind, value, inline, formula, style)
        return self._known[key]

    def _read(
        self, kind: str, value: str | None, inline: str | None, formula: bool, style: Style
    ) -> Cell:
        content: Content = None
        if kind == "inlineStr":
            content = inline
        elif kind == "s" and value is not None:
            content = self.texts[int(value)]
        elif kind == "b" and value is not None:
            content = value.strip() in ("1", "true")
        elif kind in ("str", "e") and value is not None:
            content = _unescaped(value)
        elif kind == "d" and value:
            content = _from_iso(value)
        elif value is not None:
            return self._number(value, formula, style)
        if isinstance(content, str) and not content.strip():
            content = None
        if content is None and not formula:
            return EMPTY
        text = "" if content is None else formats.moment_text(content)
        if isinstance(content, bool):
            text = "TRUE" if content else "FALSE"
        return Cell(content, text, formula, struck=style.struck)

    def _number(self, value: str, formula: bool, style: Style) -> Cell:
        number = formats.number_of(value)
        if number is None:
            return Cell(value, value, formula, struck=style.struck)
        if style.is_moment:
            found = formats.moment(number, self.styles.epoch, span=style.is_span)
            if found is not None:
                return Cell(found, formats.moment_text(found), formula, struck=style.struck)
        text = formats.shown(number, style.number_format)
        return Cell(number, text, formula, struck=style.struck)


def _from_iso(value: str) -> Content:
    from openpyxl.utils.datetime import from_ISO8601

    found = from_ISO8601(value)
    return found if isinstance(found, datetime) else str(value)


def _spread(lines: Sequence[Line], merged: Sequence[tuple[int, int, int, int]]) -> list[Line]:
    """Fill every merged range from its first cell, over the rows that are there."""
    numbers = [line.number for line in lines]
    rows = {line.number: list(line.cells) for line in lines}
    spread = 0
    for top, left, bottom, right in merged:
        first = rows.get(top, [])[left - 1 : left] if right <= MOST_COLUMNS else []
        if not first or first[0].content is None:
            continue
        copy = Cell(first[0].content, first[0].text, first[0].formula, True, first[0].struck)
        for number in _between(numbers, top, bottom):
            for column in range(left, right + 1):
                if (number, column) != (top, left):
                    _put(rows[number], column, copy)
                    spread += 1
        if spread > MOST_CELLS:
            refuse("open_bomb")
    return [Line(line.number, tuple(rows[line.number]), line.hidden) for line in lines]


def _between(numbers: Sequence[int], top: int, bottom: int) -> Iterator[int]:
    yield from numbers[bisect.bisect_left(numbers, top) : bisect.bisect_right(numbers, bottom)]


def _put(cells: list[Cell], column: int, cell: Cell) -> None:
    cells.extend([EMPTY] * (column - len(cells)))
    cells[column - 1] = cell
