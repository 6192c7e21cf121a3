"""Few counts, where the normal approximation detects too often."""

from __future__ import annotations

import math

from .rates import background_u, net_rate
from .terms import CONFIDENCE, K_ONE_SIDED, LOW_BACKGROUND_COUNTS, Count, Pair


def is_low(background: Count) -> bool:
    """True below 20 background counts: there the threshold y* detects too often. [own]"""
    return background.counts < LOW_BACKGROUND_COUNTS


def stapleton_threshold(background: Count, gross_seconds: float) -> float:
    """Net counts above which something is detected at low counts (d = 0.4, 95 %).

    Net counts are n_g - n_0 t_g/t_0. MARLAP vol. III eq. 20.54 [seen].
    """
    q = gross_seconds / background.seconds
    z = K_ONE_SIDED
    spread = math.sqrt((background.counts + 0.4) * q * (1 + q))
    return 0.4 * (q - 1) + z * z / 4 * (1 + q) + z * spread


def is_detected(pair: Pair) -> bool:
    """y > y*, with the Stapleton threshold in its place at low background counts.

    The weight cancels. MARLAP eq. 20.54 [seen], ISO 11929-1:2019 [mem].
    """
    if is_low(pair.background):
        q = pair.gross.seconds / pair.background.seconds
        net_counts = pair.gross.counts - q * pair.background.counts
        return net_counts > stapleton_threshold(pair.background, pair.gross.seconds)
    return net_rate(pair).value > K_ONE_SIDED * background_u(pair)


def poisson_upper(counts: int, confidence: float = CONFIDENCE) -> float:
    """Exact one-sided upper bound of a Poisson mean (counts): P(N <= counts) = 1 - confidence.

    2.996, 4.744, 6.296, 7.754 for 0 to 3: Gehrels 1986 Table 1 [mem].
    """
    low, high = float(counts), counts + 10 * math.sqrt(counts + 1.0) + 20
    tail = 1 - confidence
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if _poisson_cdf(counts, middle) > tail else (low, middle)
    return (low + high) / 2


def _poisson_cdf(counts: int, mean: float) -> float:
    """P(N <= counts), summed from the largest term downwards; mean >= counts, mean > 0."""
    term = math.exp(counts * math.log(mean) - mean - math.lgamma(counts + 1))
    total = term
    for n in range(counts, 0, -1):
        term *= n / mean
        total += term
        if term < total * 1e-17:
            break
    return total
