"""What one row gives on a day: a state and perhaps a date, with the grounds for it.

The only place that assigns a due date.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.circumstances import working_life_until
from inventory.calc.due.facts import Event, Schedule
from inventory.calc.due.states import (
    DATED,
    LONG_AGO,
    NEVER_DONE,
    NOT_REQUIRED,
    ON_HOLD,
    UNDECIDED,
    Decision,
)
from inventory.calc.due.stretches import ONE_DAY, kept_so
from inventory.calc.explain import Scalar, Step
from inventory.calc.stays import OPEN_END
from inventory.rules.schema import ENTRY, HOLD, INTERVAL, NOT_ASKED, UNTIL, Row

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


def candidate(question: Question, row: Row, schedule: Schedule | None) -> Candidate | None:
    """What a row gives, or None where it asks for nothing on that day."""
    match row.result:
        case "interval":
            return _interval(question, row)
        case "entry":
            return _entry(question, row)
        case "until":
            return _until(question, row, schedule)
        case "on_hold":
            return _hold(question, row)
    state = NOT_REQUIRED if row.result == NOT_ASKED else UNDECIDED
    step = Step(f"due_row_{row.result}", {"row": row.id, "note": row.note}, row.cite)
    return Candidate(row, Decision(state, row=row.id), lambda: (step,))


def stands(question: Question, row: Row) -> bool:
    """Whether a hold stands: it was put away, or seen there by an accounting check, not too long
    ago, and nothing says since then that it is not there."""
    return row.result != HOLD or question.on <= _seen_until(question, row)


def _seen_until(question: Question, row: Row) -> date:
    """The last day on which the hold stands for the reason that it was seen there."""
    stretch = kept_so(question.facts.stays, question.on)
    if stretch is None:
        return LONG_AGO
    seen = [event for event in question.case.history.seen if event.on <= question.on]
    last = max([stretch[0], *[one.on for one in seen if one.clears_on(question.on)]])
    against = [event for event in seen if event.tells_against]
    passes = [event.order for event in seen if event.clears_on(question.on)]
    if against and (not passes or against[-1].order > max(passes)):
        return LONG_AGO
    return add_months(last, row.seen_months)


# --- at intervals --------------------------------------------------------------------------


def _rule(row: Row) -> Step:
    values: dict[str, Scalar] = {"row": row.id, "note": row.note}
    if row.days:
        return Step("due_row_interval_days", {**values, "days": row.days}, row.cite)
    return Step("due_row_interval", {**values, "months": row.months}, row.cite)


def _interval(question: Question, row: Row) -> Candidate:
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
    end = _plus(from_on, row.days) if row.days else add_months(from_on, row.months or 0)
    return end if row.ends == "anniversary" else end.replace(month=12, day=31)


def _plus(day: date, days: int | None) -> date:
    return day + timedelta(days=min(days or 0, (date.max - day).days))


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
    capped = min(by_rule, last.valid_until or by_rule)
    return _Counted(last, from_on, by_rule, _plus(capped, row.grace_days))


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
        _until_day(row, counted.due_on, counted.clearing),
        lambda: (
            Step("due_on", {"due_on": counted.due_on}, because=_why_dated(row, counted)),
            *passed_over(question),
        ),
        counted.clearing,
    )


def _until_day(row: Row, due_on: date, event: Event | None) -> Decision:
    lead = min(row.lead_days, (due_on - LONG_AGO).days)
    record = event.record if event else None
    return Decision(DATED, due_on, due_on - timedelta(days=lead), record, row.id)


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
        grounds.append(Step("due_by_days", {**values, "days": row.days}))
    else:
        grounds.append(Step(_month_code(row, counted), {**values, "months": row.months}))
    if clearing.valid_until is not None:
        grounds.append(Step("due_certificate_until", {"until_on": clearing.valid_until}))
    if row.grace_days:
        grounds.append(Step("due_grace", {"days": row.grace_days}, row.cite))
    return tuple(grounds)


def _month_code(row: Row, counted: _Counted) -> str:
    if row.ends != "anniversary":
        return f"due_by_{row.ends}"
    clipped = counted.by_rule.day != counted.from_on.day and counted.by_rule != date.max
    return "due_by_interval_clipped" if clipped else "due_by_interval"


def failed_since(question: Question) -> Event | None:
    """The newest failure or accusation after the last pass, unless it was corrected away. Closing
    its follow-up ends the warning; it does not bring the older pass back."""
    passes = question.passes
    since = [
        event
        for event in question.past
        if event.tells_against and (not passes or event.order > passes[-1].order)
    ]
    return since[-1] if since else None


# --- until a date that stands on the thing ---------------------------------------------------


def _until(question: Question, row: Row, schedule: Schedule | None) -> Candidate:
    traits = question.traits
    stated = traits.get(row.trait)
    if row.trait == "working_life_until" and schedule is not None:
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
    due_on = _plus(due_on, row.grace_days)
    by_record = longer if due_on != base else None
    steps = [Step("due_until_stated", {**values, "until_on": base}, row.cite)]
    if by_record is not None:
        steps.append(
            Step(
                "due_extended",
                {"seq": by_record.seq, "done_on": by_record.on, "until_on": by_record.valid_until},
            )
        )
    step = Step("due_on", {"due_on": due_on}, because=tuple(steps))
    return Candidate(row, _until_day(row, due_on, by_record), lambda: (step,), by_record)


# --- when something begins -------------------------------------------------------------------


def _entry(question: Question, row: Row) -> Candidate | None:
    """A test around a beginning; None where nothing has begun or the test was done."""
    begun = _begun(question, row)
    if begun is None:
        return None
    passes = question.passes
    if row.entry == "happening":
        happened = _happened(question, row)
        assert happened is not None
        done = any(event.order > happened.order for event in passes)
    else:
        done = any(event.on >= _new_enough(question, row, begun) for event in passes)
    if done:
        return None
    due_on = _plus(begun, row.within_days)
    values: dict[str, Scalar] = {"row": row.id, "begun_on": begun, "note": row.note}
    if row.entry == "after_storage":
        values["months"] = row.stored_months
    step = Step(
        "due_on",
        {"due_on": due_on},
        because=(Step(f"due_entry_{row.entry}", values, row.cite), *passed_over(question)),
    )
    return Candidate(row, _until_day(row, due_on, None), lambda: (step,))


def _begun(question: Question, row: Row) -> date | None:
    """The day that calls for a test, on or before the day asked about."""
    on = question.on
    if row.entry == "receipt":
        return question.received_on
    if row.entry == "happening":
        happened = _happened(question, row)
        return happened.on if happened else None
    begins = [begin for begin, _until in question.case.history.in_use if begin <= on]
    received = question.received_on or LONG_AGO
    begins = [begin for begin in begins if begin >= received]
    if row.entry == "first_use":
        return begins[0] if begins else None
    after = [begin for begin in begins if _long_stored(question, row, begin)]
    return after[-1] if after else None


def _long_stored(question: Question, row: Row, begin: date) -> bool:
    """Whether it lay in storage long enough just before it came into use."""
    for put_away, until in question.case.history.stored:
        if until == begin - ONE_DAY:
            edge = add_months(put_away, row.stored_months)
            return begin >= edge if row.stored_comparator == "at_least" else begin > edge
    return False


def _new_enough(question: Question, row: Row, begun: date) -> date:
    """The first day on which a test counts for this beginning."""
    base = begun
    if row.entry == "first_use":
        base = question.received_on or begun
    earlier = add_months(base, -row.fresh_months)
    return earlier - timedelta(days=min(row.fresh_days, (earlier - LONG_AGO).days))


def _happened(question: Question, row: Row) -> Event | None:
    found = [
        event
        for event in question.case.history.by_kind.get("happening", ())
        if event.live and event.what in row.happenings and event.on <= question.on
    ]
    return found[-1] if found else None


# --- while it is kept so ---------------------------------------------------------------------


def _hold(question: Question, row: Row) -> Candidate:
    passes = question.passes
    last = passes[-1] if passes else None
    seen_until = _seen_until(question, row)
    values: dict[str, Scalar] = {"row": row.id, "until_on": seen_until, "note": row.note}
    rule = Step("due_on_hold", values, row.cite)
    if row.ceiling_months is None:
        return Candidate(row, Decision(ON_HOLD, row=row.id), lambda: (rule,))
    if last is None:
        step = Step("due_never_done", {}, because=(rule,))
        return Candidate(row, Decision(NEVER_DONE, row=row.id), lambda: (step,))
    ceiling = add_months(last.on, row.ceiling_months)
    dated = _until_day(row, ceiling, last)
    limits: dict[str, Scalar] = {"months": row.ceiling_months, "done_on": last.on}
    grounds = (rule, Step("due_ceiling", {**limits, "due_on": ceiling}, row.cite))
    if dated.warn_on is not None and question.on < dated.warn_on:
        return Candidate(row, Decision(ON_HOLD, row=row.id), lambda: grounds)
    step = Step("due_on", {"due_on": ceiling}, because=grounds)
    return Candidate(row, dated, lambda: (step,), last)


# --- what satisfied nothing ------------------------------------------------------------------


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


def turning_days(question: Question, row: Row) -> set[date]:
    """Days after the day asked about on which what this row gives can change without a record."""
    days: set[date] = set()
    if row.result == HOLD:
        days.add(_plus(_seen_until(question, row), 1))
        passes = question.passes
        if passes and row.ceiling_months is not None:
            decision = _until_day(row, add_months(passes[-1].on, row.ceiling_months), None)
            days.add(decision.warn_on or LONG_AGO)
    return days


__all__ = [
    "ENTRY",
    "INTERVAL",
    "UNTIL",
    "Candidate",
    "candidate",
    "failed_since",
    "passed_over",
    "stands",
    "turning_days",
]
