"""A test around a beginning: first use, use after storage, receipt, damage."""

from __future__ import annotations

from datetime import date, timedelta

from inventory.calc.dates import add_months
from inventory.calc.due.case import Question
from inventory.calc.due.facts import Event
from inventory.calc.due.gives import Candidate, plus_days, until_day
from inventory.calc.due.passed_over import passed_over
from inventory.calc.due.states import LONG_AGO
from inventory.calc.explain import Scalar, Step
from inventory.rules.schema import Row


def at_beginning(question: Question, row: Row) -> Candidate | None:
    """A test around a beginning; None where nothing has begun or the test was done."""
    begun = _begun(question, row)
    if begun is None:
        return None
    if row.entry == "happening":
        happened = _happened(question, row)
        assert happened is not None
        done = _answered(question, happened)
    else:
        done = _tested(question, row, begun)
    if done:
        return None
    due_on = plus_days(begun, row.within_days)
    values: dict[str, Scalar] = {"row": row.id, "begun_on": begun, "note": row.note}
    if row.entry == "after_storage":
        values["months"] = row.stored_months
    step = Step(
        "due_on",
        {"due_on": due_on},
        because=(Step(f"due_entry_{row.entry}", values, row.cite), *passed_over(question)),
    )
    return Candidate(row, until_day(row, due_on, None), lambda: (step,))


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
    untested = [begin for begin in after if not _tested(question, row, begin)]
    return next(iter(untested or after[-1:]), None)


def _long_stored(question: Question, row: Row, begin: date) -> bool:
    """Whether it lay in storage long enough before it came into use, with no use in between: a day
    on standby or packed on the way out of the store is none."""
    used = [until for since, until in question.case.history.in_use if since < begin]
    for put_away, until in question.case.history.stored:
        if until < begin and not any(put_away <= one for one in used):
            edge = add_months(put_away, row.stored_months)
            if begin >= edge if row.stored_comparator == "at_least" else begin > edge:
                return True
    return False


def _tested(question: Question, row: Row, begun: date) -> bool:
    return any(event.on >= _new_enough(question, row, begun) for event in question.passes)


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
    # The oldest that nobody has answered: another one since gives no more time.
    open_still = [event for event in found if not _answered(question, event)]
    return next(iter(open_still or found[-1:]), None)


def _answered(question: Question, happened: Event) -> bool:
    return any(event.surely_after(happened) for event in question.passes)
