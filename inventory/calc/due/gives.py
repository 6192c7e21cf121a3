"""What a row can give: a candidate, and how a date is written into a decision."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.calc.due.facts import Event
from inventory.calc.due.states import (
    DATED,
    LONG_AGO,
    NEVER_DONE,
    NOT_REQUIRED,
    ON_HOLD,
    UNDECIDED,
    Decision,
)
from inventory.calc.explain import Step
from inventory.calc.stays import OPEN_END
from inventory.rules.schema import Row

#: The stricter first: what nobody has ever done, what has a date, what nobody has decided ...
_STRICTNESS = {NEVER_DONE: 0, DATED: 1, UNDECIDED: 2, ON_HOLD: 3, NOT_REQUIRED: 4}
Grounds = Callable[[], tuple[Step, ...]]


@dataclass(frozen=True, slots=True)
class Candidate:
    """An answer that a row gives; its grounds are made when somebody asks for them."""

    row: Row
    decision: Decision
    grounds: Grounds
    evidence: Event | None = None  # the pass it counts from, or the failure after it

    @property
    def strictness(self) -> tuple[int, date, int]:
        """Smaller is stricter; of two that were never done the shorter interval."""
        decision = self.decision
        span = (self.row.months or 0) * 31 + (self.row.days or 0)
        return (_STRICTNESS[decision.state], decision.due_on or OPEN_END, span)


def plus_days(day: date, days: int | None) -> date:
    """A day so many days later, or the calendar's last."""
    return day + timedelta(days=min(days or 0, (date.max - day).days))


def until_day(row: Row, due_on: date, event: Event | None) -> Decision:
    """Due on a day, to be warned of the row's lead time before it."""
    lead = min(row.lead_days, (due_on - LONG_AGO).days)
    record = event.record if event else None
    return Decision(DATED, due_on, due_on - timedelta(days=lead), record, row.id)
