"""What must be reported after an event, and by when.

A deadline is counted in whole days: nobody records the hour of an event, so that 24 hours end with
the day after it. The day of the deadline is still in time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.calc.dates import add_months
from inventory.calc.explain import Explained, Scalar, Step
from inventory.rules.conditions import Ask
from inventory.rules.schema import ReportRow

HOURS_OF_A_DAY = 24


@dataclass(frozen=True, slots=True)
class Deadline:
    """By which day to report; ``by_on`` None: the clause names no time. ``at_once``: before
    anything else, on the day of the event."""

    by_on: date | None
    at_once: bool = False


def asked(rows: Iterable[ReportRow], trigger: str, ask: Ask) -> list[ReportRow]:
    """The rows of a trigger that hold. A condition that is not known is taken as holding: a report
    too many does no harm. ``ask`` answers for a condition, as ``rules.conditions`` has it."""
    return [
        row
        for row in rows
        if row.trigger == trigger
        and all(ask(name, wanted) is not False for name, wanted in row.when)
    ]


def deadline(row: ReportRow, event_on: date) -> Explained[Deadline]:
    """By when a row wants the report of an event of ``event_on``, with its clause.

    The end of a shorter month clips months; beyond the calendar it is the calendar's last day.
    """
    if row.at_once:
        values: dict[str, Scalar] = {"row": row.id, "event_on": event_on}
        step = Step("report_at_once", values, row.cite)
        return Explained(Deadline(event_on, at_once=True), (step,))
    by_on = _by(row, event_on)
    return Explained(Deadline(by_on), (_step(row, event_on, by_on),))


def _by(row: ReportRow, event_on: date) -> date | None:
    if row.hours is not None:
        return _plus(event_on, -(-row.hours // HOURS_OF_A_DAY))
    if row.days is not None:
        return _plus(event_on, row.days)
    if row.months is not None:
        return add_months(event_on, row.months)
    return _of_next_year(row.month_day, event_on) if row.month_day else None


def _plus(day: date, days: int) -> date:
    return day + timedelta(days=min(days, (date.max - day).days))


def _of_next_year(month_day: str, event_on: date) -> date:
    """A day (MM-DD) of the year after the event."""
    if event_on.year == date.max.year:
        return date.max
    return date.fromisoformat(f"{event_on.year + 1:04}-{month_day}")


def _step(row: ReportRow, event_on: date, by_on: date | None) -> Step:
    values: dict[str, Scalar] = {"row": row.id, "event_on": event_on, "by_on": by_on}
    if row.hours is not None:
        return Step("report_in_hours", {**values, "hours": row.hours}, row.cite)
    if row.days is not None:
        return Step("report_in_days", {**values, "days": row.days}, row.cite)
    if row.months is not None:
        return Step("report_in_months", {**values, "months": row.months}, row.cite)
    return Step("report_each_year" if row.month_day else "report_no_time", values, row.cite)
