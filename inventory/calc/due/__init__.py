"""What is due: the only rule code, and the only place that assigns a due date.

``decide`` answers for one subject, one requirement and one day. ``spans`` is ``decide`` sampled at
the days on which anything can change, equal neighbours joined: that is what the database stores.
"""

from inventory.calc.due.case import Case, History, Question, evidence_kind
from inventory.calc.due.decide import answer, decide, schedule_step
from inventory.calc.due.facts import (
    Companion,
    Confirmation,
    Event,
    Facts,
    Holder,
    OpenPoint,
    Schedule,
    Setting,
    Traits,
    in_force,
    schedule_on,
)
from inventory.calc.due.passed_over import passed_over
from inventory.calc.due.spans import DecisionSpan, breakpoints, spans
from inventory.calc.due.states import (
    AWAITED,
    DATED,
    DUE_SOON,
    FAILED,
    GOOD,
    LATE,
    LONG_AGO,
    NEVER_DONE,
    NOT_REQUIRED,
    ON_HOLD,
    STORED,
    UNDECIDED,
    URGENCY,
    Decision,
    state_on,
)

__all__ = [
    "AWAITED",
    "DATED",
    "DUE_SOON",
    "FAILED",
    "GOOD",
    "LATE",
    "LONG_AGO",
    "NEVER_DONE",
    "NOT_REQUIRED",
    "ON_HOLD",
    "STORED",
    "UNDECIDED",
    "URGENCY",
    "Case",
    "Companion",
    "Confirmation",
    "Decision",
    "DecisionSpan",
    "Event",
    "Facts",
    "History",
    "Holder",
    "OpenPoint",
    "Question",
    "Schedule",
    "Setting",
    "Traits",
    "answer",
    "breakpoints",
    "decide",
    "evidence_kind",
    "in_force",
    "passed_over",
    "schedule_on",
    "schedule_step",
    "spans",
    "state_on",
]
