"""Does one background suit all the wipes that were counted with it?"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from inventory.calc.explain import Cite, Explained, Step

from .terms import BACKGROUND_Z, ZERO_COUNTS_BOUND, Count


@dataclass(frozen=True, slots=True)
class BatchCheck:
    """Does one background suit a batch of wipes?

    ``state`` is ``agrees``, ``reads_high``, ``reads_low`` or ``not_tested`` (fewer than 5 wipes).
    Rates in 1/s, time in s.
    """

    state: str
    wipes: int
    median_net_rate_per_s: float | None
    allowed_net_rate_per_s: float | None
    long_background_seconds: float


def batch_check(wipes: Iterable[Count], background: Count) -> Explained[BatchCheck]:
    """Do the wipes of one session, taken together, agree with their one background?

    One low background makes a whole batch look active (45 % of clean batches of 30 show a
    detection after a 60 s background of 30 counts). High or low when |median net rate| >
    3 sqrt(r_0/t_0 + r_0/(n t_g)), from 5 wipes on; n t_g is the sum of the times. Ten times the
    longest wipe's time keeps the background's share of u(r_n) at 5 %. [own]
    """
    every = tuple(wipes)
    long_seconds = 10 * max((wipe.seconds for wipe in every), default=0.0)
    middle = median([w.rate for w in every]) - background.rate if every else None
    allowed, state = None, "not_tested"
    if len(every) >= 5 and middle is not None:
        allowed, state = _allowed_median(every, background), "agrees"
        if abs(middle) > allowed:
            state = "reads_high" if middle > 0 else "reads_low"
    check = BatchCheck(state, len(every), middle, allowed, long_seconds)
    return Explained(check, (_batch_step(check, background),))


def _allowed_median(wipes: tuple[Count, ...], background: Count) -> float:
    """3 sqrt(r_0/t_0 + r_0/(n t_g)); with no background count, what none can still hide."""
    if background.counts == 0:
        return ZERO_COUNTS_BOUND / background.seconds
    r_0, total = background.rate, math.fsum(wipe.seconds for wipe in wipes)
    return BACKGROUND_Z * math.sqrt(r_0 / background.seconds + r_0 / total)


def _batch_step(check: BatchCheck, background: Count) -> Step:
    values = {
        "wipes": check.wipes,
        "median_net_rate_per_s": check.median_net_rate_per_s,
        "allowed_net_rate_per_s": check.allowed_net_rate_per_s,
        "background_counts": background.counts,
        "background_seconds": background.seconds,
        "long_background_seconds": check.long_background_seconds,
    }
    return Step(f"batch_{check.state}", values, Cite("counting-session rule", known_by="own"))
