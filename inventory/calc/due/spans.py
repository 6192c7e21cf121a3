"""The time line of a requirement: ``decide`` sampled on the days on which anything can change,
equal neighbours joined. That is what the database stores."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.calc.dates import add_months
from inventory.calc.due.case import Case, History, Question
from inventory.calc.due.circumstances import working_life_until
from inventory.calc.due.decide import answer
from inventory.calc.due.facts import Facts, Schedule
from inventory.calc.due.holds import turning_days
from inventory.calc.due.states import LONG_AGO, Decision
from inventory.calc.stays import OPEN_END
from inventory.rules.conditions import by_decay
from inventory.rules.schema import (
    ACCOUNTING,
    ACCUSED_BY,
    BY_DECAY,
    HOLD,
    OF_CONTENTS,
    Bound,
    Row,
    Wanted,
)

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class DecisionSpan:
    """A decision from a day until a day, both included."""

    from_on: date
    until_on: date
    decision: Decision


def spans(facts: Facts, requirement: str, history: History | None = None) -> list[DecisionSpan]:
    """The time line of a requirement: no gaps, from the first possible day to the last.
    ``history``: of the same facts, where several requirements are asked about."""
    case = Case(facts, requirement, history)
    days = _days(case)
    ends = [*(day - ONE_DAY for day in days[1:]), OPEN_END]
    out: list[DecisionSpan] = []
    for day, end in zip(days, ends, strict=True):
        decision = answer(case, day).decision
        if out and out[-1].decision == decision:
            out[-1] = DecisionSpan(out[-1].from_on, end, decision)
        else:
            out.append(DecisionSpan(day, end, decision))
    return out


def breakpoints(facts: Facts, requirement: str) -> list[date]:
    """Every day on which what a requirement says can change, the first possible day included."""
    return _days(Case(facts, requirement))


def _days(case: Case) -> list[date]:
    rows = _rows(case)
    told = _told(case, rows)
    told |= {day for row in rows for day in _by_calendar(case, row) if LONG_AGO < day < OPEN_END}
    days = sorted(told)
    ahead = set(_ahead(case, days, rows))
    return sorted(told | ahead)


def _rows(case: Case) -> list[Row]:
    """Every row that ever had a say."""
    facts = case.facts
    out = [row for one in facts.schedules for row in case.rows_of(one)]
    settings = [*facts.settings, *(s for held in facts.holders.values() for s in held.settings)]
    return [*out, *(one.row for one in settings if one.row.requirement == case.requirement)]


def _told(case: Case, rows: Sequence[Row]) -> set[date]:
    """Days that a record names: of evidence, stays, descriptions, schedules, settings."""
    facts = case.facts
    days = {LONG_AGO}
    for kind in _kinds(case, rows):
        for event in case.history.by_kind.get(kind, ()):
            days.add(event.on)
            days.update(day for day in (event.accepted_on, event.completed_on) if day)
            if kind == case.away_kind and event.valid_until:
                days.add(min(event.valid_until, OPEN_END - ONE_DAY) + ONE_DAY)
    for stay in facts.stays:
        days.add(stay.from_on)
        if stay.until_on < OPEN_END:
            days.add(stay.until_on + ONE_DAY)
    days.update(one.from_on for one in facts.traits)
    days.update(one.from_on for one in facts.schedules)
    days.update(one.on for one in facts.confirmations if one.requirement == case.requirement)
    for point in facts.follow_ups:
        if point.kind in case.accusing:
            days.add(point.opened_on)
            days.update({point.closed_on} - {None})  # type: ignore[arg-type]
    days.update(_of_settings(facts))
    if any(name in OF_CONTENTS for row in rows for name, _wanted in row.when):
        days.update(_of_companions(facts))
    return days


def _kinds(case: Case, rows: Sequence[Row]) -> set[str]:
    """The kinds of record that can change what the requirement says."""
    kinds = {*case.accusing, case.away_kind}
    if any(row.result == HOLD for row in rows):
        kinds |= {ACCOUNTING, *ACCUSED_BY[ACCOUNTING]}
    if any(row.happenings for row in rows):
        kinds.add("happening")
    return kinds | {
        wanted.table
        for row in rows
        for name, wanted in row.when
        if name == "series" and isinstance(wanted, Bound)
    }


def _of_companions(facts: Facts) -> Iterator[date]:
    for other in facts.companions:
        yield from (one.from_on for one in other.traits)
        for stay in other.stays:
            yield stay.from_on
            if stay.until_on < OPEN_END:
                yield stay.until_on + ONE_DAY


def _of_settings(facts: Facts) -> Iterator[date]:
    for held in facts.holders.values():
        yield from (one.from_on for one in held.traits)
    for one in (*facts.settings, *(s for held in facts.holders.values() for s in held.settings)):
        yield one.from_on
        if one.until_on is not None and one.until_on < OPEN_END:
            yield one.until_on + ONE_DAY


def _by_calendar(case: Case, row: Row) -> Iterator[date]:
    """Days that come by the calendar: an age, a time in possession, the end of a working life, a
    reading that is too long ago. The day itself and the one after, for either comparator."""
    for name, wanted in row.when:
        for begin, months in _counted_months(case, name, wanted):
            edge = add_months(begin, months)
            yield from (edge, min(edge, date.max - ONE_DAY) + ONE_DAY)


def _counted_months(case: Case, name: str, wanted: Wanted) -> Iterator[tuple[date, int]]:
    facts = case.facts
    if name == "working_life_past":
        yield from ((until, 0) for until in _working_lives(case))
    if not isinstance(wanted, Bound):
        return
    months = int(wanted.value)
    if name == "age_months":
        for one in facts.traits:
            for trait in ("made_on", "reference_on"):
                begin = one.values.get(trait)
                if isinstance(begin, date):
                    yield (begin, months)
    if name == "kept_months":
        yield from ((begin, months) for begin, _until in case.history.possessions)
    if name == "series":
        read = (*case.history.by_kind.get(wanted.table, ()), *case.own.events)
        yield from ((event.on, months) for event in read)


def _working_lives(case: Case) -> set[date]:
    return {
        until
        for one in case.facts.traits
        for schedule in case.facts.schedules
        if (until := working_life_until(one.values, schedule.rules))
    }


# --- days ahead of the records ---------------------------------------------------------------


def _ahead(case: Case, days: Sequence[date], rows: Sequence[Row]) -> Iterator[date]:
    """Holds that lapse or reach their ceiling, and activities that fall past a level, between two
    days on which something is told."""
    holding = [row for row in rows if row.result == HOLD]
    decaying = any(by_decay(row) for row in rows)
    if not holding and not decaying:
        return
    ends = [*(day - ONE_DAY for day in days[1:]), OPEN_END]
    for day, end in zip(days, ends, strict=True):
        if day < case.history.first_on:
            continue
        for row in holding:
            turned = turning_days(Question(case, day), row)
            yield from (one for one in turned if day < one <= end)
        if decaying:
            yield from _crossings(case, day, end)


def _crossings(case: Case, day: date, end: date) -> Iterator[date]:
    """The first days on which a condition that changes by decay is another than on ``day``."""
    schedule = case.facts.schedule_on(day)
    if schedule is None:
        return
    question = Question(case, day)
    if not question.is_here:
        return
    asked = {
        (name, wanted): None
        for row in question.rows(schedule)
        for name, wanted in row.when
        if name in BY_DECAY
    }
    for name, wanted in asked:
        first = _first_change(question, schedule, (name, wanted), end)
        if first is not None:
            yield first


def _first_change(
    question: Question, schedule: Schedule, condition: tuple[str, Wanted], end: date
) -> date | None:
    """The first day after the one asked about, until an end, on which a condition has changed."""
    begins, changes = question.case.history.first_on, question.case.changes
    key = (id(question.traits), id(schedule.rules), *condition)
    if condition[0] not in OF_CONTENTS and key not in changes:
        known = question.circumstances(schedule, begins).ask(*condition) is not None
        ever = _passed_once(question, schedule, condition, (begins, OPEN_END)) if known else None
        changes[key] = (known, ever)
    once, first = changes.get(key, (False, None))
    if not once:  # others come and go, or an activity of the first day that is no number
        return _passed_once(question, schedule, condition, (question.on, end))
    return first if first is not None and question.on < first <= end else None


def _passed_once(
    question: Question,
    schedule: Schedule,
    condition: tuple[str, Wanted],
    within: tuple[date, date],
) -> date | None:
    """Activities only fall, so within days without a record a level is passed once: bisection. None
    where it is not passed, and where the activity of the first of the days is not known."""
    first, last = within

    def met(offset: int) -> bool | None:
        return question.circumstances(schedule, first + timedelta(days=offset)).ask(*condition)

    now, count = met(0), (last - first).days
    if now is None or met(count) == now:
        return None
    low, high = 0, count
    near = question.circumstances(schedule, first).days_until(*condition)
    if near is not None and 1 < near < count - 1:  # a guess saves most of the halving
        around = (max(0, int(near) - 1), min(count, int(near) + 2))
        if met(around[0]) == now and met(around[1]) != now:
            low, high = around
    offset = bisect_left(range(low, high + 1), True, key=lambda one: met(one) != now)
    return first + timedelta(days=low + offset)
