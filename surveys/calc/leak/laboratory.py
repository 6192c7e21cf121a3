"""A laboratory's figures, its "less than" and "not detected", and a bare statement."""

from __future__ import annotations

from dataclasses import replace

from inventory.calc.explain import Cite, Scalar, Step

from ..counting import BACKGROUND_Z, K_ONE_SIDED
from .checks import check_reported
from .compare import at_or_over, below, over
from .rule import (
    JCGM_106,
    Case,
    Judgement,
    accused,
    figures_finding,
    insensitive,
    limit_step,
    not_evaluable,
    outcome_of,
    pick,
    watched,
    with_interval,
)
from .terms import Declared, Limit, Reported, Verdict

_LABORATORY = Cite("Rules for laboratory results", known_by="own")


def judge_reported(result: Reported, case: Case) -> Judgement:
    """The verdict from a laboratory's report; a stated activity over the limit always accuses."""
    check_reported(result)
    verdict, steps = _reported_figures(result, case)
    if case.limit:
        steps = (limit_step(case.limit), *steps)
    missing = case.missing()
    if missing or case.limit is None:
        verdict, steps, cite = not_evaluable(verdict, steps, missing, case.limit)
        accuses = case.limit is not None and _stated_at_or_over(verdict, case.limit)
        return (replace(verdict, act_as_on_a_leak=True) if accuses else verdict), steps, cite
    finding = _reported_finding(result, verdict, case.limit)
    declared = finding == "inconclusive_declared"
    verdict = replace(
        verdict, finding=finding, outcome=outcome_of(finding), needs_acceptance=declared
    )
    verdict, watch = watched(accused(verdict, case.limit), case.limit)
    return verdict, steps + watch, _LABORATORY


def _reported_figures(result: Reported, case: Case) -> tuple[Verdict, tuple[Step, ...]]:
    verdict = replace(
        case.blank(),
        activity_bq=result.activity_bq,
        decision_threshold_bq=result.decision_threshold_bq,
        detection_limit_bq=result.detection_limit_bq,
    )
    if result.activity_bq is None:
        return _stated_below(result, verdict)
    if result.expanded_uncertainty_bq is None:
        return verdict, (Step("reported_alone", pick(verdict, "activity_bq"), _LABORATORY),)
    u = result.expanded_uncertainty_bq / (result.coverage_factor or 1.0)
    verdict = replace(
        verdict,
        standard_uncertainty_bq=u,
        lower_bound_bq=result.activity_bq - K_ONE_SIDED * u,
        upper_bound_bq=result.activity_bq + K_ONE_SIDED * u,
    )
    return with_interval(verdict), _uncertainty_steps(result, verdict)


def _uncertainty_steps(result: Reported, verdict: Verdict) -> tuple[Step, ...]:
    values: dict[str, Scalar] = {
        **pick(verdict, "activity_bq", "standard_uncertainty_bq"),
        "expanded_uncertainty_bq": result.expanded_uncertainty_bq,
        "coverage_factor": result.coverage_factor,
    }
    code = "reported_with_uncertainty" if result.coverage_factor else "reported_without_coverage"
    both = pick(verdict, "lower_bound_bq", "upper_bound_bq")
    return Step(code, values, _LABORATORY), Step("wipe_bounds", both, JCGM_106)


def _stated_below(result: Reported, verdict: Verdict) -> tuple[Verdict, tuple[Step, ...]]:
    """ "< x" and "<= x"; "not detected" takes the laboratory's limit for the nuclide as "< x"."""
    x, code = _upper_statement(result)
    if x is None:
        return verdict, (Step(code, {}, _LABORATORY),)
    verdict = replace(verdict, upper_bound_bq=x)
    if code.startswith("reported_not_detected"):
        verdict = replace(verdict, detection_limit_bq=x)
    return verdict, (Step(code, {"stated_bq": x}, _LABORATORY),)


def _upper_statement(result: Reported) -> tuple[float | None, str]:
    if result.less_than_bq is not None:
        return result.less_than_bq, "reported_less_than"
    if result.at_most_bq is not None:
        return result.at_most_bq, "reported_at_most"
    if result.detection_limit_bq is not None:
        return result.detection_limit_bq, "reported_not_detected"
    if result.laboratory_detection_limit_bq is not None:
        return result.laboratory_detection_limit_bq, "reported_not_detected_general"
    return None, "reported_not_detected_alone"


def _reported_finding(result: Reported, verdict: Verdict, limit: Limit) -> str:
    """Findings of a laboratory result: the same rule, with what the statement can bear."""
    x, y, u = verdict.upper_bound_bq, verdict.activity_bq, verdict.standard_uncertainty_bq
    if y is not None and u is not None and y < -BACKGROUND_Z * u:
        return "inconclusive_background"  # as order 1: far below zero is no measurement
    if result.activity_bq is not None and x is not None:
        return figures_finding(verdict, limit)
    if _stated_at_or_over(verdict, limit):
        return "fail_provisional"
    if insensitive(verdict, limit):
        return "inconclusive_insensitive"
    if x is None:
        return "inconclusive_declared"
    strict = result.at_most_bq is not None and limit.comparator == "reaches"
    clears = below(x, limit.bq) if strict else not over(x, limit.bq)
    return "pass" if clears else "inconclusive_insensitive"


def _stated_at_or_over(verdict: Verdict, limit: Limit) -> bool:
    """A stated activity at or over the limit accuses whatever else is stated or missing."""
    return verdict.activity_bq is not None and at_or_over(verdict.activity_bq, limit.bq)


def judge_declared(result: Declared, case: Case) -> Judgement:
    """No figures: a failure stands at once, a pass waits for a named person to accept it."""
    if not result.passed:
        verdict = replace(case.blank(), outcome="fail", finding="fail_declared")
        return replace(verdict, act_as_on_a_leak=True), (), _LABORATORY
    missing = case.missing()
    if missing:
        return not_evaluable(case.blank(), (), missing, case.limit)
    verdict = replace(case.blank(), outcome="inconclusive", finding="inconclusive_declared")
    return replace(verdict, needs_acceptance=True), (), _LABORATORY
