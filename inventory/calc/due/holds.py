"""On hold while a thing is kept so: as long as somebody has seen it there, up to a ceiling."""

from __future__ import annotations

from datetime import date

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.gives import Candidate, plus_days, until_day
from inventory.calc.due.passed_over import failed_since
from inventory.calc.due.states import LONG_AGO, NEVER_DONE, ON_HOLD, Decision
from inventory.calc.due.stretches import kept_so
from inventory.calc.explain import Scalar, Step
from inventory.calc.stays import MISSING
from inventory.rules.schema import HOLD, Row


def stands(question: Question, row: Row) -> bool:
    """Whether a hold stands: it was put away, or seen there by an accounting check, not too long
    ago, and nothing says since then that it is not there."""
    return row.result != HOLD or question.on <= _seen_until(question, row)


def _seen_until(question: Question, row: Row) -> date:
    """The last day on which the hold stands for the reason that it was seen there."""
    stretch = kept_so(question.facts.stays, question.on)
    if stretch is None or question.stay is None or question.stay.whereabouts == MISSING:
        return LONG_AGO  # also one that is missing with its gauge
    seen = question.case.history.seen
    if seen.unanswered(question.on):
        return LONG_AGO
    last = max([stretch[0], *[one.on for one in seen.clearing(question.on)]])
    return add_months(last, row.seen_months)


def while_kept(question: Question, row: Row) -> Candidate:
    """On hold, or due at the ceiling."""
    passes = question.passes
    last = passes[-1] if passes else None
    seen_until = _seen_until(question, row)
    values: dict[str, Scalar] = {"row": row.id, "until_on": seen_until, "note": row.note}
    rule = Step("due_on_hold", values, row.cite)
    if (worse := failed_since(question)) is not None:  # no storage makes it sound
        values = {"seq": worse.seq, "done_on": worse.on}
        failed = Step("due_failed_since", values, because=(rule,))
        decision = Decision(NEVER_DONE, record=worse.record, row=row.id)
        return Candidate(row, decision, lambda: (failed,), worse)
    if row.ceiling_months is None:
        return Candidate(row, Decision(ON_HOLD, row=row.id), lambda: (rule,))
    if last is None:
        step = Step("due_never_done", {}, because=(rule,))
        return Candidate(row, Decision(NEVER_DONE, row=row.id), lambda: (step,))
    ceiling = add_months(last.on, row.ceiling_months)
    dated = until_day(row, ceiling, last)
    limits: dict[str, Scalar] = {"months": row.ceiling_months, "done_on": last.on}
    grounds = (rule, Step("due_ceiling", {**limits, "due_on": ceiling}, row.cite))
    if dated.warn_on is not None and question.on < dated.warn_on:
        return Candidate(row, Decision(ON_HOLD, row=row.id), lambda: grounds)
    step = Step("due_on", {"due_on": ceiling}, because=grounds)
    return Candidate(row, dated, lambda: (step,), last)


def turning_days(question: Question, row: Row) -> set[date]:
    """Days after the day asked about on which what this row gives can change without a record."""
    days: set[date] = set()
    if row.result == HOLD:
        days.add(plus_days(_seen_until(question, row), 1))
        passes = question.passes
        if passes and row.ceiling_months is not None:
            decision = until_day(row, add_months(passes[-1].on, row.ceiling_months), None)
            days.add(decision.warn_on or LONG_AGO)
    return days
