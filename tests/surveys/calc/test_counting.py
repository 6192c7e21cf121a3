"""Counting statistics against independent arithmetic and the properties that they must have."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from uncertainties import ufloat

from inventory.calc.errors import DomainError
from surveys.calc import counting
from surveys.calc.counting import Count, Estimate, Pair, Weight

FEW = settings(max_examples=80, deadline=None)
PAIRS = st.builds(
    lambda n, t, b, tb: Pair(Count(n, t), Count(b, tb)),
    st.integers(0, 10**6),
    st.floats(1, 1e4),
    st.integers(0, 10**5),
    st.floats(1, 1e5),
)
WEIGHTS = st.builds(Weight, st.floats(0.3, 1e3), st.floats(0, 0.55))


def test_pools_counts_and_times() -> None:
    assert counting.pooled([Count(10, 60), Count(20, 120)]) == Count(30, 180)


def test_refuses_to_pool_nothing() -> None:
    with pytest.raises(DomainError, match="counts_missing"):
        counting.pooled([])


@pytest.mark.parametrize("seconds", [0, -1, math.nan, math.inf])
def test_refuses_a_time_that_is_none(seconds: float) -> None:
    with pytest.raises(DomainError):
        Count(1, seconds)


@pytest.mark.parametrize("counts", [-1, math.nan, math.inf])
def test_refuses_counts_below_zero(counts: float) -> None:
    with pytest.raises(DomainError):
        Count(counts, 1)


@FEW
@given(PAIRS, WEIGHTS)
def test_propagates_as_the_general_method_does(pair: Pair, weight: Weight) -> None:
    # GUM propagation by another package; w = 1/eps has the relative uncertainty of eps.
    assume(pair.gross.counts and pair.background.counts and weight.u_rel > 1e-9)
    gross = ufloat(pair.gross.counts, math.sqrt(pair.gross.counts)) / pair.gross.seconds
    blank = ufloat(pair.background.counts, math.sqrt(pair.background.counts))
    other = ufloat(weight.w, weight.w * weight.u_rel) * (gross - blank / pair.background.seconds)
    y = counting.activity(pair, weight)
    assert y.value == pytest.approx(other.nominal_value, rel=1e-9, abs=1e-9)
    assert y.u == pytest.approx(other.std_dev, rel=1e-9, abs=1e-9)


@FEW
@given(PAIRS, WEIGHTS)
def test_has_a_detection_limit_that_solves_its_equation(pair: Pair, weight: Weight) -> None:
    sharp = counting.detection_limit(pair, weight)
    assert sharp is not None
    r_0 = pair.background.rate
    rates = (sharp / weight.w + r_0) / pair.gross.seconds + r_0 / pair.background.seconds
    u = math.sqrt(weight.w**2 * rates + (sharp * weight.u_rel) ** 2)
    star = counting.decision_threshold(pair, weight)
    assert sharp == pytest.approx(star + counting.K_ONE_SIDED * u, rel=1e-9)


@FEW
@given(PAIRS, WEIGHTS)
def test_orders_the_bounds_about_the_value(pair: Pair, weight: Weight) -> None:
    both, y = counting.bounds(pair, weight), counting.activity(pair, weight).value
    assert both is not None
    slack = 1e-9 * max(abs(y), both.upper)
    assert both.lower - slack <= y <= both.upper + slack
    assert both.upper >= counting.ZERO_COUNTS_BOUND * weight.w / pair.gross.seconds


@FEW
@given(PAIRS, WEIGHTS, st.floats(1e-3, 1e3))
def test_scales_every_activity_with_the_weight(pair: Pair, weight: Weight, by: float) -> None:
    scaled = Weight(weight.w * by, weight.u_rel)
    one, other = counting.bounds(pair, weight), counting.bounds(pair, scaled)
    assert one is not None and other is not None
    assert other.upper == pytest.approx(one.upper * by, rel=1e-9)
    assert other.lower == pytest.approx(one.lower * by, rel=1e-6, abs=1e-9 * one.upper * by)


def test_has_no_limits_when_the_efficiency_is_unknown_by_61_percent() -> None:
    # k u_rel >= 1 from u_rel = 0.608 on: measurement rule 1.3 [mem ISO 11929].
    pair = Pair(Count(100, 60), Count(30, 60))
    assert counting.detection_limit(pair, Weight(8, 0.609)) is None
    assert counting.bounds(pair, Weight(8, 0.609)) is None
    assert counting.counting_time(185, 0.5, Weight(8, 0.609)) is None
    assert counting.detection_limit(pair, Weight(8, 0.607)) is not None


def test_meets_the_detection_limit_where_the_value_is_at_the_threshold() -> None:
    # At y = y* the upper bound equals y#.
    n_0, t = 100, 60.0
    n_g = n_0 + counting.K_ONE_SIDED * math.sqrt(2 * n_0)
    pair, w = Pair(Count(n_g, t), Count(n_0, t)), Weight(8, 0.1)
    both = counting.bounds(pair, w)
    assert both is not None
    assert both.upper == pytest.approx(counting.detection_limit(pair, w), rel=1e-12)


@pytest.mark.parametrize("z", [-30, -6, -1, -0.1, 0, 0.5, 2, 6, 40])
@pytest.mark.parametrize("gamma", [0.05, 0.1])
def test_estimates_as_the_truncated_normal_does(z: float, gamma: float) -> None:
    u = 2.5
    other = stats.truncnorm(-z, math.inf, z * u, u)
    best = counting.best_estimate(z * u, u, gamma)
    assert best is not None
    # The library's own moments lose digits far below zero.
    rel = 1e-6 if z > -10 else 1e-2
    assert best.best == pytest.approx(other.mean(), rel=rel)
    if z > -10:
        assert best.u_best == pytest.approx(other.std(), rel=1e-5)
        assert best.symmetric == pytest.approx(
            (other.ppf(gamma / 2), other.isf(gamma / 2)), rel=1e-5, abs=1e-9
        )
    width = best.shortest[1] - best.shortest[0]
    assert width <= best.symmetric[1] - best.symmetric[0] + 1e-9 * u


def test_has_no_interval_without_an_uncertainty_or_far_below_zero() -> None:
    assert counting.best_estimate(0.0, 0.0) is None
    assert counting.best_estimate(-100.0, 1.0) is None


@pytest.mark.parametrize("n", [0, 1, 2, 3, 10, 40, 1000, 10**5])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_bounds_a_poisson_mean_exactly(n: int, confidence: float) -> None:
    # chi2(conf; 2n + 2)/2: Gehrels 1986 [mem].
    other = stats.chi2.ppf(confidence, 2 * n + 2) / 2
    assert counting.poisson_upper(n, confidence) == pytest.approx(other, rel=1e-9)


def test_leaves_three_counts_open_with_no_count() -> None:
    assert pytest.approx(2.9957323, abs=1e-7) == counting.ZERO_COUNTS_BOUND
    assert counting.poisson_upper(0) == pytest.approx(counting.ZERO_COUNTS_BOUND, rel=1e-12)


def test_takes_the_low_count_threshold_below_twenty_background_counts() -> None:
    assert counting.is_low(Count(19, 60)) and not counting.is_low(Count(20, 60))
    # 5 background counts: y* lies at 5.2 net counts, the low-count threshold at 6.8.
    pair = Pair(Count(11, 60), Count(5, 60))
    assert counting.activity(pair, Weight(1, 0)).value > counting.decision_threshold(
        pair, Weight(1, 0)
    )
    assert not counting.is_detected(pair)
    assert counting.is_detected(Pair(Count(12, 60), Count(5, 60)))


@pytest.mark.parametrize("mean", [0.5, 2, 4, 10, 18])
def test_keeps_false_alarms_near_five_percent_at_low_counts(mean: float) -> None:
    # 24 % with y* at a mean of 0.5, at most 5.1 % with Stapleton: exact sums, rule 1.4 [own].
    alarms = 0.0
    for n_0 in range(60):
        pair = Pair(Count(0, 1), Count(n_0, 1))
        cut = math.floor(n_0 + counting.stapleton_threshold(pair.background, 1))
        alarms += stats.poisson.pmf(n_0, mean) * stats.poisson.sf(cut, mean)
    assert alarms <= 0.0515


@FEW
@given(st.floats(0, 100), st.floats(0.3, 1e3), st.floats(0, 0.5), st.floats(1, 1e4))
def test_counts_long_enough_for_the_detection_limit(
    r_0: float, w: float, u_rel: float, target: float
) -> None:
    seconds = counting.counting_time(target, r_0, Weight(w, u_rel))
    assert seconds is not None
    pair = Pair(Count(0, seconds), Count(r_0 * seconds, seconds))
    assert counting.detection_limit(pair, Weight(w, u_rel)) == pytest.approx(target, rel=1e-8)


def test_adds_an_efficiency_in_quadrature() -> None:
    w = counting.weight([Estimate(0.5, 0.03), Estimate(0.4, 0.032)])
    assert w == Weight(5.0, pytest.approx(0.1))


def test_refuses_a_reference_source_below_background() -> None:
    with pytest.raises(DomainError, match="reference_not_above_background"):
        counting.efficiency_from_reference(
            Count(10, 60), Count(10, 60), Estimate(3700, 92), days=0, half_life_days=10976
        )


# --- one background for a batch: rule 1.7 [own] ---------------------------------------------


def batch(counts: list[int], background: Count) -> str:
    return counting.batch_check([Count(n, 60) for n in counts], background).value.state


def test_says_when_a_batch_reads_high_or_low() -> None:
    # Allowed |median|: 3 sqrt(0.5/60 + 0.5/(10 x 60)) = 0.287 1/s, that is 17.2 counts in 60 s.
    assert batch([48] * 10, Count(30, 60)) == "reads_high"
    assert batch([47] * 10, Count(30, 60)) == "agrees"
    assert batch([12] * 10, Count(30, 60)) == "reads_low"
    assert batch([13] * 10, Count(30, 60)) == "agrees"


def test_tests_a_batch_from_five_wipes_on() -> None:
    assert batch([300] * 4, Count(30, 60)) == "not_tested"
    assert batch([300] * 5, Count(30, 60)) == "reads_high"
    assert batch([], Count(30, 60)) == "not_tested"


def test_lets_one_hot_wipe_pass_for_what_it_is() -> None:
    assert batch([30, 31, 29, 30, 5000], Count(30, 60)) == "agrees"


def test_tests_a_batch_against_a_background_of_no_counts() -> None:
    assert batch([2] * 5, Count(0, 60)) == "agrees"
    assert batch([5] * 5, Count(0, 60)) == "reads_high"
