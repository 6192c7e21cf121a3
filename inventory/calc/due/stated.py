"""Until a date that is stated on the thing, or that a record has put off."""

from __future__ import annotations

from datetime import date

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.circumstances import working_life_until
from inventory.calc.due.facts import Event, Schedule
from inventory.calc.due.gives import Candidate, plus_days, until_day
from inventory.calc.due.passed_over import failed_since
from inventory.calc.due.states import LONG_AGO, NEVER_DONE, UNDECIDED, Decision
from inventory.calc.explain import Scalar, Step
from inventory.rules.schema import Row


def until_stated(question: Question, row: Row, schedule: Schedule | None) -> Candidate:
    """Due on the date stated (a working life, a certificate), or on that of an extension."""
    traits = question.traits
    stated, code = question.trait(row.trait), "due_until_stated"
    if row.trait == "working_life_until" and schedule is not None:
        if stated is None:  # nobody has stated it: the default of the rule set is assumed
            code = "due_until_assumed"
        stated = working_life_until(traits, schedule.rules)
    base = add_months(stated, row.months or 0) if isinstance(stated, date) else None
    values: dict[str, Scalar] = {"row": row.id, "trait": row.trait, "note": row.note}
    if (worse := failed_since(question)) is not None:  # what was stated before gives no time
        rule = Step(code, {**values, "until_on": base, **_assumed(code, schedule)}, row.cite)
        failed: dict[str, Scalar] = {"seq": worse.seq, "done_on": worse.on}
        step = Step("due_failed_since", failed, because=(rule,) if base else ())
        decision = Decision(NEVER_DONE, record=worse.record, row=row.id)
        return Candidate(row, decision, lambda: (step,), worse)
    assessed = _assessed(question, row)
    due_on = assessed.valid_until if assessed else base
    if due_on is None:
        step = Step("due_date_not_known", values, row.cite)
        return Candidate(row, Decision(UNDECIDED, row=row.id), lambda: (step,))
    due_on = plus_days(due_on, row.grace_days)
    steps = [Step(code, {**values, "until_on": base, **_assumed(code, schedule)}, row.cite)]
    if assessed is not None:
        steps.append(
            Step(
                "due_extended",
                {"seq": assessed.seq, "done_on": assessed.on, "until_on": assessed.valid_until},
            )
        )
    step = Step("due_on", {"due_on": due_on}, because=tuple(steps))
    return Candidate(row, until_day(row, due_on, assessed), lambda: (step,), assessed)


def _assessed(question: Question, row: Row) -> Event | None:
    """The newest record that says until when it holds: later or sooner than stated, unless the
    description has stated another day since."""
    found = [one for one in question.passes if one.valid_until is not None]
    if not found:
        return None
    return found[-1] if _stated_since(question, row) <= found[-1].on else None


def _stated_since(question: Question, row: Row) -> date:
    """The day since which the description has stated what it states now."""
    since = LONG_AGO
    before: Scalar = None
    for one in question.facts.traits:
        if one.from_on > question.on:
            break
        if one.values.get(row.trait) != before:
            since, before = one.from_on, one.values.get(row.trait)
    return since


def _assumed(code: str, schedule: Schedule | None) -> dict[str, Scalar]:
    if code != "due_until_assumed" or schedule is None:
        return {}
    return {"months": schedule.rules.basis.working_life_months}
