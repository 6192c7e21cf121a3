"""The levels that an activity falls below as it decays, and the first day of each.

A level that is passed changes nothing by itself: a requirement stays until a named person confirms
the change, the permit goes on, and nothing may be disposed of because of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from .category import BQ_PER_TBQ, CATEGORY_FROM
from .decay import first_day_below, strictly_below
from .explain import Step
from .nuclides import NuclideData

#: Kinds of level: the least A/D of a category (RS-G-1.9, from memory), the exemption activity
#: (2013/59/Euratom Annex VII).
CATEGORY: Final = "category"
EXEMPTION: Final = "exemption"


@dataclass(frozen=True, slots=True)
class Threshold:
    """An activity that something hangs on. ``times_d``: A/D there; ``category``: that above it."""

    kind: str
    bq: float
    source: str
    times_d: float | None = None
    category: int | None = None


@dataclass(frozen=True, slots=True)
class Crossing:
    """The first day with an activity strictly below a threshold; None: not before year 10000."""

    threshold: Threshold
    first_on: date | None


def thresholds(nuclide: NuclideData) -> list[Threshold]:
    """The levels of a nuclide, highest first; what is not known of it gives none."""
    out = []
    if (d_tbq := nuclide.category_d_tbq) is not None:
        out = [
            Threshold(CATEGORY, least * d_tbq * BQ_PER_TBQ, nuclide.d_source, least, number)
            for number, least in CATEGORY_FROM
        ]
    if nuclide.exempt_bq is not None:
        out.append(Threshold(EXEMPTION, nuclide.exempt_bq, nuclide.exempt_source))
    return sorted(out, key=lambda one: -one.bq)


def lacking(nuclide: NuclideData) -> list[Step]:
    """Why a nuclide has no levels of a kind."""
    out = []
    if nuclide.d_unlimited:
        out.append(Step("threshold_d_unlimited", {"nuclide": nuclide.name}))
    elif nuclide.category_d_tbq is None:
        out.append(Step("threshold_d_unknown", {"nuclide": nuclide.name}))
    if nuclide.exempt_bq is None:
        out.append(Step("threshold_exemption_unknown", {"nuclide": nuclide.name}))
    return out


def crossings(activity_bq: float, from_on: date, nuclide: NuclideData) -> list[Crossing]:
    """Every level that an activity of ``from_on`` has not yet fallen below, first one first.

    Raises DomainError as ``first_day_below``.
    """
    return [
        Crossing(one, first_day_below(activity_bq, from_on, one.bq, nuclide.half_life_days).value)
        for one in thresholds(nuclide)
        if not strictly_below(activity_bq, one.bq)
    ]
