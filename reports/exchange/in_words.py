"""What came of a file, for the command: sentences for people, data for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.explain import Step
from inventory.sentences import value_text
from reports.exchange.load import Outcome
from reports.exchange.page.say import TABLE, say
from reports.exchange.page.totals import were_written
from reports.exchange.planned import Difference, Plan, RowPlan
from reports.exchange.understood import Question

MOST_NAMED = 5


# ---------------------------------------------------------------- for people


def why_not(plan: Plan) -> Iterator[str]:
    """Questions with their answers, and faults by row."""
    for question in (*plan.understood.questions, *plan.questions):
        if not question.answer:
            yield from _asked(question)
    for one in plan.faulty:
        for fault in one.faults:
            yield _("Row %(row)s: %(why)s") % {"row": one.row.key, "why": say(fault)}


def _asked(question: Question) -> Iterator[str]:
    examples = ", ".join(question.examples[:3])
    yield say(question.text) + (f" ({examples})" if examples else "")
    for option in question.options:
        yield f"  --answer {question.key}={option.value}  {say(option.label)}"


def outcome_text(outcome: Outcome, by: str) -> Iterator[str]:
    """What was loaded or would be, what was left as it is, and what was decided without asking."""
    plan, counts = outcome.plan, outcome.plan.counts
    done = outcome.loaded is not None
    things = were_written(counts) if plan.changes else _("nothing")
    values = {"site": plan.site.name, "things": things, "here": counts["here"]}
    if done:
        yield _("%(site)s: %(things)s added; %(here)s rows were here already.") % values
    else:
        yield _("%(site)s: %(things)s would be added; %(here)s rows are here already.") % values
    if counts["wipes"]:
        yield _(
            "Results with figures are accepted in the name of %(by)s; those that only say "
            "“passed” wait to be accepted."
        ) % {"by": by}
    for question in plan.questions:
        chosen = {option.value: say(option.label) for option in question.options}
        said = chosen.get(question.answer, question.answer)
        yield f"{say(question.text)} {said} (--answer {question.key}=...)"
    for one in plan.rows:
        for difference in one.differences:
            yield f"{one.row.key}: {_difference(difference)}"
    if plan.missing:
        yield _missing(plan)


def _missing(plan: Plan) -> str:
    """Sources of the register that the file does not name: they stay."""
    named = [f"{one.item.label} ({one.item.code})" for one in plan.missing[:MOST_NAMED]]
    if more := len(plan.missing) - len(named):
        named.append(_("and %(n)s more") % {"n": more})
    return _("In the register but not in this file: %(list)s.") % {"list": ", ".join(named)}


def _difference(one: Difference) -> str:
    values = {
        "item": one.thing,
        "field": value_text("field", one.field, TABLE),
        "old": one.old or "–",
        "new": one.new,
    }
    if one.stays:
        said = _("%(item)s, %(field)s: “%(old)s” here, “%(new)s” in the file.") % values
        return f"{said} {say(Step(one.stays))}"
    return _("%(item)s, %(field)s: “%(old)s” becomes “%(new)s”.") % values


# ---------------------------------------------------------------- for programs


def as_data(outcome: Outcome) -> dict[str, Any]:
    """Everything about it as JSON."""
    plan = outcome.plan
    return {
        "site": plan.site.slug,
        "file": plan.understood.book.name,
        "sha256": plan.understood.book.sha256,
        "ready": plan.ready,
        "record": outcome.loaded.seq if outcome.loaded else None,
        "counts": plan.counts,
        "questions": [_question(one) for one in (*plan.understood.questions, *plan.questions)],
        "rows": [_row(one) for one in plan.rows],
        "missing": [
            {"code": one.item.code, "source": one.item.label, "place": one.place}
            for one in plan.missing
        ],
    }


def _question(one: Question) -> dict[str, Any]:
    return {
        "key": one.key,
        "text": say(one.text),
        "options": {option.value: say(option.label) for option in one.options},
        "examples": list(one.examples),
        "answer": one.answer,
    }


def _row(one: RowPlan) -> dict[str, Any]:
    return {
        "row": one.row.key,
        "status": one.status,
        "faults": [say(step) for step in one.faults],
        "writes": [say(step) for step in one.writes],
        "differences": [_difference(difference) for difference in one.differences],
        "notes": [say(step) for step in (*one.row.notes, *one.notes)],
        "open_points": [say(step) for step in one.open_points],
    }
