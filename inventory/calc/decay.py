"""Decay of an activity from one day to another, and the day it falls below a threshold.

A(t) = A_0 2^(-t/T): the law of radioactive decay, with t in whole days and T in days.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from datetime import date, timedelta
from typing import Final

from .errors import DomainError
from .explain import Cite, Explained, Scalar, Step

#: Days in a year of a half-life (tropical year, as the decay data tables use it).
DAYS_PER_YEAR: Final = 365.2422

#: Two activities this close are equal: a threshold that is met is not yet passed.
RELATIVE_EQUALITY: Final = 1e-9


def fraction(elapsed_days: float, half_life_days: float) -> float:
    """What is left of an activity after ``elapsed_days``; above 1 for days before the reference.

    0 once too little is left for a float. Raises DomainError half_life_not_positive, or
    decay_not_finite when the days lie so far back that the result has no number.
    """
    if not (half_life_days > 0 and math.isfinite(half_life_days)):
        raise DomainError("half_life_not_positive", {"half_life_days": half_life_days})
    try:
        return float(2.0 ** (-elapsed_days / half_life_days))
    except OverflowError:
        raise _not_finite(elapsed_days, half_life_days) from None


def _not_finite(elapsed_days: float, half_life_days: float) -> DomainError:
    values = {"elapsed_days": elapsed_days, "half_life_days": half_life_days}
    return DomainError("decay_not_finite", values, field="on")


def activity_on(
    activity_bq: float,
    reference_on: date,
    on: date,
    half_life_days: float,
    half_life_source: str = "",
) -> Explained[float]:
    """The activity in Bq on ``on``, from the one stated for ``reference_on``.

    Whole days between the two dates; a day before the reference date has more. Raises DomainError
    activity_not_finite, half_life_not_positive, decay_not_finite.
    """
    _finite(activity_bq)
    elapsed_days = (on - reference_on).days
    left = fraction(elapsed_days, half_life_days)
    result_bq = activity_bq * left
    if not math.isfinite(result_bq):
        raise _not_finite(elapsed_days, half_life_days)
    values: dict[str, Scalar] = {
        "activity_bq": activity_bq,
        "reference_on": reference_on,
        "on": on,
        "elapsed_days": elapsed_days,
        "fraction": left,
        "result_bq": result_bq,
    }
    return Explained(
        result_bq,
        (Step("decayed", values, because=(_half_life_step(half_life_days, half_life_source),)),),
    )


def first_day_below(
    activity_bq: float,
    reference_on: date,
    below_bq: float,
    half_life_days: float,
    half_life_source: str = "",
) -> Explained[date | None]:
    """The first day, not before the reference date, with an activity strictly below ``below_bq``.

    The reference date + n days, n the smallest whole number for which the activity is below;
    within 1e-9 of it is equal, so not below (a high-activity source "equals or exceeds" its level,
    2013/59/Euratom Art. 4). None when that day is later than 31 December 9999.
    Raises DomainError activity_not_finite, threshold_not_positive, half_life_not_positive.
    """
    _finite(activity_bq)
    if not (below_bq > 0 and math.isfinite(below_bq)):
        raise DomainError("threshold_not_positive", {"threshold": below_bq}, field="until")

    def is_below(days: int) -> bool:
        return strictly_below(activity_bq * fraction(days, half_life_days), below_bq)

    last = (date.max - reference_on).days
    # Bisection, not T log2(A/B): near equality that expression loses the day it should find.
    days = bisect_left(range(last + 1), True, key=is_below)
    first = reference_on + timedelta(days=days) if days <= last else None
    values: dict[str, Scalar] = {
        "activity_bq": activity_bq,
        "reference_on": reference_on,
        "below_bq": below_bq,
        "first_on": first,
    }
    code = "first_day_below" if first else "never_below"
    ground = _half_life_step(half_life_days, half_life_source)
    return Explained(first, (Step(code, values, because=(ground,)),))


def years_until(activity_bq: float, minimum_bq: float, half_life_days: float) -> Explained[float]:
    """Years of 365.2422 d until an activity has come down to ``minimum_bq``; 0 if it has already.

    t = T log2(A/A_min). Raises DomainError activity_not_finite, threshold_not_positive,
    half_life_not_positive.
    """
    _finite(activity_bq)
    if not (minimum_bq > 0 and math.isfinite(minimum_bq)):
        raise DomainError("threshold_not_positive", {"threshold": minimum_bq})
    fraction(0, half_life_days)  # refuses a half-life that is none
    halvings = math.log2(activity_bq / minimum_bq) if activity_bq > minimum_bq else 0.0
    years = halvings * half_life_days / DAYS_PER_YEAR
    values = {"activity_bq": activity_bq, "minimum_bq": minimum_bq, "years": years}
    return Explained(
        years, (Step("years_until", values, because=(_half_life_step(half_life_days, ""),)),)
    )


def strictly_below(value: float, limit: float) -> bool:
    """Whether ``value`` is below ``limit`` and not equal to it within 1e-9."""
    return value < limit and not math.isclose(value, limit, rel_tol=RELATIVE_EQUALITY)


def _finite(activity_bq: float) -> None:
    if not (math.isfinite(activity_bq) and activity_bq >= 0):
        raise DomainError("activity_not_finite", {"number": str(activity_bq)}, field="activity")


def _half_life_step(half_life_days: float, source: str) -> Step:
    cite = Cite(document=source) if source else None
    # As text too: where a decay is checked by hand, three figures are too few.
    values: dict[str, Scalar] = {
        "half_life_days": half_life_days,
        "half_life": f"{half_life_days:.9g} d",
    }
    return Step("half_life", values, cite)
