"""What a sheet can say that looks like a pass and is none; none of it may be loaded as one."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from inventory.calc.nuclides import read_nuclides
from reports.exchange.opening import open_book
from reports.exchange.reading import nuclide as reading_nuclide
from reports.exchange.reading import understand
from reports.exchange.reading.heads import field_of
from reports.exchange.reading.vocabulary import UNUSED
from reports.exchange.understood import CountsStated, Decisions, Row, Understood

TABLE = read_nuclides()
COUNTED = (
    "Serial,Wipe date,Counter,Gross {head},Background {head},Count time (min),Background time (min)"
)


@pytest.fixture(autouse=True)
def shipped_nuclides(monkeypatch):
    monkeypatch.setattr(reading_nuclide, "nuclides", lambda: TABLE)


def read(text: str, **answers: str) -> Understood:
    return understand(open_book("list.csv", text.encode()), Decisions(answers=answers))


def only(text: str, **answers: str) -> Row:
    (found,) = read(text, **answers).rows
    return found


def faults(row: Row) -> list[str]:
    return [fault.text.code for fault in row.faults]


# ---------------------------------------------------------------- heads


@pytest.mark.parametrize("kind", ["sources", "wipes"])
@pytest.mark.parametrize(
    "head",
    [
        *("Leak test due date", "Next leak test date", "Wipe due date", "Due date leak test"),
        *("Last leak test due", "Leak test expires", "Leak test valid until", "Date of next wipe"),
        *("Planned wipe date", "Leak test deadline", "Wipe limit (Bq)", "Leak test target date"),
        *("Result limit", "Leak test interval date", "Leak test expiry date"),
    ],
)
def test_a_head_of_what_is_still_to_be_done_is_no_evidence(head, kind):
    assert field_of(head, kind).field in ("", UNUSED)


@pytest.mark.parametrize("kind", ["monitors", "calibrations"])
@pytest.mark.parametrize("head", ["Next calibration date", "Calibration date due"])
def test_the_day_of_the_next_calibration_is_no_calibration(head, kind):
    assert field_of(head, kind).field in ("", UNUSED, "valid_until")


def test_a_due_date_that_passed_does_not_become_the_day_of_the_last_wipe():
    row = only("Nuclide,Serial,Leak test due date,Last result\nCs-137,A1,2025-11-01,<5 Bq\n")
    assert [getattr(entry, "wipe", None) for entry in row.entries] in ([], [None])


@pytest.mark.parametrize(
    "head",
    [
        *("counts/min", "counts per minute", "cts/min", "CPM 1", "(cpm) wipe", "counts (c/m)"),
        *("counts (per min)", "CPM (average)"),
    ],
)
def test_counts_per_minute_in_whatever_words_are_no_counts(head):
    """100 counts per minute over 10 minutes are 1,000 counts, not 100."""
    row = only(f"{COUNTED.format(head=head)}\nA1,2025-11-01,WC-1,100,30,10,10\n")
    (wipe,) = row.entries
    assert isinstance(wipe.result, CountsStated), faults(row)
    assert wipe.result.gross == [(1000.0, 600.0)]
    assert wipe.result.background == [(300.0, 600.0)]


@pytest.mark.parametrize("head", ["count rate", "counts (x10^3)"])
def test_numbers_of_which_nobody_says_what_they_count_are_a_fault(head):
    row = only(f"{COUNTED.format(head=head)}\nA1,2025-11-01,WC-1,100,30,10,10\n")
    assert "read_counts_of_what" in faults(row)
    assert row.entries == ()


def test_a_number_that_says_what_it_is_goes_before_its_head():
    line = "A1,2025-11-01,WC-1,100 counts,30 counts,10,10"
    (wipe,) = only(f"{COUNTED.format(head='count rate')}\n{line}\n").entries
    assert wipe.result.gross == [(100.0, 600.0)]


# ---------------------------------------------------------------- units


@pytest.mark.parametrize("unit", ["kcpm", "mR/h", "%"])
@pytest.mark.parametrize("head", ["Result", "Result (Bq)"])
def test_a_unit_that_is_none_of_activity_is_not_passed_over(unit, head):
    text = f"Serial,Wipe date,{head},Unit\nA1,2025-11-01,<100,{unit}\n"
    row = only(text, **{"unit:result:result": "Bq"})
    assert "read_unit_not_understood" in faults(row)
    assert row.entries == ()


@pytest.mark.parametrize("unit", ["cpm", "cps", "counts/min"])
def test_a_rate_in_the_column_of_units_is_no_activity(unit):
    text = f"Serial,Wipe date,Result,Unit\nA1,2025-11-01,<100,{unit}\n"
    row = only(text, **{"unit:result:result": "Bq"})
    assert row.entries == ()


@pytest.mark.parametrize("head", ["Result 10^3 Bq", "Result 10⁻³ uCi", "Result x1000 Bq"])
def test_a_head_that_multiplies_is_a_fault_and_not_overlooked(head):
    row = only(f"Serial,Wipe date,{head}\nA1,2025-11-01,<5\n", **{"column:list.csv!C": "result"})
    assert row.entries == ()


# ---------------------------------------------------------------- days


@pytest.mark.parametrize("day", ["09-11-24", "04-04-19"])
def test_a_year_of_two_digits_in_front_is_asked_about(day):
    """09-11-24 of a list with the year in front is 24 November 2009, not 9 November 2024."""
    found = read(f"Serial,Wipe date,Result (Bq)\nA1,{day},<5\nA2,21-04-19,<5\n")
    assert found.open_questions
    assert found.rows[0].entries == ()


@pytest.mark.parametrize(
    ("answer", "on"), [("ymd", date(2009, 11, 24)), ("dmy", date(2024, 11, 9))]
)
def test_the_answer_says_where_the_year_stands(answer, on):
    row: Any = only("Serial,Wipe date,Result (Bq)\nA1,09-11-24,<5\n", date_order=answer)
    assert row.entries[0].on == on
