import io
from dataclasses import replace
from datetime import UTC, date, datetime
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from inventory.calc.asof import AsOf
from reports.registers.base import Cell, Note
from reports.registers.xlsx_out import LONGEST, to_xlsx

from .invented import COLUMNS, ON, register
from .invented_registers import MAKERS, register_of


def book(whole):
    return load_workbook(io.BytesIO(to_xlsx(whole)))


def first_row(whole):
    return next(iter(book(whole).worksheets[0].iter_rows(min_row=2, max_row=2)))


def with_texts(text, **cell):
    return register([tuple(Cell(text, **cell) for _ in COLUMNS)])


def test_its_first_sheet_is_the_table_with_frozen_heads():
    sheet = book(register(3)).worksheets[0]

    assert [cell.value for cell in sheet[1]][:3] == ["No.", "Source", "Nuclide"]
    assert "Category (1 to 5)" in [cell.value for cell in sheet[1]]
    assert sheet.freeze_panes == "B2"
    assert sheet.max_row == 4
    assert sheet.auto_filter.ref == "A1:L4"


def test_its_second_sheet_is_what_stands_around_the_table():
    known = datetime(2026, 11, 20, 8, 0, tzinfo=UTC)
    whole = register(3, at=AsOf(ON, known), from_on=date(2026, 1, 1))
    sheet = book(whole).worksheets[1]
    said = [(row[0].value, row[1].value) for row in sheet.iter_rows()]

    assert ("Title", whole.title) in said
    assert ("From", "1 Jan 2026") in said
    assert ("As of", "24 Nov 2026") in said
    assert ("As it was known on", "20 Nov 2026, 08:00 (Europe/Lisbon, UTC+00:00)") in said
    assert ("Number", whole.number) in said
    assert any(whole.chain_head in text for _term, text in said)
    assert [text for term, text in said if term == "Total"] == list(whole.totals)
    assert [text for term, text in said if term == "Read with care"] == list(whole.cautions)
    assert ("Note 1", whole.notes[0].text) in said


def test_numbers_and_days_are_numbers_and_days():
    row = first_row(register(1))

    assert (row[0].value, row[0].data_type) == (1, "n")
    assert row[4].value == datetime(2009, 1, 1) and row[4].is_date
    assert row[5].value == pytest.approx(3.7e8 * 0.68123456789, rel=1e-12)


def test_what_is_no_number_or_day_stays_as_it_was_written():
    whole = register([tuple(Cell("n/a 3", raw="1,5") for _ in COLUMNS)])

    assert {cell.value for cell in first_row(whole)[: len(COLUMNS)]} == {"1,5"}
    assert {cell.data_type for cell in first_row(whole)[: len(COLUMNS)]} == {"s"}


def test_a_day_that_spreadsheets_count_differently_stays_text():
    whole = register([tuple(Cell("5 Jan 1899", raw="1899-01-05") for _ in COLUMNS)])

    assert first_row(whole)[4].value == "1899-01-05"


@pytest.mark.parametrize("raw", ["nan", "inf", "-inf", "1e400", "9999-99-99"])
def test_what_no_workbook_has_a_number_for_is_text(raw):
    whole = register([tuple(Cell("x", raw=raw) for _ in COLUMNS)])

    assert {cell.value for cell in first_row(whole)[: len(COLUMNS)]} == {raw}
    assert {cell.data_type for cell in first_row(whole)[: len(COLUMNS)]} == {"s"}


def test_nothing_is_an_empty_cell():
    assert {cell.value for cell in first_row(with_texts(""))} == {None}


@pytest.mark.parametrize(
    "text", ["=1+1", "+A1", "-A1", "@SUM(A1)", "\t=1", "  =1", "-2+3", "＝1", "=cmd|' /C calc'!A0"]
)
def test_a_formula_stays_text_also_when_somebody_edits_the_cell(text):
    row = first_row(with_texts(text))

    assert {cell.value for cell in row[: len(COLUMNS)]} == {text}
    assert {cell.data_type for cell in row[: len(COLUMNS)]} == {"s"}
    assert all(cell.quotePrefix for cell in row[: len(COLUMNS)])


def test_an_error_of_a_spreadsheet_stays_a_word():
    assert first_row(with_texts("#N/A"))[1].data_type == "s"


def test_heads_and_sentences_run_no_more_than_cells():
    whole = register(1, title="=1+1", totals=("@x",), notes=(Note("=1", "-A1"),), cautions=("+A1",))
    whole = replace(whole, columns=(replace(COLUMNS[0], head="=HYPERLINK(1)"), *COLUMNS[1:]))
    types = {cell.data_type for sheet in book(whole) for row in sheet for cell in row}

    assert "f" not in types


def test_what_no_workbook_can_hold_has_a_stand_in():
    row = first_row(with_texts("nul\x00 bell\x07 half \ud83d"))

    assert row[1].value == "nul□ bell□ half ?"


def test_a_text_too_long_for_a_cell_says_that_it_was_cut():
    value = first_row(with_texts("x" * 40_000))[1].value

    assert len(value) == LONGEST and value.endswith("[…]")


def test_marks_of_notes_have_a_column_only_where_there_are_any():
    marked, plain = register(4), register([tuple(Cell("x") for _ in COLUMNS)])

    assert [cell.value for cell in book(marked).worksheets[0][1]][-1] == "Note"
    assert [row[-1].value for row in book(marked).worksheets[0].iter_rows(min_row=2)][2:] == [
        *("1", "2"),
    ]
    assert book(plain).worksheets[0].max_column == len(COLUMNS)


def test_the_same_register_gives_the_same_bytes(monkeypatch):
    first = to_xlsx(register(3))
    with ZipFile(io.BytesIO(first)) as held:
        assert {part.date_time for part in held.infolist()} == {(2026, 11, 24, 13, 5, 0)}

    assert to_xlsx(register(3)) == first
    assert to_xlsx(register(3, number="AQ-2026-0018")) != first
    properties = book(register(3)).properties
    assert properties.created == properties.modified == datetime(2026, 11, 24, 13, 5)


@pytest.mark.parametrize("kind", MAKERS)
def test_every_kind_can_be_opened_again_and_has_all_its_rows(kind):
    whole = register_of(kind, 40, long=True)
    sheet = book(whole).worksheets[0]

    assert sheet.max_row == 41
    heads = [column.full_head for column in whole.columns_for("programs")]
    assert [cell.value for cell in sheet[1]][: len(heads)] == heads
