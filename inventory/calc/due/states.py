"""What a requirement can say, and how it is seen on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

FAILED, NOT_REQUIRED, ON_HOLD = "failed", "not_required", "on_hold"
UNDECIDED, NEVER_DONE, AWAITED, DATED = "undecided", "never_done", "awaited", "dated"
LATE, DUE_SOON, GOOD = "late", "due_soon", "good"
#: What a stored span can say; late, due soon and good are made of ``dated`` on the day.
STORED = (FAILED, NOT_REQUIRED, ON_HOLD, UNDECIDED, NEVER_DONE, AWAITED, DATED)
#: The order in which a person must look at them.
URGENCY = (
    FAILED,
    LATE,
    NEVER_DONE,
    UNDECIDED,
    AWAITED,
    DUE_SOON,
    GOOD,
    ON_HOLD,
    NOT_REQUIRED,
)
LONG_AGO = date(1, 1, 1)


@dataclass(frozen=True, slots=True)
class Decision:
    """What a requirement says on a day. ``state`` is one of STORED.

    Awaited: ``record`` is what was sent, ``since`` the day it was taken, ``warn_on`` the day from
    which the result must be chased. ``proposed`` is the row that would decide if somebody
    confirmed what decay has changed.
    """

    state: str
    due_on: date | None = None
    warn_on: date | None = None
    record: int | None = None
    row: str = ""
    since: date | None = None
    proposed: str = ""

    def state_on(self, day: date) -> str:
        """The state as people see it on that day."""
        return state_on(self.state, self.due_on, self.warn_on, day)


def state_on(state: str, due_on: date | None, warn_on: date | None, day: date) -> str:
    """Late, due soon and good are a matter of the day. On the due date it is still good."""
    if state not in (DATED, AWAITED) or due_on is None:
        return state
    if due_on < day:
        return LATE
    if state == AWAITED:
        return AWAITED
    return DUE_SOON if warn_on is not None and warn_on <= day else GOOD
