"""CSV as sites keep it: any of four separators, UTF-8, UTF-16 or Windows-1252."""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Iterator, Sequence

from inventory.calc.explain import Step
from reports.exchange.opening.limits import LONGEST_CELL, Filled, refuse
from reports.exchange.understood import Cell, Line, Sheet

SEPARATORS = (",", ";", "\t", "|")
#: Records that show which separator is meant.
_LOOKED_AT = 60
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
EMPTY = Cell(None)


def read_text(name: str, content: bytes) -> tuple[Sequence[Sheet], Sequence[Step]]:
    """One sheet, and what was odd about the file."""
    text, notes = _decoded(content)
    if "\x00" in text:
        refuse("open_not_a_list")
    separator, text = _separator(text)
    lines = list(_lines(name, text, separator))
    if not lines:
        refuse("open_empty")
    return [Sheet(name, lines)], notes


def _decoded(content: bytes) -> tuple[str, list[Step]]:
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return _strict(content, encoding), []
    for encoding, odd in (("utf-16-le", content[1::2]), ("utf-16-be", content[::2])):
        sample = odd[:200]
        if len(content) % 2 == 0 and sample.count(0) > 0.9 * len(sample):
            return _strict(content, encoding), [Step("opened_utf_16_unmarked")]
    try:
        return content.decode("utf-8"), []
    except UnicodeDecodeError:
        return _strict(content, "cp1252"), [Step("opened_windows_1252")]


def _strict(content: bytes, encoding: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError:
        refuse("open_not_a_list")


def _separator(text: str) -> tuple[str, str]:
    """The separator, and the text without a first line that only names it."""
    first, _, rest = text.partition("\n")
    named = first.strip().removeprefix('"').removesuffix('"')
    if len(named) == 5 and named.startswith("sep=") and named[4] in SEPARATORS:
        return named[4], "\n" + rest  # the line stays, so that the others keep their numbers
    if first.strip() == "sep=":
        return "\t", "\n" + rest
    return max(SEPARATORS, key=lambda one: _fits(text, one)), text


def _fits(text: str, separator: str) -> tuple[int, int]:
    """How many records part into the commonest number of cells, more than one, and into how many
    cells altogether."""
    widths = []
    records = csv.reader(io.StringIO(text[:100_000], newline=""), delimiter=separator)
    try:
        for record in itertools.islice(records, _LOOKED_AT):
            if any(record):
                widths.append(len(record))
    except csv.Error:
        return (0, 0)
    several = [width for width in widths if width > 1]
    commonest = max(several, key=several.count, default=0)
    return several.count(commonest), sum(several)


def _lines(name: str, text: str, separator: str) -> Iterator[Line]:
    """Every record that is not blank, numbered as a spreadsheet numbers it."""
    filled = Filled()
    known: dict[str, Cell] = {}
    records = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    try:
        for number, record in enumerate(records, 1):
            while record and not record[-1].strip():
                record.pop()
            if not record:
                continue
            cells = tuple(_cell(name, number, one, known) for one in record)
            filled.line(name, number, len(cells), len(cells))
            yield Line(number, cells)
    except csv.Error:
        refuse("open_csv_broken", row=number + 1)


def _cell(sheet: str, number: int, text: str, known: dict[str, Cell]) -> Cell:
    if text not in known:
        if len(text) > LONGEST_CELL:
            refuse("open_cell_too_long", sheet=sheet, row=number, most=LONGEST_CELL)
        if len(known) > 50_000:
            known.clear()
        known[text] = Cell(text, text) if text.strip() else EMPTY
    return known[text]
