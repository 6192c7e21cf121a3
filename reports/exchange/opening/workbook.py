"""An XLSX workbook as a book of typed cells: stored values only, nothing is followed or run.

openpyxl reads the parts that are small (what sheets there are, styles, the calendar); texts and
rows stream past, because it keeps every row of a sheet, however empty.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.calc.explain import Step
from reports.exchange.opening.limits import LONGEST_CELL, MOST_CELLS, MOST_SHEETS, Filled, refuse
from reports.exchange.opening.package import BROKEN, check_parts, elements, open_package
from reports.exchange.opening.sheet import SheetReader, Styles, text_of
from reports.exchange.understood import Sheet

_SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
#: Parts that are left alone, and the note that says so.
_LEFT_ALONE = (
    (re.compile(r"xl/vbaProject\.bin|xl/macrosheets/.*"), "opened_macros_left_alone"),
    (re.compile(r"xl/externalLinks/.*"), "opened_links_not_followed"),
    (re.compile(r"xl/media/.*"), "opened_pictures_not_read"),
    (re.compile(r"xl/comments.*|xl/threadedComments/.*"), "opened_comments_not_read"),
    (re.compile(r"xl/embeddings/.*"), "opened_embedded_not_read"),
)


def read_workbook(content: bytes) -> tuple[Sequence[Sheet], Sequence[Step]]:
    """Every sheet, hidden ones too, and what was left alone."""
    package = open_package(content)
    check_parts(package)
    with package:
        try:
            sheets = _read(package, content)
        except BROKEN:
            refuse("open_damaged")
    notes = [*_left_alone(package), *_notes(sheets)]
    if not any(one.sheet.lines for one in sheets):
        refuse("open_empty")
    return [one.sheet for one in sheets], notes


@dataclass(frozen=True, slots=True)
class _Read:
    sheet: Sheet
    formulas: int
    coloured: bool


def _read(package: zipfile.ZipFile, content: bytes) -> list[_Read]:
    styles, parts = _opened(package, content)
    if len(parts) > MOST_SHEETS:
        refuse("open_too_many_sheets", most=MOST_SHEETS)
    texts = list(_texts(package))
    filled = Filled()
    out = []
    for name, path, hidden in parts:
        reader = SheetReader(name, texts, styles, filled)
        with package.open(path) as source:
            lines = reader.lines(source)
        sheet = Sheet(
            name,
            lines,
            hidden,
            hidden_columns=tuple(reader.hidden_columns),
            from_1904=styles.from_1904,
        )
        out.append(_Read(sheet, reader.formulas, reader.coloured))
    return out


def _opened(package: zipfile.ZipFile, content: bytes) -> tuple[Styles, list[tuple[str, str, bool]]]:
    """Styles and calendar; name, part and whether it is hidden of each sheet."""
    from openpyxl import DEFUSEDXML
    from openpyxl.reader.excel import ExcelReader
    from openpyxl.styles.stylesheet import apply_stylesheet
    from openpyxl.utils.datetime import MAC_EPOCH

    if not DEFUSEDXML:  # its own switch in the environment
        refuse("open_no_safe_parser")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of parts that nobody reads here
        reader: Any = ExcelReader(
            io.BytesIO(content), read_only=True, data_only=True, keep_links=False
        )
        reader.read_manifest()
        reader.read_workbook()
        apply_stylesheet(reader.archive, reader.wb)
    names = set(package.namelist())
    sheets = [
        (sheet.name, link.target, sheet.state != "visible")
        for sheet, link in reader.parser.find_sheets()
        if link.target in names and "worksheet" in link.Type
    ]
    epoch: datetime = reader.wb.epoch
    return Styles.of(reader.wb, epoch, epoch == MAC_EPOCH), sheets


def _texts(package: zipfile.ZipFile) -> Iterator[str]:
    """The table of texts that cells point into."""
    for name in package.namelist():
        if name.lower() == "xl/sharedstrings.xml":
            with package.open(name) as source:
                for count, element in enumerate(elements(source, f"{_SPACE}si")):
                    if count > MOST_CELLS:
                        refuse("open_bomb")
                    text = text_of(element)
                    if len(text) > LONGEST_CELL:
                        refuse("open_text_without_end", most=LONGEST_CELL)
                    yield text


def _left_alone(package: zipfile.ZipFile) -> Iterator[Step]:
    names = package.namelist()
    for pattern, code in _LEFT_ALONE:
        if any(pattern.fullmatch(name) for name in names):
            yield Step(code)


def _notes(sheets: Sequence[_Read]) -> Iterator[Step]:
    formulas = sum(one.formulas for one in sheets)
    if formulas:
        yield Step("opened_formulas", {"n": formulas})
    for one in sheets:
        if one.sheet.hidden and one.sheet.lines:
            yield Step("opened_hidden_sheet", {"text": one.sheet.name})
        if one.sheet.hidden_columns:
            columns = ", ".join(one.sheet.hidden_columns)
            yield Step("opened_hidden_columns", {"text": one.sheet.name, "columns": columns})
    if any(one.coloured for one in sheets):
        yield Step("opened_colours_not_read")
    if any(one.sheet.from_1904 for one in sheets):
        yield Step("opened_1904")
