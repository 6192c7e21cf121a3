"""The next months, month by month: what falls due, and how often what recurs will come again."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.calc.ahead.needs import ONE_DAY, Need, window_end
from inventory.calc.dates import add_months
from inventory.calc.due import NEVER_DONE

Key = tuple[str, int | None]


@dataclass(frozen=True, slots=True)
class Round:
    """What falls due at one place of one kind: each need once, and how many more occurrences are
    to be expected if everything is done on its day."""

    requirement: str
    place: int | None
    needs: tuple[Need, ...] = ()
    projected: int = 0


@dataclass(frozen=True, slots=True)
class Month:
    """The days of a calendar month that lie in the window; without days: what is needed now."""

    first: date | None
    last: date | None
    rounds: tuple[Round, ...]


def months_ahead(needs: Sequence[Need], on: date, months: int = 12) -> list[Month]:
    """What is needed now, then every calendar month from ``on`` on for so many months (the last
    day is not among them), also those in which nothing falls due."""
    end = window_end(on, months)
    parts: dict[date | None, _Part] = defaultdict(_Part)
    for need in needs:
        if need.at_once:
            parts[None].add(need)
        elif need.due_on is not None and on <= need.due_on < end:
            parts[_first(need.due_on)].add(need)
        for day in projected(need, on, end):
            parts[_first(day)].again[need.requirement, need.place] += 1
    return [
        Month(None, None, parts[None].rounds()),
        *(
            Month(max(first, on), min(add_months(first, 1), end) - ONE_DAY, parts[first].rounds())
            for first in _firsts(on, end)
        ),
    ]


class _Part:
    """The needs of a month and how often others come again, by kind of work and place."""

    def __init__(self) -> None:
        self.needs: dict[Key, list[Need]] = defaultdict(list)
        self.again: Counter[Key] = Counter()

    def add(self, need: Need) -> None:
        self.needs[need.requirement, need.place].append(need)

    def rounds(self) -> tuple[Round, ...]:
        keys = sorted({*self.needs, *self.again}, key=lambda key: (key[0], key[1] or 0))
        return tuple(Round(*key, tuple(self.needs.get(key, ())), self.again[key]) for key in keys)


def projected(need: Need, on: date, end: date) -> list[date]:
    """The days before ``end`` on which it falls due again, if it is done on its due date each time,
    and what is late or was never done is done on ``on``. None where no interval is known."""
    if need.interval is None or (need.due_on is None and need.state != NEVER_DONE):
        return []
    out = []
    day, after = on, need.interval.after(max(need.due_on or on, on))
    while day < after < end:
        out.append(after)
        day, after = after, need.interval.after(after)
    return out


def _first(day: date) -> date:
    return day.replace(day=1)


def _firsts(on: date, end: date) -> list[date]:
    """The first day of every calendar month that the window touches."""
    out, first = [], _first(on)
    while first < end:
        out.append(first)
        later = add_months(first, 1)
        if later <= first:  # the end of the calendar
            break
        first = later
    return out
