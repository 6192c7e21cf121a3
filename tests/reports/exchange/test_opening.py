"""Opening files: encodings and separators, what a spreadsheet shows of its numbers, limits."""

from __future__ import annotations

import io
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import pytest
from openpyxl import Workbook

from reports.exchange.opening import limits, open_book
from reports.exchange.opening.formats import number_of, plain, shown
from reports.exchange.opening.sheet import column_letter, column_number
from reports.exchange.understood import LoadFault, Sheet

ROWS = [["Nuclide", "Serial"], ["Cs-137", "A, 1"], ["Am-241", "µ–1"]]


def texts(sheet: Sheet) -> list[list[str]]:
    return [[cell.text for cell in line.cells] for line in sheet.lines]


def workbook(rows: list[list[Any]], **formats: str) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    for cell, number_format in formats.items():
        sheet[cell].number_format = number_format
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_text_is_read_however_it_was_saved(separator, encoding, end):
    text = end.join(separator.join(f'"{cell}"' for cell in row) for row in ROWS) + end
    book = open_book("folder/list.csv", text.encode(encoding))
    assert book.name == "list.csv" and book.sheets[0].name == "list"
    assert texts(book.sheets[0]) == ROWS
    codes = [note.code for note in book.notes]
    expected = {"cp1252": ["opened_windows_1252"], "utf-16-le": ["opened_utf_16_unmarked"]}
    assert codes == expected.get(encoding, [])


def test_the_separator_of_its_first_line_is_taken_and_the_lines_keep_their_numbers():
    (sheet,) = open_book("list.csv", b"sep=;\nNuclide;Serial\n\nCs-137;1,5\n").sheets
    assert texts(sheet) == [["Nuclide", "Serial"], ["Cs-137", "1,5"]]
    assert [line.number for line in sheet.lines] == [2, 4]


def test_a_line_break_inside_quotes_is_no_new_row():
    (sheet,) = open_book("list.csv", b'Nuclide,Note\nCs-137,"a\nb"\nCo-60,c\n').sheets
    assert [line.number for line in sheet.lines] == [1, 2, 3]
    assert sheet.lines[1].cells[1].text == "a\nb"


@pytest.mark.parametrize(
    ("number", "number_format", "text"),
    [
        ("123", "00000", "00123"),
        ("123", "General", "123"),
        ("0.25", "0%", "25 %"),
        ("3.7", '0.0" GBq"', "3.7 GBq"),
        ("3.72", '0" GBq"', "3.72 GBq"),
        ("1500", "#,##0.00", "1500"),
        ("1500", '[$-409]#,##0" kBq";-0', "1500 kBq"),
        ("3700000000", "0.00E+00", "3700000000"),
        ("0.0001", "General", "0.0001"),
        ("1e-9", "General", "1E-9"),
    ],
)
def test_a_number_is_shown_as_its_format_says_with_every_figure(number, number_format, text):
    assert shown(Decimal(number), number_format) == text


def test_the_echo_of_a_binary_fraction_is_no_figure():
    assert number_of("0.30000000000000004") == Decimal("0.3")
    assert plain(Decimal("12345678901234")) == "12345678901234"
    assert number_of("1e999") is None and number_of("x") is None


def test_typed_cells_keep_their_type():
    rows = [[1.5, True, date(2019, 5, 3), datetime(2019, 5, 3, 10, 30), time(8, 15), "x"]]
    (sheet,) = open_book("list.xlsx", workbook(rows)).sheets
    contents = [cell.content for cell in sheet.lines[0].cells]
    assert contents == [
        Decimal("1.5"),
        True,
        date(2019, 5, 3),
        datetime(2019, 5, 3, 10, 30),
        time(8, 15),
        "x",
    ]


def test_a_day_that_the_calendar_does_not_have_stays_a_number():
    (sheet,) = open_book("list.xlsx", workbook([[99999999]], A1="yyyy-mm-dd")).sheets
    assert sheet.lines[0].cells[0].content == Decimal(99999999)


@pytest.mark.parametrize(
    ("limit", "most", "code"),
    [
        ("MOST_ROWS", 2, "open_too_many_rows"),
        ("MOST_COLUMNS", 1, "open_too_many_columns"),
        ("MOST_CELLS", 3, "open_too_many_cells"),
    ],
)
@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_what_is_too_much_is_refused(monkeypatch, limit, most, code, kind):
    monkeypatch.setattr(limits, limit, most)
    monkeypatch.setattr(f"reports.exchange.opening.sheet.{limit}", most, raising=False)
    text = "\n".join(f'"{row[0]}","{row[1]}"' for row in ROWS).encode()
    with pytest.raises(LoadFault) as refusal:
        open_book(f"list.{kind}", text if kind == "csv" else workbook(ROWS))
    assert [step.code for step in refusal.value.faults] == [code]


@pytest.mark.parametrize(("number", "letter"), [(1, "A"), (26, "Z"), (27, "AA"), (16384, "XFD")])
def test_columns_have_letters(number, letter):
    assert column_letter(number) == letter and column_number(letter) == number
