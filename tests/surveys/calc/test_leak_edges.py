"""Where a wrong pass could slip in: odd numbers, exact edges, contradicting statements."""

from __future__ import annotations

import itertools
import math
from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.errors import DomainError
from surveys.calc import leak
from surveys.calc.leak import Counted, Declared, Factor, Limit, Reported, Verdict, judge

FEW = settings(max_examples=300, deadline=None)
LIMIT = Limit(185)
EXCEEDS = Limit(185, "exceeds")
BACKGROUND = ((30, 60),)
CLEAN = Counted(((31, 60),), BACKGROUND, Factor(0.12, 0.06))
CESIUM = {"nuclide": "Cs-137", "most_counts_per_decay": 1.944}
NO_NUMBERS = (math.nan, math.inf, -math.inf)


def verdict(result: leak.Result, limit: Limit | None = LIMIT, **more: Any) -> Verdict:
    return judge(result, limit, **{**CESIUM, **more}).value


def test_offers_its_public_names_in_one_place() -> None:
    assert all(hasattr(leak, name) for name in leak.__all__)
    assert Verdict("pass", "pass").formula_version == leak.FORMULA_VERSION


# --- numbers that are none ------------------------------------------------------------------


@pytest.mark.parametrize("bad", [*NO_NUMBERS, 0.0, -1.0, True])
@pytest.mark.parametrize("name", ["bq", "required_detection_bq", "action_fraction"])
def test_refuses_every_number_of_a_limit(name: str, bad: Any) -> None:
    with pytest.raises(DomainError):
        verdict(CLEAN, replace(LIMIT, **{name: bad}))


@pytest.mark.parametrize("bad", [*NO_NUMBERS, -1.0, True])
@pytest.mark.parametrize("name", ["efficiency", "u_rel", "source_efficiency", "window_cm2"])
@pytest.mark.parametrize("basis", leak.BASES)
def test_refuses_every_number_of_an_efficiency(basis: str, name: str, bad: Any) -> None:
    factor = Factor(0.12, 0.06, basis, source_efficiency=0.5, window_cm2=100)
    with pytest.raises(DomainError):
        verdict(replace(CLEAN, factor=replace(factor, **{name: bad})))


@pytest.mark.parametrize("bad", [*NO_NUMBERS, True, "5"])
@pytest.mark.parametrize("name", [f.name for f in fields(Reported) if f.name != "not_detected"])
def test_refuses_every_number_of_a_report(name: str, bad: Any) -> None:
    with pytest.raises(DomainError):
        verdict(replace(Reported(not_detected=True), **{name: bad}))


@pytest.mark.parametrize("bad", [*NO_NUMBERS, 0.999, True])
def test_refuses_a_ceiling_that_is_none(bad: Any) -> None:
    with pytest.raises(DomainError):
        verdict(CLEAN, most_counts_per_decay=bad)


@pytest.mark.parametrize("name", ["gross", "background"])
def test_refuses_one_bad_count_among_good_ones(name: str) -> None:
    for bad in ((-1, 60), (31, 0), (31, -60), (math.nan, 60), (31, math.nan)):
        with pytest.raises(DomainError):
            verdict(replace(CLEAN, **{name: ((31, 60), bad)}))


@pytest.mark.parametrize(
    "result",
    [
        replace(CLEAN, factor=Factor(1e-305, 0.06)),
        replace(CLEAN, gross=((10**15, 1e-300),)),
        Reported(activity_bq=1.7e308, expanded_uncertainty_bq=1.7e308),
        Reported(activity_bq=-1.7e308, expanded_uncertainty_bq=1.7e308),
        Reported(activity_bq=5, expanded_uncertainty_bq=1e308, coverage_factor=1e-10),
    ],
)
def test_lets_no_infinite_figure_out(result: leak.Result) -> None:
    with pytest.raises(DomainError, match="wipe_out_of_range"):
        verdict(result)


HUGE = st.one_of(st.floats(1e-300, 1e300), st.sampled_from([1e-12, 1e12, 1.0, 185.0]))


@FEW
@given(
    n_g=st.integers(0, 10**15), n_0=st.integers(0, 10**15), t_g=st.floats(1e-9, 366 * 86400),
    t_0=st.floats(1e-9, 366 * 86400), eps=st.floats(1e-300, 1.0), u_rel=st.floats(0, 1e300),
    limit=HUGE, required=st.none() | HUGE, comparator=st.sampled_from(leak.COMPARATORS),
)  # fmt: skip
def test_passes_only_below_the_limit_whatever_the_size(
    n_g: int, n_0: int, t_g: float, t_0: float, eps: float, u_rel: float, limit: float,
    required: float | None, comparator: str,
) -> None:  # fmt: skip
    result = Counted(((n_g, t_g),), ((n_0, t_0),), Factor(eps, u_rel))
    try:
        v = verdict(result, Limit(limit, comparator, required))
    except DomainError as error:
        assert error.code == "wipe_out_of_range"
        return
    figures = [getattr(v, item.name) for item in fields(v)]
    assert all(math.isfinite(value) for value in figures if isinstance(value, float))
    if v.outcome == "pass":
        assert v.activity_bq is not None and v.activity_bq < limit
        assert v.upper_bound_bq is not None and v.upper_bound_bq < limit
        assert v.upper_bound_bq >= 2.9957 / (eps * t_g)
        assert v.detection_limit_bq is not None and v.detection_limit_bq <= limit * (1 + 1e-9)
        assert required is None or v.detection_limit_bq <= required * (1 + 1e-9)
        assert v.z_background is None or v.z_background >= -3


# --- background -----------------------------------------------------------------------------


def test_never_passes_on_a_background_far_above_the_wipe() -> None:
    # From three standard deviations on the background is not the wipe's.
    for n_0 in range(30, 200):
        v = verdict(replace(CLEAN, background=((n_0, 60),)))
        assert v.z_background == pytest.approx((31 - n_0) / math.sqrt(2 * n_0))
        assert (v.outcome == "pass") == (v.z_background >= -3)


def test_keeps_a_negative_activity_and_bounds_it_by_three_counts() -> None:
    v = verdict(replace(CLEAN, gross=((0, 60),), background=((8, 60),)))
    assert v.activity_bq is not None and v.activity_bq < 0
    assert v.upper_bound_bq is not None and v.upper_bound_bq >= 2.9957 / 60 / 0.12


def test_does_not_take_a_short_background_without_counts_for_a_better_one() -> None:
    # No background count subtracts nothing: the activity is the largest that it can be.
    none = verdict(Counted(((900, 60),), ((0, 1),), CLEAN.factor))
    some = verdict(Counted(((900, 60),), ((30, 60),), CLEAN.factor))
    assert none.upper_bound_bq is not None and some.upper_bound_bq is not None
    assert none.upper_bound_bq > some.upper_bound_bq


# --- efficiency at its ceiling --------------------------------------------------------------


@pytest.mark.parametrize("most", [1.0, 1.944, 2.0, 6.0])
@pytest.mark.parametrize(
    "factor",
    [
        Factor(1.0, 0.06),
        Factor(100.0, 0.06, "surface_response", window_cm2=100.0),
        Factor(1.0, 0.06, "per_2pi_emission", source_efficiency=1.0),
    ],
    ids=leak.BASES,
)
def test_takes_an_efficiency_at_the_ceiling_and_none_above(factor: Factor, most: float) -> None:
    def scaled(by: float) -> Factor:
        if factor.basis == "per_2pi_emission":
            return replace(factor, source_efficiency=by)
        return replace(factor, efficiency=factor.efficiency * by)

    at = verdict(replace(CLEAN, factor=scaled(most)), most_counts_per_decay=most)
    assert at.outcome == "pass" and at.efficiency_per_decay == pytest.approx(most)
    with pytest.raises(DomainError, match="efficiency_above_ceiling"):
        verdict(replace(CLEAN, factor=scaled(most * 1.000001)), most_counts_per_decay=most)


def test_refuses_a_source_efficiency_above_the_ceiling_behind_a_small_window() -> None:
    factor = Factor(0.1, 0.06, "per_2pi_emission", source_efficiency=2.0)
    with pytest.raises(DomainError, match="source_efficiency_above_ceiling"):
        verdict(replace(CLEAN, factor=factor))


def test_refuses_a_bad_efficiency_even_where_nothing_else_is_known() -> None:
    bad = Counted((), (), Factor(3.0))
    for more in ({"nuclide": None}, {"gas": True}):
        with pytest.raises(DomainError, match="efficiency_above_ceiling"):
            verdict(bad, None, **more)


# --- exactly at the limit -------------------------------------------------------------------


@pytest.mark.parametrize("limit", [LIMIT, EXCEEDS])
@pytest.mark.parametrize("u_rel", [0.0, 1e-12, 0.05])
def test_never_passes_a_value_at_the_limit(limit: Limit, u_rel: float) -> None:
    # (1140 - 30)/60/0.1 = 185 Bq.
    v = verdict(Counted(((1140, 60),), BACKGROUND, Factor(0.1, u_rel)), limit)
    assert v.outcome == ("fail" if limit is LIMIT else "inconclusive")
    tight = verdict(Reported(activity_bq=185, expanded_uncertainty_bq=1e-12), limit)
    assert tight.outcome == v.outcome
    assert verdict(Reported(activity_bq=185), limit).finding == "fail_provisional"


@pytest.mark.parametrize("limit", [LIMIT, EXCEEDS])
def test_never_passes_an_upper_bound_at_the_limit(limit: Limit) -> None:
    k = 1.6448536269514722
    at = Reported(activity_bq=185 - 10 * k, expanded_uncertainty_bq=20, coverage_factor=2)
    assert verdict(at, limit).finding == "inconclusive_between"
    under = replace(at, activity_bq=185 - 10 * k - 1e-3)
    assert verdict(under, limit).finding == "pass"


def test_takes_a_detection_limit_at_the_required_one() -> None:
    sharp = verdict(CLEAN).detection_limit_bq
    assert sharp is not None
    assert verdict(CLEAN, Limit(185, required_detection_bq=sharp)).finding == "pass"
    below = Limit(185, required_detection_bq=sharp * (1 - 1e-6))
    assert verdict(CLEAN, below).finding == "inconclusive_insensitive"
    stated = Reported(activity_bq=5, expanded_uncertainty_bq=2, detection_limit_bq=sharp)
    assert verdict(stated, Limit(185, required_detection_bq=sharp)).finding == "pass"
    assert verdict(stated, below).finding == "inconclusive_insensitive"


def test_fails_without_the_required_detection_limit_too() -> None:
    # An insensitive test clears nothing and still finds.
    v = verdict(replace(CLEAN, gross=((2400, 60),)), Limit(185, required_detection_bq=1e-6))
    assert v.finding == "fail_confirmed" and v.act_as_on_a_leak


# --- missing or not to be wiped -------------------------------------------------------------


@pytest.mark.parametrize(
    "result",
    [
        CLEAN,
        Reported(activity_bq=5, expanded_uncertainty_bq=2),
        Reported(less_than_bq=1),
        Reported(at_most_bq=1),
        Reported(not_detected=True, laboratory_detection_limit_bq=1),
        Declared(True),
    ],
)
def test_passes_nothing_for_a_gas_or_without_nuclide_or_limit(result: leak.Result) -> None:
    assert verdict(result, gas=True).finding == "not_evaluable_gas"
    assert verdict(result, nuclide=None).finding == "not_evaluable_nuclide"
    assert verdict(result, None).finding == "not_evaluable_limit"
    everything = judge(result, None, nuclide=None, gas=True)
    assert everything.value.finding == "not_evaluable_gas"
    codes = {step.code for top in everything.steps for step in top.walk()}
    assert {"missing_nuclide", "missing_limit"} <= codes
    assert not everything.value.needs_acceptance


def test_passes_no_gas_by_an_efficiency_as_given() -> None:
    v = verdict(CLEAN, nuclide=None, gas=True, efficiency_as_given=True)
    assert v.finding == "not_evaluable_gas" and v.activity_bq is None


def test_believes_no_ceiling_of_an_unknown_nuclide() -> None:
    v = verdict(replace(CLEAN, factor=None), nuclide=None, most_counts_per_decay=6.0)
    known = verdict(replace(CLEAN, factor=None), nuclide=None, most_counts_per_decay=1.0)
    assert v.least_activity_bq == known.least_activity_bq


# --- laboratory statements in odd combinations ----------------------------------------------


@pytest.mark.parametrize("name", ["less_than_bq", "at_most_bq"])
@pytest.mark.parametrize("limit", [LIMIT, EXCEEDS])
def test_lets_no_small_statement_hide_a_large_detection_limit(name: str, limit: Limit) -> None:
    v = verdict(Reported(**{name: 5.0}, detection_limit_bq=185.001), limit)  # type: ignore[arg-type]
    assert v.finding == "inconclusive_insensitive"
    required = replace(limit, required_detection_bq=10)
    v = verdict(Reported(**{name: 5.0}, detection_limit_bq=11), required)  # type: ignore[arg-type]
    assert v.finding == "inconclusive_insensitive"


def test_takes_the_detection_limit_of_the_report_before_the_general_one() -> None:
    bad = Reported(not_detected=True, detection_limit_bq=200, laboratory_detection_limit_bq=10)
    assert verdict(bad).finding == "inconclusive_insensitive"


def test_lets_not_detected_clear_no_stated_activity() -> None:
    stated = Reported(activity_bq=200, not_detected=True, laboratory_detection_limit_bq=10)
    assert verdict(stated).finding == "fail_provisional"
    exact = replace(stated, expanded_uncertainty_bq=1)
    assert verdict(exact).finding == "fail_confirmed"
    # Without an uncertainty there is no bound, whatever limit the laboratory has in general.
    alone = replace(stated, activity_bq=5)
    assert verdict(alone).finding == "inconclusive_declared"


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({"expanded_uncertainty_bq": 1, "not_detected": True}, "uncertainty_without_activity"),
        ({"expanded_uncertainty_bq": 1, "at_most_bq": 5}, "uncertainty_without_activity"),
        ({"expanded_uncertainty_bq": 1}, "reported_no_figure"),
        ({"coverage_factor": 2, "less_than_bq": 5}, "coverage_without_uncertainty"),
        ({"detection_limit_bq": 5}, "reported_no_figure"),
        ({"less_than_bq": 5, "at_most_bq": 5}, "reported_two_figures"),
        ({"activity_bq": 5, "at_most_bq": 300}, "reported_two_figures"),
        ({"less_than_bq": -5}, "number_not_above"),
        ({"at_most_bq": 0}, "number_not_above"),
    ],
)  # fmt: skip
def test_refuses_statements_that_do_not_fit(figures: dict[str, Any], code: str) -> None:
    with pytest.raises(DomainError, match=code):
        verdict(Reported(**figures))


def every_report() -> list[Reported]:
    """Statements below, at and above 185 Bq in every combination that is not refused."""
    around = (None, 20.0, 185.0, 200.0)
    kinds: tuple[dict[str, Any], ...] = (
        *({"activity_bq": y, "expanded_uncertainty_bq": u}
          for y in (-5.0, 20.0, 184.9, 185.0, 200.0) for u in (None, 0.02, 40.0)),
        *({name: x} for name in ("less_than_bq", "at_most_bq") for x in around[1:]),
        {"not_detected": True},
    )  # fmt: skip
    rest = itertools.product(around, around, (None, 20.0, 200.0))
    return [
        Reported(**kind, detection_limit_bq=limit, laboratory_detection_limit_bq=general,
                 decision_threshold_bq=threshold)
        for kind, (limit, general, threshold) in itertools.product(kinds, rest)
    ]  # fmt: skip


@pytest.mark.parametrize(
    "limit", [LIMIT, EXCEEDS, Limit(185, required_detection_bq=100), Limit(185, "exceeds", 100)]
)
def test_passes_a_report_only_on_an_upper_statement_below_the_limit(limit: Limit) -> None:
    passed = 0
    for report in every_report():
        v = verdict(report, limit)
        if v.outcome != "pass":
            continue
        passed += 1
        assert v.upper_bound_bq is not None and v.upper_bound_bq <= limit.bq
        assert report.activity_bq is None or v.upper_bound_bq < limit.bq
        if report.at_most_bq is not None and limit.comparator == "reaches":
            assert report.at_most_bq < limit.bq
        assert v.detection_limit_bq is None or v.detection_limit_bq <= limit.detection_bq
        assert report.activity_bq is None or report.expanded_uncertainty_bq is not None
        assert not v.act_as_on_a_leak and not v.needs_acceptance
    assert passed


@pytest.mark.parametrize("limit", [LIMIT, EXCEEDS])
def test_acts_on_every_stated_activity_over_the_limit(limit: Limit) -> None:
    for report in every_report():
        if report.activity_bq is None or report.activity_bq <= limit.bq:
            continue
        for more in ({}, {"gas": True}, {"nuclide": None}):
            v = verdict(report, limit, **more)
            if report.decision_threshold_bq is None or more:
                assert v.act_as_on_a_leak
            assert v.outcome != "pass"


@pytest.mark.parametrize(
    "figures",
    [
        {"less_than_bq": 20},
        {"at_most_bq": 20},
        {"activity_bq": 5},
        {"activity_bq": 5, "expanded_uncertainty_bq": 2},
        {"activity_bq": 5, "expanded_uncertainty_bq": 2, "detection_limit_bq": 5},
        {"not_detected": True, "laboratory_detection_limit_bq": 10},
    ],
)
def test_does_not_clear_with_a_decision_threshold_above_the_limit(figures: Any) -> None:
    # A detection limit is never below its threshold: one of 200 Bq cannot see 185 Bq.
    v = verdict(Reported(**figures, decision_threshold_bq=200))
    assert v.finding == "inconclusive_insensitive" and not v.needs_acceptance


@pytest.mark.parametrize(
    ("result", "limit"),
    [
        (replace(CLEAN, gross=((10**400, 60),)), LIMIT),
        (replace(CLEAN, gross=((31, 10**400),)), LIMIT),
        (replace(CLEAN, factor=Factor(10**400)), LIMIT),
        (Reported(activity_bq=-(10**400)), LIMIT),
        (CLEAN, Limit(10**400)),
    ],
)
def test_refuses_an_integer_too_long_for_a_float(result: leak.Result, limit: Limit) -> None:
    with pytest.raises(DomainError):
        verdict(result, limit)
