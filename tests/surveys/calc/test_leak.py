"""The verdict of a wipe test, order by order, written from the rule (own, JCGM 106 [mem])."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inventory.calc.errors import DomainError
from surveys.calc.leak import (
    Counted,
    Declared,
    Factor,
    Limit,
    Reported,
    Verdict,
    judge,
    outcome_of,
    verdict_from_data,
    verdict_to_data,
)
from tests.oracle import leak_by_roots
from tests.oracle.leak_by_roots import Setup

FEW = settings(max_examples=150, deadline=None)
LIMIT = Limit(185)
EXCEEDS = Limit(185, "exceeds")
FACTOR = Factor(0.12, 0.06)
BACKGROUND = ((30, 60),)


def counted(
    gross: int = 31, factor: Factor | None = FACTOR, limit: Limit | None = LIMIT, **more: Any
) -> Verdict:
    """A wipe of 60 s against 30 background counts in 60 s."""
    more = {"nuclide": "Cs-137", "most_counts_per_decay": 1.944, **more}
    return judge(Counted(((gross, 60),), BACKGROUND, factor), limit, **more).value


def reported(limit: Limit | None = LIMIT, *, nuclide: str | None = "Cs-137", gas: bool = False,
             **figures: Any) -> Verdict:  # fmt: skip
    return judge(Reported(**figures), limit, nuclide=nuclide, gas=gas).value


def refused(code: str, field: str | None, result: Any, limit: Limit | None = LIMIT) -> None:
    with pytest.raises(DomainError) as error:
        judge(result, limit, nuclide="Cs-137")
    assert (error.value.code, error.value.field) == (code, field)


# --- the orders of the rule -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("gross", "finding"),
    [(31, "pass"), (300, "pass"), (1240, "inconclusive_between"), (1400, "fail_provisional"),
     (2400, "fail_confirmed")],
)  # fmt: skip
def test_finds_what_the_counts_say(gross: int, finding: str) -> None:
    v = counted(gross)
    assert (v.finding, v.outcome) == (finding, outcome_of(finding))
    assert v.act_as_on_a_leak == (v.outcome == "fail")


def test_fails_at_the_limit_only_where_reaching_it_fails() -> None:
    # (1140 - 30)/60/0.1 = 185 Bq: 10 CFR 35.67(e) "or more", 32.59 "more than".
    factor = Factor(0.1, 0.05)
    assert counted(1140, factor).finding == "fail_provisional"
    assert counted(1140, factor, EXCEEDS).finding == "inconclusive_between"
    assert counted(1141, factor, EXCEEDS).finding == "fail_provisional"


def test_compares_within_a_thousand_millionth() -> None:
    near = Limit(185 * (1 + 5e-10))
    assert counted(1140, Factor(0.1, 0.05), near).outcome == "fail"
    assert counted(1140, Factor(0.1, 0.05), Limit(185 * (1 - 5e-10), "exceeds")).outcome != "fail"


def test_never_passes_with_the_upper_bound_at_the_limit() -> None:
    upper = counted(300).upper_bound_bq
    assert upper is not None
    assert counted(300, limit=Limit(upper)).finding == "inconclusive_between"
    assert counted(300, limit=Limit(upper * (1 + 1e-6))).finding == "pass"


def test_confirms_a_fail_with_the_lower_bound_at_the_limit() -> None:
    lower = counted(2400).lower_bound_bq
    assert lower is not None
    assert counted(2400, limit=Limit(lower)).finding == "fail_confirmed"
    assert counted(2400, limit=Limit(lower * 1.000001)).finding == "fail_provisional"


def test_does_not_clear_with_an_insensitive_test() -> None:
    # P-DEC-06 with a lower count: y# = 320 Bq against 185 Bq.
    low = Counted(((2, 10),), ((80, 100),), Factor(0.004, 0.1))
    v = judge(low, LIMIT, nuclide="Cs-137").value
    assert v.finding == "inconclusive_insensitive"


def test_asks_for_the_detection_limit_that_the_schedule_requires() -> None:
    # y# = 3.95 Bq.
    assert counted(limit=Limit(185, required_detection_bq=3.9)).finding == (
        "inconclusive_insensitive"
    )
    assert counted(limit=Limit(185, required_detection_bq=4.0)).finding == "pass"
    assert Limit(185, required_detection_bq=500).detection_bq == 185


def test_repeats_when_the_background_does_not_fit() -> None:
    v = judge(Counted(((4, 60),), ((40, 60),), FACTOR), LIMIT, nuclide="Cs-137").value
    assert v.z_background == pytest.approx(-4.0249224)
    assert v.finding == "inconclusive_background"


def test_passes_zero_counts_on_three_counts_not_on_none() -> None:
    result = Counted(((0, 60),), ((0, 60),), FACTOR)
    v = judge(result, LIMIT, nuclide="Cs-137").value
    assert v.finding == "pass" and v.z_background is None and v.low_counts
    assert v.upper_bound_bq == pytest.approx(2.9957323 / 60 / 0.12)
    # A limit below three counts cannot be cleared by no counts: y# = 0.38, Up = 0.416.
    assert judge(result, Limit(0.4), nuclide="Cs-137").value.finding == "inconclusive_between"


def test_cannot_clear_with_an_efficiency_that_nobody_knows() -> None:
    # k u_rel >= 1: no bounds, no detection limit.
    v = counted(31, Factor(0.12, 0.61))
    assert v.finding == "inconclusive_insensitive"
    assert v.detection_limit_bq is v.upper_bound_bq is v.lower_bound_bq is None
    assert counted(2400, Factor(0.12, 0.61)).finding == "fail_provisional"


def test_takes_thirty_percent_where_no_uncertainty_is_stated() -> None:
    explained = judge(Counted(((31, 60),), BACKGROUND, Factor(0.12)), LIMIT, nuclide="Cs-137")
    assert explained.value.relative_uncertainty_of_factor == 0.3
    assert "wipe_uncertainty_default" in {s.code for t in explained.steps for s in t.walk()}


def test_watches_from_the_action_level_on() -> None:
    # Action level 18.5 Bq = 133.2 net counts; the flag changes no outcome.
    assert not counted(163).watch
    assert counted(164).watch and counted(164).outcome == "pass"
    assert not counted(164, limit=Limit(185, action_fraction=0.2)).watch


def test_pools_recounts() -> None:
    once = Counted(((1220, 60), (1180, 60)), BACKGROUND, FACTOR)
    pooled = Counted(((2400, 120),), BACKGROUND, FACTOR)
    assert judge(once, LIMIT, nuclide="Cs-137") == judge(pooled, LIMIT, nuclide="Cs-137")


# --- efficiency and its basis ---------------------------------------------------------------


def test_keeps_the_two_pi_trap_shut() -> None:
    # 250 Bq: 0.62 per emission into 2 pi, half of the decays emit into 2 pi.
    gross = 30 + round(250 * 0.62 * 0.5 * 60)
    trap = counted(gross, Factor(0.62, 0.05))
    right = counted(gross, Factor(0.62, 0.05, "per_2pi_emission", source_efficiency=0.5))
    assert trap.activity_bq == pytest.approx(125) and trap.outcome == "pass"
    assert right.activity_bq == pytest.approx(250) and right.outcome == "fail"


def test_spreads_a_surface_response_over_the_window() -> None:
    v = counted(31, Factor(12.5, None, "surface_response", window_cm2=100))
    assert v.efficiency_per_decay == pytest.approx(0.125)
    assert v.relative_uncertainty_of_factor == 0.3


def test_needs_the_source_efficiency_and_the_window() -> None:
    emission = counted(31, Factor(0.62, 0.05, "per_2pi_emission"))
    surface = counted(31, Factor(12.5, 0.05, "surface_response"))
    assert emission.finding == "not_evaluable_source_efficiency"
    assert surface.finding == "not_evaluable_window"
    assert emission.activity_bq is surface.activity_bq is None


@pytest.mark.parametrize(
    ("factor", "code"),
    [
        (Factor(0.0), "efficiency_not_positive"),
        (Factor(-0.1), "efficiency_not_positive"),
        (Factor(math.nan), "number_not_finite"),
        (Factor(math.inf), "number_not_finite"),
        (Factor(1.01), "efficiency_above_ceiling"),
        (Factor(1.2, 0.1, "per_2pi_emission", 0.5), "emission_efficiency_above_one"),
        (Factor(120, 0.1, "surface_response", window_cm2=100), "efficiency_above_ceiling"),
        (Factor(1e-320), "wipe_out_of_range"),
    ],
)
def test_refuses_an_efficiency_that_cannot_be(factor: Factor, code: str) -> None:
    refused(code, "efficiency", Counted(((31, 60),), BACKGROUND, factor))


def test_lets_an_efficiency_exceed_one_where_progeny_count() -> None:
    # Sr-90 with Y-90: two counts per decay at most.
    sr = {"nuclide": "Sr-90", "most_counts_per_decay": 2.0}
    assert counted(31, Factor(1.4, 0.05), **sr).outcome == "pass"
    with pytest.raises(DomainError):
        counted(31, Factor(2.1, 0.05), **sr)
    # Of an unknown nuclide nothing more than one count is believed.
    with pytest.raises(DomainError):
        counted(31, Factor(1.4, 0.05), **{**sr, "nuclide": None}, efficiency_as_given=True)


# --- missing evidence never clears and still accuses ----------------------------------------


@pytest.mark.parametrize(
    ("change", "finding"),
    [
        ({"factor": None}, "not_evaluable_efficiency"),
        ({"nuclide": None}, "not_evaluable_nuclide"),
        ({"limit": None}, "not_evaluable_limit"),
        ({"gas": True}, "not_evaluable_gas"),
    ],
)
def test_is_not_evaluable_with_something_missing(change: dict[str, Any], finding: str) -> None:
    v = counted(31, **change)
    assert (v.outcome, v.finding) == ("not_evaluable", finding)
    assert v.least_activity_bq is not None


@pytest.mark.parametrize(
    ("result", "finding"),
    [
        (Counted((), BACKGROUND, FACTOR), "not_evaluable_counts"),
        (Counted(((31, 60),), (), FACTOR), "not_evaluable_background"),
        (Counted(((31, None),), BACKGROUND, FACTOR), "not_evaluable_times"),
        (Counted(((31, 60), (29, None)), BACKGROUND, FACTOR), "not_evaluable_times"),
        (Counted(((31, 60),), ((30, None),), FACTOR), "not_evaluable_times"),
    ],
)
def test_is_not_evaluable_without_counts_or_times(result: Counted, finding: str) -> None:
    assert judge(result, LIMIT, nuclide="Cs-137").value.finding == finding


def test_accuses_without_an_efficiency() -> None:
    # 185 Bq gives at most 185 x 1.944 = 360 net 1/s: 21,578 counts in 60 s and k u more.
    v = counted(22_000, factor=None)
    assert v.outcome == "not_evaluable" and v.act_as_on_a_leak
    assert v.least_activity_bq is not None and v.least_activity_bq > 185
    assert not counted(21_500, factor=None).act_as_on_a_leak
    # The nuclide unknown: one count per decay, so fewer counts accuse.
    assert counted(12_000, factor=None, nuclide=None).act_as_on_a_leak


def test_accuses_with_the_least_activity_of_the_rule() -> None:
    v = counted(12_000, factor=None)
    net, u = 11_970 / 60, math.sqrt(12_030) / 60
    assert v.least_activity_bq == pytest.approx((net - 1.6448536 * u) / 1.944, rel=1e-7)


def test_never_evaluates_a_gas_by_wipe() -> None:
    # Kr-85 does not stay on a wipe, whatever the efficiency.
    kr = {"nuclide": "Kr-85", "gas": True, "most_counts_per_decay": 1.0}
    assert counted(31, **kr).finding == "not_evaluable_gas"
    hot = counted(30_000, **kr)
    assert hot.finding == "not_evaluable_gas" and hot.act_as_on_a_leak
    assert hot.activity_bq is None
    assert reported(nuclide="Kr-85", gas=True, less_than_bq=1).finding == "not_evaluable_gas"
    stated = reported(nuclide="Kr-85", gas=True, activity_bq=300)
    assert stated.finding == "not_evaluable_gas" and stated.act_as_on_a_leak
    declared = judge(Declared(True), LIMIT, nuclide="Kr-85", gas=True).value
    assert declared.finding == "not_evaluable_gas"


def test_cannot_say_leak_or_not_without_a_limit() -> None:
    assert counted(30_000, limit=None).act_as_on_a_leak is None


def test_takes_an_efficiency_as_given_in_a_hand_check() -> None:
    assert counted(31, nuclide=None, efficiency_as_given=True).outcome == "pass"


# --- input that cannot be true --------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "code", "part"),
    [
        ((-1, 60), "counts_below_zero", "counts"),
        ((1.5, 60), "counts_not_whole", "counts"),
        ((math.nan, 60), "counts_not_whole", "counts"),
        ((math.inf, 60), "counts_not_whole", "counts"),
        ((True, 60), "counts_not_whole", "counts"),
        ((10**16, 60), "counts_too_many", "counts"),
        ((1, 0), "count_time_not_positive", "seconds"),
        ((1, -60), "count_time_not_positive", "seconds"),
        ((1, math.nan), "count_time_not_positive", "seconds"),
        ((1, math.inf), "count_time_not_positive", "seconds"),
        ((1, 1e9), "count_time_too_long", "seconds"),
    ],
)
def test_refuses_counts_and_times_that_cannot_be(count: Any, code: str, part: str) -> None:
    refused(code, f"gross_{part}", Counted((count,), BACKGROUND, FACTOR))
    refused(code, f"background_{part}", Counted(((31, 60),), (count,), FACTOR))


@pytest.mark.parametrize(
    ("limit", "field"),
    [
        (Limit(0), "limit_bq"),
        (Limit(-1), "limit_bq"),
        (Limit(math.nan), "limit_bq"),
        (Limit(185, "over"), "comparator"),
        (Limit(185, required_detection_bq=0), "required_detection_bq"),
        (Limit(185, action_fraction=math.inf), "action_fraction"),
    ],
)
def test_refuses_a_limit_that_cannot_be(limit: Limit, field: str) -> None:
    with pytest.raises(DomainError) as error:
        counted(limit=limit)
    assert error.value.field == field


def test_refuses_a_ceiling_below_one_count_per_decay() -> None:
    with pytest.raises(DomainError, match="number_too_small"):
        counted(most_counts_per_decay=0.9)


# --- results of a laboratory: rule 1.8 [own] ------------------------------------------------


def test_reads_the_expanded_uncertainty_of_a_laboratory() -> None:
    v = reported(activity_bq=170, expanded_uncertainty_bq=30, coverage_factor=2)
    assert v.standard_uncertainty_bq == 15
    assert v.upper_bound_bq == pytest.approx(170 + 1.6448536 * 15)
    assert v.detected is v.decision_threshold_bq is v.detection_limit_bq is None


def test_takes_an_uncertainty_without_coverage_as_standard() -> None:
    v = reported(activity_bq=140, expanded_uncertainty_bq=30)
    assert v.standard_uncertainty_bq == 30 and v.finding == "inconclusive_between"


@pytest.mark.parametrize(
    ("figures", "limit", "finding"),
    [
        ({"activity_bq": 185}, LIMIT, "fail_provisional"),
        ({"activity_bq": 184}, LIMIT, "inconclusive_declared"),
        ({"activity_bq": 185}, EXCEEDS, "fail_provisional"),
        ({"activity_bq": 5, "detection_limit_bq": 200}, LIMIT, "inconclusive_insensitive"),
        ({"activity_bq": 5, "expanded_uncertainty_bq": 2, "detection_limit_bq": 200}, LIMIT,
         "inconclusive_insensitive"),
        ({"activity_bq": 5, "expanded_uncertainty_bq": 2, "decision_threshold_bq": 200}, LIMIT,
         "inconclusive_insensitive"),
        ({"activity_bq": 190, "decision_threshold_bq": 195}, LIMIT, "fail_provisional"),
        ({"less_than_bq": 185}, LIMIT, "pass"),
        ({"less_than_bq": 185}, EXCEEDS, "pass"),
        ({"less_than_bq": 186}, LIMIT, "inconclusive_insensitive"),
        ({"less_than_bq": 20, "detection_limit_bq": 200}, LIMIT, "inconclusive_insensitive"),
        ({"at_most_bq": 185}, LIMIT, "inconclusive_insensitive"),
        ({"at_most_bq": 185}, EXCEEDS, "pass"),
        ({"at_most_bq": 184}, LIMIT, "pass"),
        ({"at_most_bq": 186}, EXCEEDS, "inconclusive_insensitive"),
        ({"not_detected": True}, LIMIT, "inconclusive_declared"),
        ({"not_detected": True, "laboratory_detection_limit_bq": 10}, LIMIT, "pass"),
        ({"not_detected": True, "detection_limit_bq": 10}, LIMIT, "pass"),
        ({"not_detected": True, "laboratory_detection_limit_bq": 200}, LIMIT,
         "inconclusive_insensitive"),
        ({"not_detected": True, "laboratory_detection_limit_bq": 20},
         Limit(185, required_detection_bq=10), "inconclusive_insensitive"),
    ],
)  # fmt: skip
def test_judges_a_laboratory_result(figures: Any, limit: Limit, finding: str) -> None:
    v = reported(limit, **figures)
    assert (v.finding, v.outcome) == (finding, outcome_of(finding))
    assert v.needs_acceptance == (finding == "inconclusive_declared")


@pytest.mark.parametrize(
    ("figures", "code"),
    [
        ({}, "reported_no_figure"),
        ({"activity_bq": 1, "less_than_bq": 2}, "reported_two_figures"),
        ({"activity_bq": math.nan}, "number_not_finite"),
        ({"less_than_bq": 0}, "number_not_above"),
        ({"activity_bq": 1, "expanded_uncertainty_bq": 0}, "number_not_above"),
        ({"activity_bq": 1, "expanded_uncertainty_bq": 1, "coverage_factor": 0},
         "number_not_above"),
        ({"activity_bq": 1, "coverage_factor": 2}, "coverage_without_uncertainty"),
        ({"less_than_bq": 1, "expanded_uncertainty_bq": 1}, "uncertainty_without_activity"),
    ],
)  # fmt: skip
def test_refuses_a_laboratory_result_that_cannot_be(figures: Any, code: str) -> None:
    with pytest.raises(DomainError) as error:
        reported(**figures)
    assert error.value.code == code


def test_lets_no_bare_statement_clear_by_itself() -> None:
    passed = judge(Declared(True), LIMIT, nuclide="Cs-137").value
    assert (
        passed.finding == "inconclusive_declared"
        and passed.needs_acceptance
        and passed.outcome != "pass"
    )
    failed = judge(Declared(False), None, nuclide=None).value
    assert failed.outcome == "fail" and failed.act_as_on_a_leak


def test_needs_a_limit_and_a_nuclide_for_a_laboratory_result_too() -> None:
    assert reported(None, less_than_bq=1).finding == "not_evaluable_limit"
    assert reported(nuclide=None, less_than_bq=1).finding == "not_evaluable_nuclide"
    assert judge(Declared(True), None, nuclide="Cs-137").value.outcome == "not_evaluable"
    assert reported(nuclide=None, activity_bq=200).act_as_on_a_leak


# --- whatever the numbers are ---------------------------------------------------------------

SETUPS = st.builds(
    Setup,
    n_g=st.integers(0, 20_000),
    t_g=st.sampled_from([1.0, 10.0, 60.0, 600.0]),
    n_0=st.integers(0, 2_000),
    t_0=st.sampled_from([1.0, 10.0, 60.0, 600.0, 3600.0]),
    eps=st.floats(0.001, 1.0),
    u_rel=st.one_of(st.just(0.0), st.floats(0.01, 0.7)),
    limit=st.floats(0.1, 2000),
    reached_fails=st.booleans(),
)


def verdict_of(s: Setup, **more: Any) -> Verdict:
    limit = Limit(s.limit, "reaches" if s.reached_fails else "exceeds")
    result = Counted(((s.n_g, s.t_g),), ((s.n_0, s.t_0),), Factor(s.eps, s.u_rel))
    return judge(result, limit, **{"nuclide": "Cs-137", **more}).value


@FEW
@given(SETUPS)
def test_agrees_with_the_slow_decision(s: Setup) -> None:
    v = verdict_of(s)
    both, sharp = s.bounds(), s.y_sharp()
    levels = [s.y, sharp or 1.0, *(both or ())]
    # Rounding may decide where two numbers are one.
    assume(all(abs(level - s.limit) > 1e-7 * s.limit for level in levels))
    assert v.finding == leak_by_roots.finding(s)
    assert v.decision_threshold_bq == pytest.approx(s.y_star(), rel=1e-9)
    assert (v.detection_limit_bq is None) == (sharp is None) == (v.upper_bound_bq is None)
    if both and sharp:
        scale = 1e-6 * max(abs(s.y), both[1])
        assert v.detection_limit_bq == pytest.approx(sharp, rel=1e-7)
        assert (v.lower_bound_bq, v.upper_bound_bq) == pytest.approx(both, rel=1e-6, abs=scale)


@FEW
@given(SETUPS)
def test_never_passes_beyond_what_it_could_see(s: Setup) -> None:
    v = verdict_of(s)
    if v.outcome == "pass":
        assert v.detection_limit_bq is not None and v.upper_bound_bq is not None
        assert v.activity_bq is not None
        assert v.detection_limit_bq <= s.limit * (1 + 1e-8)
        assert v.activity_bq <= v.upper_bound_bq < s.limit
        assert v.act_as_on_a_leak is False


@FEW
@given(SETUPS, st.sampled_from(["factor", "nuclide", "gas", "limit", "times"]))
def test_never_passes_with_something_missing(s: Setup, missing: str) -> None:
    factor = None if missing == "factor" else Factor(s.eps, s.u_rel)
    seconds = None if missing == "times" else s.t_g
    result = Counted(((s.n_g, seconds),), ((s.n_0, s.t_0),), factor)
    limit = None if missing == "limit" else Limit(s.limit)
    nuclide = None if missing == "nuclide" else "Cs-137"
    v = judge(result, limit, nuclide=nuclide, gas=missing == "gas").value
    assert v.outcome == "not_evaluable"
    if missing in ("factor", "nuclide", "gas"):
        least = v.least_activity_bq
        assert least is not None and v.act_as_on_a_leak == (least >= s.limit * (1 - 1e-9))


@FEW
@given(SETUPS, st.floats(1.0, 1e3))
def test_judges_alike_when_activity_and_limit_scale_together(s: Setup, by: float) -> None:
    assume(all(abs(x / s.limit - 1) > 1e-6 for x in (s.y, *(s.bounds() or ()), s.y_sharp() or 1)))
    scaled = replace(s, eps=s.eps / by, limit=s.limit * by)
    assert verdict_of(scaled).finding == verdict_of(s).finding


@FEW
@given(SETUPS, st.integers(1, 5000))
def test_never_clears_by_more_counts(s: Setup, more: int) -> None:
    if verdict_of(s).outcome in ("fail", "inconclusive"):
        # A background that does not fit is the one finding that more counts can mend.
        assume(verdict_of(s).finding != "inconclusive_background")
        assert verdict_of(replace(s, n_g=s.n_g + more)).outcome != "pass"


@FEW
@given(SETUPS)
def test_freezes_and_reads_back_every_verdict(s: Setup) -> None:
    v = verdict_of(s)
    data = verdict_to_data(v)
    assert all(item is None or isinstance(item, bool | str) for item in data.values())
    assert verdict_from_data(json.loads(json.dumps(data))) == v


def test_puts_the_finding_first_and_its_grounds_below() -> None:
    step = judge(Counted(((31, 60),), BACKGROUND, FACTOR), LIMIT, nuclide="Cs-137").steps[0]
    assert step.code == "pass_not_detected"
    assert [ground.code for ground in step.because] == [
        "wipe_limit", "wipe_net_rate", "wipe_least_activity", "wipe_background_fit",
        "wipe_efficiency_per_decay", "wipe_activity", "wipe_threshold", "wipe_detection_limit",
        "wipe_bounds",
    ]  # fmt: skip
