"""Counting statistics: from counts and times to net rate, activity, limits and bounds.

Units: counts, seconds, 1/s, Bq; relative uncertainties are standard uncertainties over the value.
Notation of the field: n_g, t_g gross; n_0, t_0 background; r = n/t; w = Bq per net 1/s; k one-sided
95 % quantile. Marks: [seen] read in a copy, [mem] from memory, [own] derived here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist, median

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite, Explained, Step

_NORMAL = NormalDist()

#: One-sided confidence of thresholds, limits and bounds.
CONFIDENCE = 0.95
#: 1.6448536, the one-sided 95 % quantile.
K_ONE_SIDED = _NORMAL.inv_cdf(CONFIDENCE)
#: 2.9957323 counts: the upper bound that no count at all leaves open.
ZERO_COUNTS_BOUND = -math.log(1 - CONFIDENCE)
#: Below this many background counts the normal approximation detects too often (up to 24 %).
LOW_BACKGROUND_COUNTS = 20
#: Net rates this many standard deviations below zero mean a background that does not fit.
BACKGROUND_Z = 3.0

ISO_11929 = Cite("ISO 11929-1", edition="2019", known_by="memory")


@dataclass(frozen=True, slots=True)
class Count:
    """Counts in a counting time (s). Not whole for a ratemeter's equivalent count."""

    counts: float
    seconds: float

    def __post_init__(self) -> None:
        _finite(self.counts, "counts")
        _positive(self.seconds, "seconds")
        if self.counts < 0:
            raise DomainError("counts_negative", {"counts": self.counts}, field="counts")

    @property
    def rate(self) -> float:
        """Count rate in 1/s."""
        return self.counts / self.seconds


@dataclass(frozen=True, slots=True)
class Pair:
    """A gross count and the background that is taken from it."""

    gross: Count
    background: Count


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, both in the value's unit."""

    value: float
    u: float

    @property
    def u_rel(self) -> float:
        """Relative standard uncertainty; the value is not zero."""
        return self.u / abs(self.value)


@dataclass(frozen=True, slots=True)
class Weight:
    """w, the Bq that one net count per second stands for, and its relative uncertainty."""

    w: float
    u_rel: float


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


@dataclass(frozen=True, slots=True)
class ReferenceEfficiency:
    """Counts per decay found with a reference source, and what the source had on that day."""

    efficiency: float
    u_rel: float
    decay_factor: float
    activity_bq: float


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


def _finite(value: float, name: str) -> None:
    if isinstance(value, bool) or not math.isfinite(value):
        raise DomainError("number_not_finite", {"name": name}, field=name)


def _positive(value: float, name: str) -> None:
    _finite(value, name)
    if value <= 0:
        raise DomainError("number_not_positive", {"name": name, "number": value}, field=name)


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
        return _NORMAL.inv_cdf(0.9995) ** 2
    if freedom == 2:
        return -2 * math.log(0.001)
    spread = 2 / (9 * freedom)
    cube: float = (1 - spread + _NORMAL.inv_cdf(0.999) * math.sqrt(spread)) ** 3
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
        _positive(part.value, "factor")
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


def _background_u(pair: Pair) -> float:
    """sqrt(r_0/t_g + r_0/t_0): uncertainty of the net rate if there were no activity (1/s)."""
    r_0 = pair.background.rate
    return math.sqrt(r_0 / pair.gross.seconds + r_0 / pair.background.seconds)


def z_background(pair: Pair) -> float | None:
    """Net rate over its uncertainty without activity; None with no background counts.

    Below -3 the background does not belong to the wipe. [own]
    """
    u = _background_u(pair)
    return net_rate(pair).value / u if u > 0 else None


def decision_threshold(pair: Pair, weight: Weight, k: float = K_ONE_SIDED) -> float:
    """y* = k w sqrt(r_0/t_g + r_0/t_0) (Bq). ISO 11929-1:2019 [mem]."""
    return k * weight.w * _background_u(pair)


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
    return _NORMAL.inv_cdf(min(max(p, 5e-324), 1 - 2**-53))


def _shortest(y: float, u: float, omega: float, gamma: float) -> tuple[float, float]:
    half = _k((1 + omega * (1 - gamma)) / 2) * u
    if y - half < 0:
        # k_q at q = 1 - omega gamma, written as minus the quantile of the small tail.
        return 0.0, y - _k(omega * gamma) * u
    return y - half, y + half


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
    return net_rate(pair).value > K_ONE_SIDED * _background_u(pair)


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


def counting_time(
    target_bq: float, background_rate: float, weight: Weight, k: float = K_ONE_SIDED
) -> float | None:
    """Seconds, for gross and background alike, that bring y# down to ``target_bq``.

    None where k u_rel >= 1: no time will do. ``background_rate`` in 1/s. [own], inversion of y#.
    """
    _positive(target_bq, "target_bq")
    q = 1 - k * k * weight.u_rel * weight.u_rel
    if q <= 0:
        return None
    rate = target_bq * q / weight.w
    root = k * math.sqrt(2 * background_rate)
    root = (root + math.sqrt(2 * k * k * background_rate + rate * k * k)) / rate
    return root * root


def mdc_nureg_1507(background: Count, gross_seconds: float, efficiency: float) -> float:
    """Minimum detectable activity in the NUREG-1507 form (Bq), shown beside y#.

    (3 + 3.29 sqrt(R_b t_s (1 + t_s/t_b)))/(eps t_s): equal times [seen], general form
    (Strom and Stansbury 1992) [mem].
    """
    _positive(efficiency, "efficiency")
    q = gross_seconds / background.seconds
    counts = 3 + 3.29 * math.sqrt(background.rate * gross_seconds * (1 + q))
    return counts / (efficiency * gross_seconds)


def efficiency_from_reference(
    standard: Count, background: Count, reference: Estimate, days: float, half_life_days: float
) -> ReferenceEfficiency:
    """Counts per decay from a reference source of ``reference`` Bq, ``days`` after its date.

    eps = net rate/(A_ref 2^(-days/T)); the uncertainty of A_ref joins in quadrature. [own]
    Raises ``reference_not_above_background``.
    """
    _positive(reference.value, "reference_activity_bq")
    _positive(half_life_days, "half_life_days")
    net = net_rate(Pair(standard, background))
    if net.value <= 0:
        raise DomainError("reference_not_above_background", field="standard_counts")
    decay_factor = math.exp2(-days / half_life_days)
    now = reference.value * decay_factor
    u_rel = math.hypot(net.u_rel, reference.u_rel)
    return ReferenceEfficiency(net.value / now, u_rel, decay_factor, now)


def ratemeter(rate: float, time_constant: float, resolution: float = 0.0) -> Estimate:
    """Reading of an exponential ratemeter and its uncertainty (1/s), resolution included.

    u^2 = r/(2 tau) + d^2/12: Schiff and Evans 1936 [seen abstract], ISO 11929-1 Annex B [mem].
    """
    count = ratemeter_count(rate, time_constant)
    return Estimate(rate, math.sqrt(rate / count.seconds + resolution * resolution / 12))


def ratemeter_count(rate: float, time_constant: float) -> Count:
    """The count that a ratemeter reading stands for: 2 tau seconds. Schiff and Evans 1936."""
    _positive(time_constant, "time_constant")
    return Count(rate * 2 * time_constant, 2 * time_constant)


def settled_fraction(seconds: float, time_constant: float) -> float:
    """How far a ratemeter has come after a wait: 1 - exp(-t/tau); 0.95 at 3 tau."""
    _positive(time_constant, "time_constant")
    return -math.expm1(-seconds / time_constant)


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
