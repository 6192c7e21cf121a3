"""Years ahead: working lives, certificates and permits that end, levels that decay passes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from inventory.calc.ahead.needs import window_end
from inventory.calc.decay import fraction
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import NuclideData
from inventory.calc.thresholds import Crossing, Threshold, crossings

YEARS = 10


@dataclass(frozen=True, slots=True)
class Ending:
    """A day on which something of an item ends, or falls below a level. ``what`` is a code."""

    on: date
    item: int
    what: str
    level: Threshold | None = None


@dataclass(frozen=True, slots=True)
class Year:
    """What ends in a calendar year; ``number`` None: what had ended before the day asked about."""

    number: int | None
    endings: tuple[Ending, ...]


def by_year(endings: Iterable[Ending], on: date, years: int = YEARS) -> list[Year]:
    """The endings of the next years in order; years in which nothing ends are left out."""
    end = window_end(on, 12 * years)
    coming = sorted(
        (one for one in endings if one.on < end), key=lambda one: (one.on, one.item, one.what)
    )
    return [
        Year(number, tuple(found))
        for number, found in groupby(coming, lambda one: None if one.on < on else one.on.year)
    ]


def levels_ahead(
    stated_bq: float, reference_on: date, nuclide: NuclideData, on: date, years: int = YEARS
) -> list[Crossing]:
    """The levels that a source falls below in the next years. Its activity is that of the reference
    date; one that lies after ``on`` is taken back by decay. None where that gives no number."""
    start, end = min(reference_on, on), window_end(on, 12 * years)
    try:
        before = stated_bq * fraction((start - reference_on).days, nuclide.half_life_days)
        found = crossings(before, start, nuclide)
    except DomainError:  # so far before its reference date that there is no number
        return []
    return [one for one in found if one.first_on is not None and on <= one.first_on < end]
