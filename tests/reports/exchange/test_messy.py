"""The messy sample: every mess is there, and what must come of it came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest
from openpyxl.utils import coordinate_to_tuple

from inventory.calc.nuclides import read_nuclides
from reports.exchange.opening import open_book, open_path
from reports.exchange.reading import nuclide as reading_nuclide
from reports.exchange.reading import understand
from reports.exchange.understood import Book, Cell, Decisions, Row, Understood
from tests.reports.exchange.make_messy import FOLDER, files
from tests.reports.exchange.messes import ANSWERS, MESSES, Formatted, Formula, Look, Mess

MADE = dict(files())
ASKED = sorted({mess.must["question"] for mess in MESSES if "question" in mess.must})


@pytest.fixture(autouse=True)
def shipped_nuclides(monkeypatch):
    """The table of the fixtures: these tests are about reading, not about the database."""
    monkeypatch.setattr(reading_nuclide, "nuclides", _table)


@cache
def _table() -> Mapping[str, Any]:
    return read_nuclides()


@cache
def book(name: str) -> Book:
    return open_path(FOLDER / name)


@cache
def read(name: str) -> Understood:
    return understand(book(name), Decisions(answers=ANSWERS))


@cache
def unanswered(name: str) -> Understood:
    return understand(book(name), Decisions())


def cell_of(mess: Mess) -> Cell:
    row, column = coordinate_to_tuple(mess.cell)
    (sheet,) = [one for one in book(mess.file).sheets if one.name == mess.sheet]
    cells = {line.number: line.cells for line in sheet.lines}.get(row, ())
    return cells[column - 1] if column <= len(cells) else Cell(None)


def row_of(mess: Mess) -> Row:
    number = mess.must.get("row") or coordinate_to_tuple(mess.cell)[0]
    (row,) = [one for one in read(mess.file).rows if (one.sheet, one.line) == (mess.sheet, number)]
    return row


def value_at(thing: Any, path: str) -> str:
    for name in path.split("."):
        thing = thing[int(name)] if name.isdigit() else getattr(thing, name)
    return str(thing)


def codes(steps: Any) -> list[str]:
    return [step.code for step in steps]


# ---------------------------------------------------------------- the files


@pytest.mark.parametrize("name", MADE)
def test_the_committed_file_is_what_the_script_makes(name):
    committed, made = book(name), open_book(name, MADE[name])
    assert committed.notes == made.notes
    assert committed.sheets == made.sheets


def test_there_are_many_messes_each_with_a_name_of_its_own():
    assert len(MESSES) >= 55
    assert not [name for name, n in Counter(mess.name for mess in MESSES).items() if n > 1]
    assert all(mess.must for mess in MESSES)


@pytest.mark.parametrize("mess", MESSES, ids=lambda mess: mess.name)
def test_the_mess_is_in_the_file(mess):
    cell = cell_of(mess)
    if isinstance(mess.put, Formula):
        assert cell.formula and (cell.text == (mess.put.stored or ""))
    elif isinstance(mess.put, Formatted):
        assert float(cell.content) == mess.put.number and cell.text != str(mess.put.number)
    elif isinstance(mess.put, Look):
        assert look_is_there(mess)
    elif isinstance(mess.put, int):
        assert cell.content in (mess.put, str(mess.put))
    else:
        assert cell.content == mess.put


def look_is_there(mess: Mess) -> bool:
    row, column = coordinate_to_tuple(mess.cell)
    (sheet,) = [one for one in book(mess.file).sheets if one.name == mess.sheet]
    line = {line.number: line for line in sheet.lines}[row]
    what = mess.put.what
    if what == "merge":
        below = next(one for one in sheet.lines if one.number == row + 1)
        return below.cells[column - 1].merged
    if what == "hide_column":
        return chr(64 + column) in sheet.hidden_columns
    if what == "colour":
        return "opened_colours_not_read" in codes(book(mess.file).notes)
    if what == "whole_row":
        first = next(one for one in mess.put.put if one is not None)
        return any(cell.content == first for cell in line.cells) or isinstance(first, Formula)
    return {"hide_row": line.hidden, "hide_sheet": sheet.hidden, "strike": line.cells[0].struck}[
        what
    ]


# ---------------------------------------------------------------- what came of them


@pytest.mark.parametrize("mess", MESSES, ids=lambda mess: mess.name)
def test_what_must_come_of_the_mess_came_of_it(mess):
    must = dict(mess.must)
    must.pop("row", None)
    for what in must:
        CHECKS[what](mess, must[what])


def check_entry(mess: Mess, expected: Mapping[str, str]) -> None:
    row = row_of(mess)
    assert not row.faults, row.faults
    assert {path: value_at(row.entries[0], path) for path in expected} == dict(expected)


def check_entries(mess: Mess, expected: int) -> None:
    assert len(row_of(mess).entries) == expected


def check_note(mess: Mess, expected: str) -> None:
    assert expected in codes(row_of(mess).notes)


def check_fault(mess: Mess, expected: str) -> None:
    row = row_of(mess)
    assert codes(fault.text for fault in row.faults) == [expected]
    assert row.entries == ()


def check_skipped(mess: Mess, expected: str) -> None:
    number = coordinate_to_tuple(mess.cell)[0]
    skipped = {(one.sheet, one.line): one.why.code for one in read(mess.file).skipped}
    assert skipped.get((mess.sheet, number)) == expected
    assert number not in [row.line for row in read(mess.file).rows if row.sheet == mess.sheet]


def check_question(mess: Mess, expected: str) -> None:
    asked = {one.key: one for one in unanswered(mess.file).open_questions}
    assert expected in asked
    assert asked[expected].examples and len(asked[expected].options) > 1
    assert {one.key: one.answer for one in read(mess.file).questions}[expected]


def check_column(mess: Mess, expected: tuple[str, str, str]) -> None:
    (sheet,) = [one for one in read(mess.file).sheets if one.name == mess.sheet]
    columns = {one.letter: (one.letter, one.field, one.unit) for one in sheet.columns}
    assert columns[expected[0]] == expected


CHECKS = {
    "entry": check_entry,
    "entries": check_entries,
    "note": check_note,
    "fault": check_fault,
    "skipped": check_skipped,
    "question": check_question,
    "column": check_column,
    "book_note": lambda mess, code: check_in(code, book(mess.file).notes),
    "file_note": lambda mess, code: check_in(code, read(mess.file).notes),
}


def check_in(code: str, steps: Any) -> None:
    assert code in codes(steps)


def test_no_question_is_left_open_once_the_answers_are_given():
    assert [one.key for name in MADE for one in read(name).open_questions] == []


def test_every_answer_of_the_sample_answers_a_question():
    asked = {one.key for name in MADE for one in unanswered(name).questions}
    asked |= {one.key for name in MADE for one in read(name).questions}
    assert set(ANSWERS) == asked


def test_only_the_messes_that_must_fail_are_at_fault():
    failing = {
        (mess.sheet, coordinate_to_tuple(mess.cell)[0]) for mess in MESSES if "fault" in mess.must
    }
    found = {(row.sheet, row.line): row for name in MADE for row in read(name).faulty}
    assert set(found) == failing


def test_a_row_that_waits_for_an_answer_has_neither_entries_nor_faults():
    rows = {row.key: row for row in unanswered(MESSES[0].file).rows}
    row = rows["Raw mill!2"]
    assert not row.entries and not row.faults
    assert "read_waits_for_answer" in codes(row.notes)
