"""How long to count, told before anything is counted. Wipe and background count equally long."""

from __future__ import annotations

import math

from .limits import detection_limit
from .terms import K_ONE_SIDED, ZERO_COUNTS_BOUND, Count, Pair, Weight, check_positive


def counting_time(
    target_bq: float, background_rate: float, weight: Weight, k: float = K_ONE_SIDED
) -> float | None:
    """Seconds, for gross and background alike, that bring y# down to ``target_bq``.

    None where k u_rel >= 1: no time will do. ``background_rate`` in 1/s. [own], inversion of y#.
    """
    check_positive(target_bq, "target_bq")
    q = 1 - k * k * weight.u_rel * weight.u_rel
    if q <= 0:
        return None
    rate = target_bq * q / weight.w
    root = k * math.sqrt(2 * background_rate)
    root = (root + math.sqrt(2 * k * k * background_rate + rate * k * k)) / rate
    return root * root


def planning_rate(background: Count) -> float:
    """The background rate (1/s) to plan with: the last one, and where it had no counts what none
    can still hide. A plan that takes no counts for no background promises too much. [own]"""
    if background.counts == 0:
        return ZERO_COUNTS_BOUND / background.seconds
    return background.rate


def planned_detection_limit(background_rate: float, seconds: float, weight: Weight) -> float | None:
    """y# of a wipe and a background of ``seconds`` each (Bq); None where none exists."""
    background = Count(background_rate * seconds, seconds)
    return detection_limit(Pair(Count(0, seconds), background), weight)


def time_to_pass(
    required_bq: float, limit_bq: float, background_rate: float, weight: Weight
) -> float | None:
    """Seconds after which a clean wipe can pass: y# reaches what is required, and the three counts
    that zero counts leave open stay below the limit. None: no time will do. [own]"""
    seconds = counting_time(required_bq, background_rate, weight)
    return None if seconds is None else max(seconds, ZERO_COUNTS_BOUND * weight.w / limit_bq)
