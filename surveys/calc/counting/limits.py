"""Thresholds, detection limits, bounds and the interval for print."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .rates import background_u, net_rate
from .terms import K_ONE_SIDED, NORMAL, ZERO_COUNTS_BOUND, Count, Pair, Weight, check_positive


@dataclass(frozen=True, slots=True)
class Bounds:
    """One-sided 95 % bounds of the activity (Bq).

    ``floor`` says that the three-count floor decided the upper one.
    """

    lower: float
    upper: float
    floor: bool


@dataclass(frozen=True, slots=True)
class BestEstimate:
    """Best estimate and coverage intervals of a value that cannot be negative (value's unit)."""

    omega: float
    best: float
    u_best: float
    symmetric: tuple[float, float]
    shortest: tuple[float, float]


def decision_threshold(pair: Pair, weight: Weight, k: float = K_ONE_SIDED) -> float:
    """y* = k w sqrt(r_0/t_g + r_0/t_0) (Bq). ISO 11929-1:2019 [mem]."""
    return k * weight.w * background_u(pair)


def detection_limit(pair: Pair, weight: Weight, k: float = K_ONE_SIDED) -> float | None:
    """y# = (2 y* + k^2 w/t_g)/(1 - k^2 u_rel^2) (Bq); None where k u_rel >= 1: none exists.

    Closed form for equal errors of y# = y* + k u~(y#). ISO 11929-1:2019 [mem].
    """
    q = 1 - k * k * weight.u_rel * weight.u_rel
    if q <= 0:
        return None
    threshold = decision_threshold(pair, weight, k)
    return (2 * threshold + k * k * weight.w / pair.gross.seconds) / q


def bounds(pair: Pair, weight: Weight, k: float = K_ONE_SIDED) -> Bounds | None:
    """One-sided bounds Lo and Up of the activity (Bq); None where k u_rel >= 1.

    The roots of (v - y)^2 = k^2 u~(v)^2, u~ the uncertainty if v were the true value: the plain
    y + k u(y) passes a source at the limit in up to 14 % of tests, the root in 5 %. Up is never
    below three counts, which zero counts cannot exclude. [own], after ISO 11929-1:2019 [mem].
    """
    kappa = k * k * weight.u_rel * weight.u_rel
    q = 1 - kappa
    if q <= 0:
        return None
    y = weight.w * net_rate(pair).value
    a = k * k * weight.w / pair.gross.seconds
    kv = decision_threshold(pair, weight, k)
    lower, upper = _roots(y, a, kappa, kv * kv)
    floor = ZERO_COUNTS_BOUND * weight.w / pair.gross.seconds
    return Bounds(lower, max(upper, floor), floor > upper)


def _roots(y: float, a: float, kappa: float, kv2: float) -> tuple[float, float]:
    """Roots of q v^2 - S v + (y^2 - k^2 V) = 0, q = 1 - kappa, S = 2y + a.

    The discriminant is multiplied out by hand and the smaller root taken from the product:
    the text-book form loses all digits when the uncertainty is a small part of y.
    """
    q, s = 1 - kappa, 2 * y + a
    root = math.sqrt(max(0.0, 4 * y * a + a * a + 4 * kappa * y * y + 4 * q * kv2))
    if s >= 0:
        upper = (s + root) / (2 * q)
        lower = 2 * (y * y - kv2) / (s + root) if s + root > 0 else 0.0
    else:
        lower = (s - root) / (2 * q)
        upper = 2 * (y * y - kv2) / (s - root)
    return lower, upper


def best_estimate(y: float, u: float, gamma: float = 0.05) -> BestEstimate | None:
    """Mean, standard deviation and 1 - gamma intervals of the normal cut off at zero.

    None for u = 0, or so far below zero that no part of it is left in a float. For print only.
    ISO 11929-1:2019 [mem]; formulas [seen].
    """
    if u <= 0:
        return None
    z = y / u
    # erfc keeps its digits far below zero, where 1 + erf has none left.
    omega = 0.5 * math.erfc(-z / math.sqrt(2))
    if omega < 1e-250:
        return None
    best = y + u * math.exp(-z * z / 2) / (omega * math.sqrt(2 * math.pi))
    u_best = math.sqrt(max(0.0, u * u - (best - y) * best))
    symmetric = (y - _k(omega * (1 - gamma / 2)) * u, y - _k(omega * gamma / 2) * u)
    return BestEstimate(omega, best, u_best, symmetric, _shortest(y, u, omega, gamma))


def _k(p: float) -> float:
    """Quantile of the standard normal at p, clear of the ends 0 and 1 of a float."""
    return NORMAL.inv_cdf(min(max(p, 5e-324), 1 - 2**-53))


def _shortest(y: float, u: float, omega: float, gamma: float) -> tuple[float, float]:
    half = _k((1 + omega * (1 - gamma)) / 2) * u
    if y - half < 0:
        # k_q at q = 1 - omega gamma, written as minus the quantile of the small tail.
        return 0.0, y - _k(omega * gamma) * u
    return y - half, y + half


def mdc_nureg_1507(background: Count, gross_seconds: float, efficiency: float) -> float:
    """Minimum detectable activity in the NUREG-1507 form (Bq), shown beside y#.

    (3 + 3.29 sqrt(R_b t_s (1 + t_s/t_b)))/(eps t_s): equal times [seen], general form
    (Strom and Stansbury 1992) [mem].
    """
    check_positive(efficiency, "efficiency")
    q = gross_seconds / background.seconds
    counts = 3 + 3.29 * math.sqrt(background.rate * gross_seconds * (1 + q))
    return counts / (efficiency * gross_seconds)
