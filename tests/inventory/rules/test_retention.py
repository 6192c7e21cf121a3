"""How long a record must be kept."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from inventory.calc.explain import Cite
from inventory.rules.retention import Keep, RecordFacts, keep_until
from inventory.rules.schema import KEEP_FROM, RetentionRow
from inventory.sentences import lines

CITE = Cite("Invented rules", "clause 12", known_by="own")
RECORD = date(2022, 3, 10)


def row(kept_from: str = "record", months: int = 36, **fields: Any) -> RetentionRow:
    values = {"id": f"keep.{kept_from}.{months}", "record_kind": "leak_test", "cite": CITE}
    return RetentionRow(**(values | {"kept_from": kept_from, "months": months} | fields))


def keep(*rows: RetentionRow, **known: Any) -> Keep:
    return keep_until(rows, RecordFacts(RECORD, **known)).value


@pytest.mark.parametrize(
    ("kept_from", "months", "known", "until"),
    [
        ("record", 36, {}, "2025-03-10"),
        ("next_record", 0, {"next_record_on": date(2024, 3, 1)}, "2024-03-01"),
        ("next_record", 6, {"next_record_on": date(2024, 8, 31)}, "2025-02-28"),
        ("disposal", 24, {"disposed_on": date(2024, 2, 29)}, "2026-02-28"),
        ("employment_end", 36, {"employment_end_on": date(2024, 1, 1)}, "2027-01-01"),
        ("licence_end", 12, {"licence_ends": [date(2030, 1, 1)]}, "2031-01-01"),
        # Expiry or revocation, whichever comes first.
        ("licence_end", 12, {"licence_ends": [date(2030, 1, 1), date(2026, 1, 1)]}, "2027-01-01"),
        ("series_end", 60, {"series_end_on": date(2024, 5, 5)}, "2029-05-05"),
        ("calendar_year_end", 60, {}, "2027-12-31"),
    ],
)
def test_counted_from(kept_from, months, known, until):
    assert keep(row(kept_from, months), **known) == Keep(date.fromisoformat(until))


@pytest.mark.parametrize(
    "kept_from", ["next_record", "disposal", "employment_end", "licence_end", "series_end"]
)
def test_while_the_end_has_not_come_nothing_is_decided(kept_from):
    said = keep_until([row(kept_from)], RecordFacts(RECORD))
    assert said.value == Keep()
    assert said.steps[0].code == "keep_not_decided"


def test_for_ever():
    assert keep(row("for_ever", 0), row("record", 36)) == Keep(for_ever=True)


def test_of_several_rows_the_later_end_holds_and_is_said_first():
    rows = [row("record", 24), row("disposal", 24)]
    known = RecordFacts(RECORD, disposed_on=date(2023, 1, 1))
    said = keep_until(rows, known)
    assert said.value == Keep(date(2025, 1, 1))
    assert [step.values["row"] for step in said.steps] == ["keep.disposal.24", "keep.record.24"]
    # Still here: the record alone does not set it free.
    assert keep(*rows) == Keep()


def test_of_an_alternative_one_end_is_enough():
    rows = [row("next_record", 0, alternative="a"), row("disposal", 24, alternative="a")]
    assert keep(*rows) == Keep()
    assert keep(*rows, next_record_on=date(2024, 1, 1)) == Keep(date(2024, 1, 1))
    assert keep(*rows, disposed_on=date(2022, 6, 1)) == Keep(date(2024, 6, 1))
    both = {"next_record_on": date(2024, 1, 1), "disposed_on": date(2021, 6, 1)}
    assert keep(*rows, **both) == Keep(date(2023, 6, 1))


def test_an_alternative_beside_a_row_of_its_own():
    rows = [
        row("next_record", 0, alternative="a"),
        row("disposal", 0, alternative="a"),
        row("record", 36),
    ]
    assert keep(*rows) == Keep()
    assert keep(*rows, next_record_on=date(2023, 3, 10)) == Keep(date(2025, 3, 10))
    assert keep(*rows, next_record_on=date(2026, 3, 10)) == Keep(date(2026, 3, 10))


def test_a_disposal_is_announced_before():
    assert keep(row(notice_days=90)) == Keep(date(2025, 3, 10), tell_by=date(2024, 12, 10))
    # The longest notice of the rows, also of one that does not decide.
    rows = [row(notice_days=90), row("record", 12, notice_days=120)]
    assert keep(*rows).tell_by == date(2024, 11, 10)
    assert keep(row("disposal", notice_days=90)) == Keep()


def test_a_silent_rule_set_sets_nothing_free():
    said = keep_until([], RecordFacts(RECORD))
    assert said.value == Keep()
    assert [step.code for step in said.steps] == ["keep_no_row"]


@pytest.mark.parametrize("kept_from", KEEP_FROM)
@pytest.mark.parametrize("known", [{}, {"disposed_on": RECORD, "licence_ends": [RECORD]}])
def test_every_answer_can_be_read_with_its_clause(kept_from, known):
    said = keep_until([row(kept_from, 36, notice_days=9)], RecordFacts(RECORD, **known))
    for line, step in zip(lines(said.steps), said.steps, strict=True):
        assert step.cite == CITE
        assert "%(" not in line.text and f"from {kept_from} " not in line.text


def test_the_end_of_the_calendar():
    assert keep_until([row("record", 12)], RecordFacts(date(9999, 6, 1))).value.for_ever
