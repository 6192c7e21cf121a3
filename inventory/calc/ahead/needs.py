"""What each requirement asks for next, read from its time line from a day on.

The time line already holds what will change without a record: a hold that lapses, a source that
turns too old. So the next day is that of the first span, from the day asked about on, in which
something must be done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from inventory.calc.dates import add_months
from inventory.calc.due import (
    AWAITED,
    DATED,
    FAILED,
    LATE,
    NEVER_DONE,
    UNDECIDED,
    URGENCY,
    state_on,
)

ONE_DAY = timedelta(days=1)
#: States that ask for something without naming a day.
UNDATED = (FAILED, NEVER_DONE, UNDECIDED, AWAITED)


@dataclass(frozen=True, slots=True)
class Span:
    """What a requirement of an item says from a day until a day, both included; ``row`` is that
    of the schedule, ``key`` whatever the caller knows the span by."""

    item: int
    requirement: str
    state: str
    from_on: date
    until_on: date
    due_on: date | None = None
    warn_on: date | None = None
    row: str = ""
    key: int = 0


@dataclass(frozen=True, slots=True)
class Interval:
    """How long what was done is good for: calendar months or days, then the days of grace."""

    months: int = 0
    days: int = 0
    grace_days: int = 0
    to_year_end: bool = False

    def after(self, due_on: date) -> date:
        """The next due date of what is done in time. Whoever plans does not live on grace: done
        in time is on the due date before the days of grace."""
        done_on = _plus(due_on, -self.grace_days)
        end = _plus(done_on, self.days) if self.days else add_months(done_on, self.months)
        return _plus(end.replace(month=12, day=31) if self.to_year_end else end, self.grace_days)


def _plus(day: date, days: int) -> date:
    return date.fromordinal(min(max(day.toordinal() + days, 1), date.max.toordinal()))


@dataclass(frozen=True, slots=True)
class Need:
    """What a requirement of an item asks for next. ``due_on`` is the last day on which it is still
    good, None where there is no such day; ``now``: a person must look at it today already."""

    item: int
    requirement: str
    state: str
    due_on: date | None
    at_once: bool = False
    place: int | None = None
    interval: Interval | None = None
    key: int = 0


def window_end(on: date, months: int = 12) -> date:
    """The first day that no longer belongs to so many months from a day on."""
    return add_months(on, months)


def needs(
    spans: Iterable[Span],
    on: date,
    *,
    places: Mapping[int, int | None] | None = None,
    interval_of: Callable[[Span], Interval | None] = lambda span: None,
) -> list[Need]:
    """The next need of each requirement of each item, the most pressing first.

    ``spans``: of any number of items, those that have not ended before ``on``; ``places``: where
    an item is; ``interval_of``: that of the row which a span names. What asks for nothing has no
    need.
    """
    where = places or {}
    ordered = sorted(spans, key=lambda one: (one.item, one.requirement, one.from_on))
    found = [
        _first(of_one, on)
        for _key, of_one in groupby(ordered, lambda one: (one.item, one.requirement))
    ]
    out = [
        replace(need, place=where.get(need.item), interval=interval_of(span))
        for span, need in (one for one in found if one is not None)
    ]
    return sorted(out, key=_order)


def _order(need: Need) -> tuple[bool, int, date, str, int]:
    urgency = URGENCY.index(need.state) if need.at_once else 0
    return (not need.at_once, urgency, need.due_on or date.min, need.requirement, need.item)


def _first(spans: Iterable[Span], on: date) -> tuple[Span, Need] | None:
    """The first span, from a day on, that asks for something, and for what."""
    for span in spans:
        need = _need(span, on)
        if need is not None:
            return span, need
    return None


def _need(span: Span, on: date) -> Need | None:
    """What one span asks for; None where it asks for nothing, or ends before that day comes."""
    begins = max(span.from_on, on)
    if span.until_on < begins:
        return None
    state = state_on(span.state, span.due_on, span.warn_on, begins)
    pressing = state == LATE or (state in UNDATED and span.due_on is None)
    if not pressing and not _falls_due_in(span):
        return None
    due_on = span.due_on
    if pressing and begins > on:  # what begins like this was good until the day before
        due_on = begins - ONE_DAY
    now = pressing and begins == on
    return Need(span.item, span.requirement, state, due_on, now, key=span.key)


def _falls_due_in(span: Span) -> bool:
    """Whether its day comes while it still says so; else the next span has the word."""
    dated = span.state in (DATED, AWAITED)
    return dated and span.due_on is not None and span.due_on <= span.until_on
