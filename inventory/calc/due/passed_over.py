"""Records that satisfy nothing, and failures that stand after the last pass."""

from __future__ import annotations

from datetime import date

from inventory.calc.due.case import Question
from inventory.calc.due.facts import Event
from inventory.calc.explain import Scalar, Step


def failed_since(question: Question) -> Event | None:
    """The newest failure or accusation that no pass came after for certain, unless it was corrected
    away. Closing its follow-up ends the warning; it does not bring the older pass back."""
    since = question.case.own.unanswered(question.on)
    return since[-1] if since else None


def passed_over(question: Question) -> tuple[Step, ...]:
    """Records that satisfy nothing, and why: the newest five, newest first."""
    out = []
    for event in reversed(question.past):
        code = _why_not(event, question.on)
        if code:
            values: dict[str, Scalar] = {
                "seq": event.seq,
                "done_on": event.on,
                "outcome": event.outcome,
                "because": event.unfit_because,
            }
            out.append(Step(code, values))
    return tuple(out[:5])


def _why_not(event: Event, on: date) -> str:
    if event.clears_on(on):
        return ""
    if not event.live:
        return "due_passed_over_replaced"
    if not event.fit:
        return "due_passed_over_unfit"
    if event.outcome != "pass":
        return "due_passed_over_outcome"
    return "due_passed_over_not_accepted"
