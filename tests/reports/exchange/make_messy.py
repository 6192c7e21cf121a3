"""Makes the files of ``fixtures/messy`` from the clean sheets and the list of messes:
``python -m tests.reports.exchange.make_messy``."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import coordinate_to_tuple, get_column_letter
from openpyxl.utils.datetime import MAC_EPOCH

from tests.reports.exchange import messy_sheets as clean
from tests.reports.exchange.messes import MESSES, Formatted, Formula, Look, Mess

FOLDER = Path(__file__).parents[3] / "fixtures" / "messy"


def files() -> Iterator[tuple[str, bytes]]:
    """Name and content of every file of the sample."""
    yield clean.SOURCES, _workbook(clean.SOURCES, _sources())
    yield clean.PORTABLES, _workbook(clean.PORTABLES, _portables())
    yield clean.CONTRACTOR, _csv(clean.CONTRACTOR, clean.CONTRACTOR_LINES, ";").encode("cp1252")
    yield clean.EXPORT, _csv(clean.EXPORT, clean.EXPORT_LINES, "\t").encode("utf-16")


def _sources() -> Workbook:
    book = Workbook()
    kiln = book.active
    assert kiln is not None
    kiln.title = "Kiln"
    _rows(kiln, 4, clean.KILN_HEADS)
    for at in ("A4:A5", "B4:B5", "D4:D5", "E4:E5", "F4:F5", "J4:J5", "G4:I4"):
        kiln.merge_cells(at)
    _rows(kiln, clean.KILN_FIRST, clean.kiln())
    for name, heads, rows in (
        ("Raw mill", clean.MILL_HEADS, clean.mill()),
        ("Old store", clean.STORE_HEADS, clean.store()),
        ("Instruments", clean.MONITOR_HEADS, clean.monitors()),
        ("Cal history", clean.HISTORY_HEADS, clean.history()),
        ("Leak tests 2024", clean.LEAK_HEADS, clean.leak()),
        ("Phone list", ("Telephone", "Who"), [["0000 1", "the gate"]]),
    ):
        sheet = book.create_sheet(name)
        _rows(sheet, 1, [heads, *rows])
    return book


def _portables() -> Workbook:
    book = Workbook()
    book.epoch = MAC_EPOCH
    sheet = book.active
    assert sheet is not None
    sheet.title = "Portables"
    _rows(sheet, 1, [clean.PORTABLE_HEADS, *clean.PORTABLE_ROWS])
    return book


def _rows(sheet: Any, first: int, rows: Sequence[Sequence[Any]]) -> None:
    for number, row in enumerate(rows, first):
        for column, content in enumerate(row, 1):
            _put(sheet, number, column, content)


def _put(sheet: Any, row: int, column: int, content: Any) -> None:
    cell = sheet.cell(row, column)
    cell.number_format = "General"
    if isinstance(content, Formatted):
        cell.value, cell.number_format = content.number, content.number_format
    elif isinstance(content, Formula):
        cell.value = f"={content.text}"
    else:
        cell.value = content
        if isinstance(content, str) and content.startswith("#"):
            cell.data_type = "e"
        elif isinstance(content, str):
            cell.data_type = "s"  # a text that begins with = stays one


# ---------------------------------------------------------------- messes


def _workbook(name: str, book: Workbook) -> bytes:
    stored: dict[tuple[str, str], str] = {}
    for mess in MESSES:
        if mess.file == name:
            _apply(book[mess.sheet], mess, stored)
    out = io.BytesIO()
    book.save(out)
    order = [sheet.title for sheet in book.worksheets]
    return _with_results(out.getvalue(), order, stored)


def _apply(sheet: Any, mess: Mess, stored: dict[tuple[str, str], str]) -> None:
    row, column = coordinate_to_tuple(mess.cell)
    if isinstance(mess.put, Look):
        _look(sheet, mess.put, row, column, stored)
        return
    _put(sheet, row, column, mess.put)
    if isinstance(mess.put, Formula) and mess.put.stored is not None:
        stored[sheet.title, mess.cell] = mess.put.stored


def _look(sheet: Any, look: Look, row: int, column: int, stored: dict[Any, str]) -> None:
    if look.what == "merge":
        sheet.merge_cells(look.put)
    elif look.what == "hide_row":
        sheet.row_dimensions[row].hidden = True
    elif look.what == "hide_column":
        sheet.column_dimensions[get_column_letter(column)].hidden = True
    elif look.what == "hide_sheet":
        sheet.sheet_state = "hidden"
    elif look.what == "colour":
        sheet.cell(row, column).fill = PatternFill("solid", fgColor="FFFF00")
    elif look.what == "strike":
        for cell in sheet[row]:
            cell.font = Font(strike=True)
    elif look.what == "whole_row":
        for at in range(1, sheet.max_column + 1):
            content = look.put[at - 1] if at <= len(look.put) else None
            _put(sheet, row, at, content)
            if isinstance(content, Formula) and content.stored is not None:
                stored[sheet.title, f"{get_column_letter(at)}{row}"] = content.stored


def _with_results(content: bytes, order: Sequence[str], stored: dict[Any, str]) -> bytes:
    """openpyxl writes formulas without results; a spreadsheet program stores them."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for part in old.infolist():
            text = old.read(part)
            if found := re.fullmatch(r"xl/worksheets/sheet(\d+)\.xml", part.filename):
                title = order[int(found[1]) - 1]
                for (sheet, cell), result in stored.items():
                    if sheet == title:
                        text = re.sub(
                            rb'(<c r="%s"[^>]*><f>[^<]*</f>)<v ?/?>(</v>)?' % cell.encode(),
                            rb"\g<1><v>%s</v>" % result.encode(),
                            text,
                        )
            new.writestr(zipfile.ZipInfo(part.filename, (2026, 1, 1, 0, 0, 0)), text)
    return out.getvalue()


def _csv(name: str, lines: Sequence[Sequence[str]], separator: str) -> str:
    cells = [list(line) for line in lines]
    for mess in MESSES:
        if mess.file == name:
            row, column = coordinate_to_tuple(mess.cell)
            cells[row - 1][column - 1] = mess.put
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows(cells)
    return out.getvalue()


def main() -> None:
    """Write every file."""
    FOLDER.mkdir(exist_ok=True)
    for name, content in files():
        (FOLDER / name).write_bytes(content)


if __name__ == "__main__":
    main()
