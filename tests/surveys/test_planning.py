"""Can a counter do it? Planned limits and times against the defining equation and its roots."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from surveys.calc import counting, leak
from surveys.calc.counting import Count, Estimate, Weight
from surveys.calc.leak import Factor, Limit

K = 1.6448536269514722
LIMIT = Limit(200.0, required_detection_bq=200.0)
BACKGROUND = Count(389, 600)


def by_root(rate: float, seconds: float, w: float, u_rel: float) -> float:
    """y# from its definition, y# = y* + k u~(y#): ISO 11929-1:2019 (from memory)."""
    spread = w * w * 2 * rate / seconds
    threshold = K * math.sqrt(spread)

    def lacking(y: float) -> float:
        u = math.sqrt(spread + w * y / seconds + (y * u_rel) ** 2)
        return y - threshold - K * u

    return float(brentq(lacking, 0, 1e12, xtol=1e-12, rtol=1e-14))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.01, 100), st.floats(1, 1e4), st.floats(1, 100), st.floats(0, 0.5))
def test_the_planned_detection_limit_is_the_root_of_its_definition(rate, seconds, w, u_rel):
    planned = counting.planned_detection_limit(rate, seconds, Weight(w, u_rel))
    assert planned == pytest.approx(by_root(rate, seconds, w, u_rel), rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 100), st.floats(1, 100), st.floats(0, 0.5), st.floats(1, 500))
def test_after_the_time_told_the_detection_limit_is_what_was_asked_for(rate, w, u_rel, target):
    weight = Weight(w, u_rel)
    seconds = counting.counting_time(target, rate, weight)
    assert seconds is not None
    planned = counting.planned_detection_limit(rate, seconds, weight)
    assert planned == pytest.approx(target, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.01, 50), st.floats(0.01, 1), st.floats(0, 0.5), st.floats(20, 500))
def test_a_clean_wipe_passes_after_the_time_to_pass(rate, efficiency, u_rel, bq):
    """The time comes from y#; the verdict from the decision rule."""
    limit = Limit(bq, required_detection_bq=bq)
    seconds = counting.time_to_pass(bq, bq, rate, Weight(1 / efficiency, u_rel))
    assert seconds is not None
    # Whole counts of a background as near to the rate as they come, a little longer than told.
    seconds = max(seconds * 1.01, 400 / rate)
    background = ((math.floor(rate * seconds), seconds),)
    counted = leak.Counted(background, background, Factor(efficiency, u_rel))
    verdict = leak.judge(counted, limit, nuclide="Cs-137").value
    assert verdict.outcome == "pass", verdict


def test_no_background_counts_plan_with_what_none_can_hide():
    """ln 20 = 2.9957 counts in the time: Gehrels 1986, Table 1 (from memory)."""
    assert counting.planning_rate(Count(0, 60)) == pytest.approx(2.9957323 / 60)
    assert counting.planning_rate(Count(6, 60)) == pytest.approx(0.1)


def ask(**given: Any) -> leak.Ability:
    values: dict[str, Any] = {"factor": Factor(0.31, 0.1), "background": BACKGROUND} | given
    about = {"nuclide": values.pop("nuclide", "Cs-137"), "gas": values.pop("gas", False)}
    limit = values.pop("limit", LIMIT)
    return leak.ability(values["factor"], values["background"], limit, **about).value


NEVER = {
    "gas": {"gas": True},
    "nuclide": {"nuclide": None},
    "efficiency": {"factor": None},
    "source_efficiency": {"factor": Factor(0.3, 0.1, "per_2pi_emission")},
    "window": {"factor": Factor(6.0, 0.3, "surface_response")},
    # k u_rel >= 1 from 0.608 on: no detection limit exists.
    "uncertainty": {"factor": Factor(0.31, 0.61)},
}


@pytest.mark.parametrize("why", NEVER)
def test_never_says_why(why):
    found = ask(**NEVER[why])
    assert (found.answer, found.never) == (f"never_{why}", True)
    assert (found.seconds_to_pass, found.detection_1_min_bq) == (None, None)


def test_an_efficiency_known_just_well_enough_has_a_time():
    assert not ask(factor=Factor(0.31, 0.60)).never


def test_what_is_not_known_is_not_called_possible():
    assert ask(background=None).answer == "unknown_background"
    found = ask(limit=None)
    assert found.answer == "unknown_limit"
    assert found.detection_1_min_bq is not None


@pytest.mark.parametrize(
    ("efficiency", "answer"),
    [(0.31, "within_1_min"), (0.001, "within_10_min"), (0.0003, "longer")],
)
def test_the_answer_is_told_for_a_minute_and_for_ten(efficiency, answer):
    found = ask(factor=Factor(efficiency, 0.1))
    assert found.answer == answer
    assert found.seconds_to_pass is not None
    assert found.seconds_to_tenth is not None
    assert found.seconds_to_tenth > found.seconds_to_pass


def test_a_tenth_of_the_limit_takes_the_time_of_the_worked_example():
    """P-TIME-01: 18.5 Bq at 0.5 per second, efficiency 0.12 +- 6 %: 4.3527 s."""
    found = ask(
        factor=Factor(0.12, 0.06), background=Count(300, 600), limit=Limit(185.0, "reaches")
    )
    assert found.seconds_to_tenth == pytest.approx(4.3527171, rel=1e-4)


# ---------------------------------------------------------------- check source


def reading(now: float, u: float = 0.1) -> str:
    return counting.check_reading(Estimate(now, u), 48.0, 400, 10976.0).state


def test_a_check_source_outside_the_tolerance_says_to_which_side():
    assert [reading(one) for one in (36.0, 44.0, 58.0)] == ["low", "within", "high"]


def test_a_dead_counter_reads_low_and_is_not_called_uncertain():
    assert reading(0.0) == "low"


def test_a_reading_that_could_not_tell_is_uncertain():
    """Twice its standard uncertainty is more than the 20 % of what was expected."""
    assert reading(44.0, 4.7) == "uncertain"
    assert reading(44.0, 4.6) == "within"
