"""A register as a workbook: the table on one sheet, all that stands around it on another.

Imported where it is used, for it is the only writer that needs a library for spreadsheets.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from django.utils.translation import gettext as _
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.xml.functions import tostring

from inventory.sentences import day_text
from reports.registers.base import Cell, Column, Drawn, Register, cells
from reports.registers.csv_out import neutral

#: What a cell of a workbook holds at most; a longer text ends with CUT.
LONGEST, CUT = 32_767, " […]"
#: The first day that spreadsheets count alike.
FIRST_DAY = date(1900, 3, 1)
WIDEST, NARROWEST = 60, 9
#: Characters that no XML can hold.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_HEAD = Font(bold=True)
_RULE = Border(bottom=Side(style="medium"))
_WRAP = Alignment(wrap_text=True, vertical="top")


def to_xlsx(register: Register, rows: Drawn | None = None) -> bytes:
    """The workbook. The same register gives the same bytes."""
    drawn = list(cells(register) if rows is None else rows)
    book = Workbook(write_only=True)
    _write_table(book, register, drawn)
    _write_about(book, register)
    moment = register.made_at.astimezone(UTC).replace(tzinfo=None, microsecond=0)
    book.properties.title = _clean(register.title)
    book.properties.creator = _clean(register.made_by)
    book.properties.description = _clean(register.number)
    held = BytesIO()
    book.save(held)
    # Saving has put the time of this computer into the file.
    book.properties.created = book.properties.modified = moment
    return _settled(held, moment, tostring(book.properties.to_tree()))


def _settled(held: BytesIO, moment: datetime, properties: bytes) -> bytes:
    """The same archive with the moment of the register in the place of the clock's."""
    out = BytesIO()
    stamp = max(moment, datetime(1980, 1, 1)).timetuple()[:6]  # noqa: DTZ001 - a file's own time
    with ZipFile(held) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = properties if name == "docProps/core.xml" else old.read(name)
            part = ZipInfo(name, stamp)
            part.compress_type = ZIP_DEFLATED
            new.writestr(part, content)
    return out.getvalue()


def _write_table(book: Workbook, register: Register, drawn: Sequence[Sequence[Cell]]) -> None:
    """Heads with units, frozen; numbers and days as what they are."""
    sheet = book.create_sheet(_("Register"))
    columns = register.columns_for("programs")
    rows = [register.cells_for("programs", row) for row in drawn]
    marks = [_mark(row) for row in drawn]
    heads = [column.full_head for column in columns] + ([_("Note")] if any(marks) else [])
    for place, head in enumerate(heads):
        held = [row[place].value for row in rows] if place < len(columns) else marks
        sheet.column_dimensions[get_column_letter(place + 1)].width = _width(head, held)
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(heads))}{max(len(rows), 1) + 1}"
    sheet.append([_head(sheet, head) for head in heads])
    for row, mark in zip(rows, marks, strict=True):
        line = [_typed(sheet, *each) for each in zip(columns, row, strict=True)]
        sheet.append([*line, _text(sheet, mark)] if any(marks) else line)


def _mark(row: Sequence[Cell]) -> str:
    return ", ".join(cell.mark for cell in row if cell.mark)


def _width(head: str, values: Iterable[str]) -> int:
    """As wide as its longest line, within reason."""
    longest = max(
        (len(line) for value in (head, *values) for line in value.splitlines()), default=0
    )
    return min(max(longest + 2, NARROWEST), WIDEST)


def _head(sheet: Any, text: str) -> Any:
    cell = _text(sheet, text)
    cell.font, cell.border, cell.alignment = _HEAD, _RULE, _WRAP
    return cell


def _typed(sheet: Any, column: Column, cell: Cell) -> Any:
    """A number as a number, a day as a day; what cannot be read as one stays text."""
    value = _value(column, cell)
    if isinstance(value, str):
        return _text(sheet, value)
    out = WriteOnlyCell(sheet, value=value)
    out.alignment = _WRAP
    if isinstance(value, date):
        out.number_format = "d\\ mmm\\ yyyy"
    return out


def _value(column: Column, cell: Cell) -> Any:
    try:
        if column.kind == "date":
            day = date.fromisoformat(cell.value)
            return day if day >= FIRST_DAY else cell.value
        if column.kind == "number":
            number = float(cell.value)
            if not math.isfinite(number):
                return cell.value
            whole = number.is_integer() and abs(number) < 1e15
            return int(number) if whole else number
    except (ValueError, OverflowError):
        pass
    return cell.value


def _text(sheet: Any, text: str) -> Any:
    """Words that no spreadsheet runs: a text even where it begins like a formula, or is called
    like an error."""
    said = _clean(text)
    out = WriteOnlyCell(sheet, value=said or None)
    if said:
        out.data_type = "s"
    out.quotePrefix = neutral(said) != said
    out.alignment = _WRAP
    return out


def _clean(text: str) -> str:
    said = _UNPRINTABLE.sub("□", text).encode("utf-8", "replace").decode()
    return said if len(said) <= LONGEST else said[: LONGEST - len(CUT)] + CUT


def _write_about(book: Workbook, register: Register) -> None:
    """Title block, totals, notes and cautions: a term and its text a row."""
    sheet = book.create_sheet(_("About"))
    sheet.column_dimensions["A"].width = 22
    sheet.column_dimensions["B"].width = 110
    for number, (term, text) in enumerate(_about(register)):
        cell = _text(sheet, term)
        cell.font = _HEAD
        said = _text(sheet, text)
        if number == 0:
            said.font = Font(bold=True, size=14)
        sheet.append([cell, said])


def _about(register: Register) -> Iterator[tuple[str, str]]:
    from reports.pdf import moment_text

    at, zone = register.at, register.zone
    yield _("Title"), register.title
    yield _("Site"), ", ".join(part for part in (register.site_name, register.site_address) if part)
    if register.from_on is not None:
        yield _("From"), day_text(register.from_on)
    yield _("As of"), day_text(at.on)
    if at.known is not None:
        yield _("As it was known on"), moment_text(at.known, zone)
    yield _("Number"), register.number
    values = {"made": moment_text(register.made_at, zone), "by": register.made_by}
    yield _("Made"), _("%(made)s, by %(by)s") % values
    yield _("Schedule"), register.schedule_line
    values = {"seq": str(register.chain_seq), "head": register.chain_head}
    yield _("Records"), _("SHA-256 after record %(seq)s of this site: %(head)s") % values
    yield _("Rows"), str(len(register.rows))
    for total in register.totals:
        yield _("Total"), total
    for note in register.notes:
        yield _("Note %(mark)s") % {"mark": note.mark}, note.text
    for caution in register.cautions:
        yield _("Read with care"), caution
