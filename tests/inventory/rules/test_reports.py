"""By when something must be reported."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from inventory.calc.explain import Cite
from inventory.rules.conditions import Answer
from inventory.rules.reports import Deadline, asked, deadline
from inventory.rules.schema import ReportRow, Wanted
from inventory.sentences import lines

CITE = Cite("Invented rules", "clause 9", known_by="own")


def row(**fields: Any) -> ReportRow:
    values = {"id": "report.one", "trigger": "leak_failed", "tell": "regulator", "form": "written"}
    return ReportRow(**(values | {"cite": CITE} | fields))


@pytest.mark.parametrize(
    ("fields", "event_on", "by_on"),
    [
        ({"at_once": True}, "2025-03-10", "2025-03-10"),
        # 24 hours of an event at an unknown time of the day end with the next day at the latest.
        ({"hours": 24}, "2025-03-10", "2025-03-11"),
        ({"hours": 25}, "2025-03-10", "2025-03-12"),
        ({"hours": 4}, "2024-02-28", "2024-02-29"),
        # 30 days are not a month.
        ({"days": 30}, "2025-01-31", "2025-03-02"),
        ({"days": 21}, "2025-12-20", "2026-01-10"),
        ({"months": 1}, "2025-01-31", "2025-02-28"),
        ({"months": 6}, "2023-08-31", "2024-02-29"),
        ({"month_day": "01-31"}, "2025-01-01", "2026-01-31"),
        ({"month_day": "01-31"}, "2025-12-31", "2026-01-31"),
        # The calendar ends; the deadline does not fall over its edge.
        ({"days": 30}, "9999-12-20", "9999-12-31"),
        ({"months": 6}, "9999-12-20", "9999-12-31"),
        ({"month_day": "01-31"}, "9999-12-20", "9999-12-31"),
    ],
)
def test_by_when(fields, event_on, by_on):
    said = deadline(row(**fields), date.fromisoformat(event_on))
    assert said.value == Deadline(date.fromisoformat(by_on), at_once="at_once" in fields)


def test_a_clause_without_a_time_gives_no_day():
    said = deadline(row(), date(2025, 3, 10))
    assert said.value == Deadline(None)
    assert [step.code for step in said.steps] == ["report_no_time"]


@pytest.mark.parametrize(
    "fields",
    [{"at_once": True}, {"hours": 24}, {"days": 5}, {"months": 6}, {"month_day": "01-31"}, {}],
)
def test_every_deadline_can_be_read_with_its_clause(fields):
    (step,) = deadline(row(**fields), date(2025, 3, 10)).steps
    (line,) = lines([step])
    assert step.cite == CITE
    assert "report.one" in line.text and "%(" not in line.text


def test_only_rows_of_the_trigger_that_hold_are_asked():
    rows = [
        row(),
        row(id="report.two", when=(("use", "medical"),)),
        row(id="report.three", when=(("hass", True),)),
        row(id="report.four", trigger="missing"),
    ]

    def ask(name: str, wanted: Wanted) -> Answer:
        return None if name == "hass" else False

    # What is not known is taken as holding: a report too many does no harm.
    assert [one.id for one in asked(rows, "leak_failed", ask)] == ["report.one", "report.three"]
    assert asked(rows, "spill", ask) == []
