"""A test at intervals: counted from the last pass, or from where the period before it ended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.facts import Event
from inventory.calc.due.gives import Candidate, plus_days, until_day
from inventory.calc.due.passed_over import failed_since, passed_over
from inventory.calc.due.states import NEVER_DONE, Decision
from inventory.calc.due.stretches import ONE_DAY
from inventory.calc.explain import Scalar, Step
from inventory.rules.schema import Row


def _rule(row: Row) -> Step:
    values: dict[str, Scalar] = {"row": row.id, "note": row.note}
    if row.days:
        code = "due_row_every_day" if row.days == 1 else "due_row_interval_days"
        return Step(code, {**values, "days": row.days}, row.cite)
    code = "due_row_every_month" if row.months == 1 else "due_row_interval"
    return Step(code, {**values, "months": row.months}, row.cite)


def at_intervals(question: Question, row: Row) -> Candidate:
    """What an interval gives: never done, or due at its end."""
    passes = question.passes
    worse = failed_since(question)
    if not passes:
        return Candidate(
            row,
            Decision(NEVER_DONE, row=row.id),
            lambda: (Step("due_never_done", {}, because=(_rule(row), *passed_over(question))),),
        )
    if worse is not None:
        values: dict[str, Scalar] = {"seq": worse.seq, "done_on": worse.on}
        return Candidate(
            row,
            Decision(NEVER_DONE, record=worse.record, row=row.id),
            lambda: (
                Step("due_failed_since", values, because=(_rule(row), *passed_over(question))),
            ),
            worse,
        )
    counted = _counted(question, row, passes)
    return _dated(question, row, counted)


@dataclass(frozen=True, slots=True)
class _Counted:
    """An interval counted from a pass: from which day, until when."""

    clearing: Event
    from_on: date
    by_rule: date
    due_on: date


def _end(row: Row, from_on: date) -> date:
    """The end of the interval that begins on a day."""
    if row.ends == "same_year":
        return from_on.replace(month=12, day=31)
    end = plus_days(from_on, row.days) if row.days else add_months(from_on, row.months or 0)
    return end if row.ends == "anniversary" else end.replace(month=12, day=31)


def _counted(question: Question, row: Row, passes: Sequence[Event]) -> _Counted:
    """From the last pass, or from where the period before it ended if the row counts like that:
    testing late then gains nothing."""
    last = passes[-1]
    from_on = last.on
    if row.late_from == "old_due":
        from_on = passes[0].on
        for event in passes[1:]:
            old_due = _end(row, from_on)
            late = event.on > old_due and not _unused(question, row, event.on)
            from_on = old_due if late else event.on
    by_rule = _end(row, from_on)
    due_on = plus_days(by_rule, row.grace_days)
    # A certificate's own last day has no grace: nobody vouches for the days after it.
    return _Counted(last, from_on, by_rule, min(due_on, last.valid_until or due_on))


def _unused(question: Question, row: Row, on: date) -> bool:
    """Whether it lay in storage without a break for longer than the row allows, until a test."""
    if row.unused_months is None:
        return False
    return any(
        begin <= on and on - ONE_DAY <= until and on > add_months(begin, row.unused_months)
        for begin, until in question.case.history.stored
    )


def _dated(question: Question, row: Row, counted: _Counted) -> Candidate:
    return Candidate(
        row,
        until_day(row, counted.due_on, counted.clearing),
        lambda: (
            Step("due_on", {"due_on": counted.due_on}, because=_why_dated(row, counted)),
            *passed_over(question),
        ),
        counted.clearing,
    )


def _why_dated(row: Row, counted: _Counted) -> tuple[Step, ...]:
    clearing, from_on = counted.clearing, counted.from_on
    grounds = [
        _rule(row),
        Step("due_last_pass", {"seq": clearing.seq, "done_on": clearing.on}),
    ]
    if from_on != clearing.on:
        grounds.append(Step("due_from_old_due", {"from_on": from_on}, row.cite))
    values: dict[str, Scalar] = {"done_on": from_on, "by_on": counted.by_rule}
    if row.days:
        code = "due_by_one_day" if row.days == 1 else "due_by_days"
        grounds.append(Step(code, {**values, "days": row.days}))
    else:
        grounds.append(Step(_month_code(row, counted), {**values, "months": row.months}))
    if clearing.valid_until is not None:
        grounds.append(Step("due_certificate_until", {"until_on": clearing.valid_until}))
    if row.grace_days and counted.due_on > counted.by_rule:
        grounds.append(Step("due_grace", {"days": row.grace_days}, row.cite))
    return tuple(grounds)


def _month_code(row: Row, counted: _Counted) -> str:
    if row.ends != "anniversary":
        return f"due_by_{row.ends}"
    clipped = counted.by_rule.day != counted.from_on.day and counted.by_rule != date.max
    if clipped:
        return "due_by_interval_clipped"
    return "due_by_one_month" if row.months == 1 else "due_by_interval"
