"""The wipe decision once more, slowly: bounds by root finding, limits by iteration.

Written from the rule alone; imports nothing of the shipped arithmetic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from scipy import optimize, stats

K = float(stats.norm.ppf(0.95))
ZERO_COUNTS = float(stats.chi2.ppf(0.95, 2)) / 2


@dataclass(frozen=True)
class Setup:
    """Counts, times (s), efficiency per decay, its relative uncertainty, limit (Bq)."""

    n_g: int
    t_g: float
    n_0: int
    t_0: float
    eps: float
    u_rel: float
    limit: float
    reached_fails: bool = True

    @property
    def y(self) -> float:
        return (self.n_g / self.t_g - self.n_0 / self.t_0) / self.eps

    def variance(self, v: float) -> float:
        """Variance of the measured activity if ``v`` were the true one (ISO 11929-1 [mem])."""
        r_0 = self.n_0 / self.t_0
        rates = (v * self.eps + r_0) / self.t_g + r_0 / self.t_0
        return rates / self.eps**2 + (v * self.u_rel) ** 2

    def y_star(self) -> float:
        return K * math.sqrt(self.variance(0.0))

    def y_sharp(self) -> float | None:
        """Root of v = y* + k u~(v)."""
        if K * self.u_rel >= 1:
            return None
        y_star = self.y_star()
        return _root(lambda v: v - y_star - K * math.sqrt(self.variance(v)), y_star, 1.0)

    def bounds(self) -> tuple[float, float] | None:
        """The two roots of (v - y)^2 = k^2 u~(v)^2, either side of y, with the 3-count floor."""
        if K * self.u_rel >= 1:
            return None

        def f(v: float) -> float:
            return (v - self.y) ** 2 - K**2 * self.variance(v)

        upper, lower = _root(f, self.y, 1.0), _root(f, self.y, -1.0)
        return lower, max(upper, ZERO_COUNTS / (self.eps * self.t_g))


def _root(f: Any, start: float, direction: float) -> float:
    """The root of f on one side of ``start``, where f is not positive yet."""
    step = max(abs(start), 1e-6) * 1e-6
    near, far = start, start + direction * step
    while f(far) <= 0:
        # The nearer end moves along: zero counts have a second root at the start itself.
        step *= 2
        near, far = far, far + direction * step
    return float(optimize.brentq(f, min(near, far), max(near, far), xtol=1e-13, rtol=1e-14))


def finding(s: Setup) -> str:
    """Orders 1 to 6 of the decision rule."""
    r_0 = s.n_0 / s.t_0
    if r_0 > 0 and s.y * s.eps / math.sqrt(r_0 / s.t_g + r_0 / s.t_0) < -3:
        return "inconclusive_background"
    both, sharp = s.bounds(), s.y_sharp()
    hits = s.y >= s.limit if s.reached_fails else s.y > s.limit
    if hits and s.y > s.y_star():
        return "fail_confirmed" if both and both[0] >= s.limit else "fail_provisional"
    if sharp is None or sharp > s.limit:
        return "inconclusive_insensitive"
    assert both is not None
    return "pass" if both[1] < s.limit else "inconclusive_between"
