"""Monitor cover: the days on which nothing in date can measure what has to be measured."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.calc.ahead.needs import ONE_DAY, Span
from inventory.calc.due import DATED, FAILED
from inventory.rules.schema import CALIBRATION

#: First and last day, both included.
Days = tuple[date, date]


@dataclass(frozen=True, slots=True)
class Cover:
    """One thing that monitors can measure: those that can, and the days without any of them."""

    what: str
    monitors: tuple[int, ...]
    gaps: tuple[Days, ...]


def in_date(spans: Iterable[Span], here: Iterable[Days]) -> list[Days]:
    """The days on which a monitor is in date, here and not out of use, from the time lines of what
    is required of it. On its due date it is still good; waiting for a result is no calibration;
    while anything about it failed and is open it is out of use."""
    every = list(spans)
    good = [
        (span.from_on, min(span.until_on, span.due_on))
        for span in every
        if span.requirement == CALIBRATION and span.state == DATED and span.due_on is not None
    ]
    both = [(max(first, begin), min(last, end)) for first, last in good for begin, end in here]
    for span in every:
        if span.state == FAILED:
            both = [left for days in both for left in _without(days, (span.from_on, span.until_on))]
    return sorted(days for days in both if days[0] <= days[1])


def _without(days: Days, gone: Days) -> list[Days]:
    """What is left of a stretch before and after another one."""
    (first, last), (begin, end) = days, gone
    if end < first or last < begin:
        return [days]
    before = [(first, begin - ONE_DAY)] if first < begin else []
    return [*before, *([(end + ONE_DAY, last)] if end < last else [])]


def cover(
    can: Mapping[int, Collection[str]],
    in_date_of: Mapping[int, Sequence[Days]],
    on: date,
    end: date,
) -> list[Cover]:
    """For everything that some monitor can measure, the gaps from ``on`` until the day before
    ``end``. ``can``: what each monitor measures, as codes; ``in_date_of``: as ``in_date``."""
    whats = sorted({what for abilities in can.values() for what in abilities})
    out = []
    for what in whats:
        able = tuple(sorted(monitor for monitor, abilities in can.items() if what in abilities))
        covered = sorted(days for monitor in able for days in in_date_of.get(monitor, ()))
        out.append(Cover(what, able, tuple(_gaps(covered, on, end))))
    return out


def _gaps(covered: Sequence[Days], on: date, end: date) -> list[Days]:
    """What sorted stretches leave uncovered between ``on`` and the day before ``end``."""
    out: list[Days] = []
    start = on  # the first day of which nothing is known to cover it
    for first, last in covered:
        if last < start or first >= end:
            continue
        if first > start:
            out.append((start, first - ONE_DAY))
        if last >= end - ONE_DAY:
            return out
        start = last + ONE_DAY
    if start < end:
        out.append((start, end - ONE_DAY))
    return out
