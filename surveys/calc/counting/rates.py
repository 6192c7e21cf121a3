"""From counts to a net rate and an activity: pooling, weights, uncertainties."""

from __future__ import annotations

import math
from collections.abc import Iterable

from inventory.calc.errors import DomainError

from .terms import NORMAL, Count, Estimate, Pair, Weight, check_positive


def pooled(counts: Iterable[Count]) -> Count:
    """Several counts of one thing on one counter as one: counts and times are summed.

    Judging the best of several recounts passes a wipe at the limit too often; the sum does not.
    [own], measurement of 13-19 % against 5 %. Raises ``counts_missing`` for none.
    """
    every = tuple(counts)
    if not every:
        raise DomainError("counts_missing", field="counts")
    return Count(sum(c.counts for c in every), math.fsum(c.seconds for c in every))


def agree(counts: Iterable[Count]) -> bool:
    """Whether counts of the same thing agree within chance.

    Chi-squared homogeneity of Poisson counts, sum (n - r t)^2 / (r t) with the pooled rate r,
    against its 99.9 % quantile: one good series in a thousand is called differing [own].
    """
    found = tuple(counts)
    if len(found) < 2:
        return True
    rate = pooled(found).rate
    if rate == 0:
        return True
    chi2 = sum((one.counts - rate * one.seconds) ** 2 / (rate * one.seconds) for one in found)
    return bool(chi2 <= _chi2_999(len(found) - 1))


def _chi2_999(freedom: int) -> float:
    """The 99.9 % quantile of chi-squared: exact for one and two degrees of freedom, else by the
    cube of Wilson and Hilferty (Proc. Natl Acad. Sci. 17 (1931) 684 [mem]), within 2 %."""
    if freedom == 1:
        return NORMAL.inv_cdf(0.9995) ** 2
    if freedom == 2:
        return -2 * math.log(0.001)
    spread = 2 / (9 * freedom)
    cube: float = (1 - spread + NORMAL.inv_cdf(0.999) * math.sqrt(spread)) ** 3
    return freedom * cube


def net_rate(pair: Pair) -> Estimate:
    """Net count rate and its standard uncertainty (1/s), negative values kept.

    r_n = n_g/t_g - n_0/t_0; u^2 = n_g/t_g^2 + n_0/t_0^2: Poisson, ISO 11929-1:2019 cl. 6 [mem].
    """
    gross, background = pair.gross, pair.background
    u = math.sqrt(gross.rate / gross.seconds + background.rate / background.seconds)
    return Estimate(gross.rate - background.rate, u)


def weight(parts: Iterable[Estimate]) -> Weight:
    """w = 1/product of the parts (efficiency, yield ...), relative uncertainties in quadrature.

    GUM; ISO 11929:2010 example 1(a) [seen]. Parts are positive.
    """
    every = tuple(parts)
    for part in every:
        check_positive(part.value, "factor")
    product = math.prod(part.value for part in every)
    return Weight(1 / product, math.sqrt(math.fsum(p.u_rel * p.u_rel for p in every)))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known within +- half_width: half_width/sqrt(3). GUM."""
    return half_width / math.sqrt(3)


def activity(pair: Pair, weight: Weight) -> Estimate:
    """Activity y = w r_n and u(y)^2 = w^2 u(r_n)^2 + y^2 u_rel(w)^2 (Bq).

    ISO 11929-1:2019 cl. 6 [mem]; ISO 11929:2010 example 1(a) reproduced [seen].
    """
    net = net_rate(pair)
    y = weight.w * net.value
    return Estimate(y, math.hypot(weight.w * net.u, y * weight.u_rel))


def background_u(pair: Pair) -> float:
    """sqrt(r_0/t_g + r_0/t_0): uncertainty of the net rate if there were no activity (1/s)."""
    r_0 = pair.background.rate
    return math.sqrt(r_0 / pair.gross.seconds + r_0 / pair.background.seconds)


def z_background(pair: Pair) -> float | None:
    """Net rate over its uncertainty without activity; None with no background counts.

    Below -3 the background does not belong to the wipe. [own]
    """
    u = background_u(pair)
    return net_rate(pair).value / u if u > 0 else None
