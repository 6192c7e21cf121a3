"""Until a date that is stated on the thing, or that a record has put off."""

from __future__ import annotations

from datetime import date

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.circumstances import working_life_until
from inventory.calc.due.facts import Schedule
from inventory.calc.due.gives import Candidate, plus_days, until_day
from inventory.calc.due.states import UNDECIDED, Decision
from inventory.calc.explain import Scalar, Step
from inventory.rules.schema import Row


def until_stated(question: Question, row: Row, schedule: Schedule | None) -> Candidate:
    """Due on the date stated (a working life, a certificate), or on that of an extension."""
    traits = question.traits
    stated, code = traits.get(row.trait), "due_until_stated"
    if row.trait == "working_life_until" and schedule is not None:
        if stated is None:  # nobody has stated it: the default of the rule set is assumed
            code = "due_until_assumed"
        stated = working_life_until(traits, schedule.rules)
    base = add_months(stated, row.months or 0) if isinstance(stated, date) else None
    extended = [one for one in question.passes if one.valid_until is not None]
    longer = extended[-1] if extended else None
    due_on = base
    if longer is not None and longer.valid_until is not None:
        due_on = max(base or longer.valid_until, longer.valid_until)
    values: dict[str, Scalar] = {"row": row.id, "trait": row.trait, "note": row.note}
    if due_on is None:
        step = Step("due_date_not_known", values, row.cite)
        return Candidate(row, Decision(UNDECIDED, row=row.id), lambda: (step,))
    due_on = plus_days(due_on, row.grace_days)
    by_record = longer if due_on != base else None
    steps = [Step(code, {**values, "until_on": base, **_assumed(code, schedule)}, row.cite)]
    if by_record is not None:
        steps.append(
            Step(
                "due_extended",
                {"seq": by_record.seq, "done_on": by_record.on, "until_on": by_record.valid_until},
            )
        )
    step = Step("due_on", {"due_on": due_on}, because=tuple(steps))
    return Candidate(row, until_day(row, due_on, by_record), lambda: (step,), by_record)


def _assumed(code: str, schedule: Schedule | None) -> dict[str, Scalar]:
    if code != "due_until_assumed" or schedule is None:
        return {}
    return {"months": schedule.rules.basis.working_life_months}
