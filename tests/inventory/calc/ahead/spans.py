"""Spans with working defaults for the tests of what lies ahead."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from inventory.calc.ahead import Interval, Need, Span
from inventory.calc.due import DATED

LONG_AGO, FOR_EVER = date(1, 1, 1), date(9999, 12, 31)
#: The day asked about.
ON = date(2026, 3, 2)


def span(due_on: date | None = None, **fields: Any) -> Span:
    """A leak test of item 1 that holds for ever; due on a day, warned of 60 days before."""
    values: dict[str, Any] = {
        **{"item": 1, "requirement": "leak_test", "state": DATED if due_on else "never_done"},
        **{"from_on": LONG_AGO, "until_on": FOR_EVER, "due_on": due_on},
    }
    if due_on is not None and "warn_on" not in fields:
        values["warn_on"] = due_on - timedelta(60) if due_on.year > 1 else due_on
    return Span(**(values | fields))


def need(due_on: date | None, **fields: Any) -> Need:
    """A leak test of item 1 at place 7."""
    values: dict[str, Any] = {
        **{"item": 1, "requirement": "leak_test", "state": "good", "due_on": due_on},
        **{"at_once": due_on is None or due_on < ON, "place": 7},
    }
    return Need(**(values | fields))


def monthly(**fields: Any) -> Interval:
    return Interval(months=1, **fields)
