"""A wipe counted here: pooled counts, figures with and without an efficiency, finding."""

from __future__ import annotations

import math
from dataclasses import replace

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite, Scalar, Step

from .. import counting
from ..counting import ISO_11929, K_ONE_SIDED, Count, Pair, Weight
from .checks import check_factor, counting_time, whole_counts
from .rule import (
    JCGM_106,
    RULE,
    Case,
    Judgement,
    accused,
    accuses,
    figures_finding,
    limit_step,
    not_evaluable,
    outcome_of,
    pick,
    watched,
    with_interval,
)
from .terms import DEFAULT_U_REL, Counted, Factor, Limit, RawCount, Verdict

_MARLAP = Cite("MARLAP", "equation 20.54", "2004", known_by="copy")


def judge_counted(result: Counted, case: Case) -> Judgement:
    """The verdict from counts: everything is computed that the givens allow, then decided."""
    if result.factor is not None:
        check_factor(result.factor, case.most_counts)
    verdict, pair = _pooled(result, case)
    missing = (*case.missing(), *_missing_counted(result))
    grounds: tuple[Step, ...] = (limit_step(case.limit),) if case.limit else ()
    if pair:
        verdict, steps = _count_figures(verdict, pair, case)
        grounds += steps
    usable = not {"gas", "nuclide"} & set(missing)
    w = weight_of(result.factor) if result.factor and usable else None
    if w and result.factor and pair:
        verdict, steps = _activity_figures(verdict, pair, w, result.factor)
        grounds += steps
    judgement = _decided_counted(verdict, grounds, missing, case.limit)
    return judgement if _agree(result) else _differing(judgement, result, case)


def _agree(result: Counted) -> bool:
    """Whether the counts that were pooled, wipe and background, agree within chance."""
    return all(
        counting.agree(Count(int(number), time) for number, time in counts if time is not None)
        for counts in (result.gross, result.background)
    )


def _differing(judgement: Judgement, result: Counted, case: Case) -> Judgement:
    """Counts that differ by more than chance are not one measurement: pooled they never clear, and
    each of them alone can accuse [own]."""
    verdict, grounds, cite = judgement
    if verdict.outcome == "pass":
        finding = "inconclusive_counts_differ"
        verdict = replace(verdict, finding=finding, outcome=outcome_of(finding))
    singles = [
        judge_counted(Counted((gross,), (background,), result.factor), case)[0]
        for gross in result.gross
        for background in result.background
    ]
    if any(one.act_as_on_a_leak for one in singles):
        verdict = replace(verdict, act_as_on_a_leak=True)
    return verdict, (*grounds, Step("wipe_counts_differ", {}, RULE)), cite


def _missing_counted(result: Counted) -> tuple[str, ...]:
    absent = {
        "counts": not result.gross,
        "background": not result.background,
        "times": any(time is None for _, time in (*result.gross, *result.background)),
        "efficiency": result.factor is None,
    }
    gaps = gaps_of_factor(result.factor) if result.factor is not None else ()
    return (*(name for name, is_absent in absent.items() if is_absent), *gaps)


def gaps_of_factor(factor: Factor) -> tuple[str, ...]:
    """What the basis of an efficiency needs and nobody stated."""
    absent = {
        "source_efficiency": factor.basis == "per_2pi_emission"
        and factor.source_efficiency is None,
        "window": factor.basis == "surface_response" and factor.window_cm2 is None,
    }
    return tuple(name for name, is_absent in absent.items() if is_absent)


def _pooled(result: Counted, case: Case) -> tuple[Verdict, Pair | None]:
    """A verdict with the pooled counts, and the pair where both have their times."""
    gross_counts, gross = _pool(result.gross, "gross")
    background_counts, background = _pool(result.background, "background")
    verdict = replace(
        case.blank(),
        gross_counts=gross_counts,
        gross_seconds=gross.seconds if gross else None,
        background_counts=background_counts,
        background_seconds=background.seconds if background else None,
    )
    return verdict, Pair(gross, background) if gross and background else None


def _pool(counts: tuple[RawCount, ...], name: str) -> tuple[int | None, Count | None]:
    """Sum of the counts, and the pooled count where every one has its time."""
    numbers = [whole_counts(number, f"{name}_counts") for number, _ in counts]
    seconds = [counting_time(time, f"{name}_seconds") for _, time in counts]
    if not numbers:
        return None, None
    known = [time for time in seconds if time is not None]
    if len(known) < len(seconds):
        return sum(numbers), None
    pooled = counting.pooled(Count(n, t) for n, t in zip(numbers, known, strict=True))
    return sum(numbers), pooled


def _count_figures(verdict: Verdict, pair: Pair, case: Case) -> tuple[Verdict, tuple[Step, ...]]:
    """Everything that needs no efficiency: net rate, background fit, least activity."""
    net = counting.net_rate(pair)
    # A fact about decays, not about this counter: no efficiency can be larger than e_max.
    least = max(0.0, net.value - K_ONE_SIDED * net.u) / case.most_counts
    verdict = replace(
        verdict,
        net_rate_per_s=net.value,
        net_rate_uncertainty_per_s=net.u,
        z_background=counting.z_background(pair),
        low_counts=counting.is_low(pair.background),
        detected=counting.is_detected(pair),
        least_activity_bq=least,
    )
    return verdict, _count_steps(verdict, case)


def _count_steps(verdict: Verdict, case: Case) -> tuple[Step, ...]:
    counts = pick(
        verdict, "gross_counts", "gross_seconds", "background_counts", "background_seconds",
        "net_rate_per_s", "net_rate_uncertainty_per_s",
    )  # fmt: skip
    net_cite = Cite("ISO 11929-1", "6", "2019", known_by="memory")
    least = {**pick(verdict, "least_activity_bq"), "most_counts": case.most_counts}
    steps = [Step("wipe_net_rate", counts, net_cite), Step("wipe_least_activity", least, RULE)]
    if verdict.z_background is None:
        steps.append(Step("wipe_background_zero", {}, RULE))
    else:
        steps.append(Step("wipe_background_fit", pick(verdict, "z_background"), RULE))
    if verdict.low_counts:
        steps.append(Step("wipe_low_counts", pick(verdict, "background_counts"), _MARLAP))
    return tuple(steps)


def weight_of(factor: Factor) -> Weight | None:
    """Bq per net count per second; None where the source efficiency or the window is missing."""
    per_decay = factor.per_decay
    if per_decay is None:
        return None
    u_rel = DEFAULT_U_REL if factor.u_rel is None else factor.u_rel
    if per_decay == 0 or not math.isfinite(1 / per_decay):
        raise DomainError("wipe_out_of_range", {"name": "efficiency"}, field="efficiency")
    return Weight(1 / per_decay, u_rel)


def _activity_figures(
    verdict: Verdict, pair: Pair, w: Weight, factor: Factor
) -> tuple[Verdict, tuple[Step, ...]]:
    """Everything that needs the efficiency: activity, y*, y#, bounds, best estimate."""
    y, both = counting.activity(pair, w), counting.bounds(pair, w)
    per_decay = 1 / w.w if factor.per_decay is None else factor.per_decay
    verdict = replace(
        verdict,
        efficiency_basis=factor.basis,
        efficiency_per_decay=per_decay,
        relative_uncertainty_of_factor=w.u_rel,
        activity_bq=y.value,
        standard_uncertainty_bq=y.u,
        decision_threshold_bq=counting.decision_threshold(pair, w),
        detection_limit_bq=counting.detection_limit(pair, w),
        lower_bound_bq=both.lower if both else None,
        upper_bound_bq=both.upper if both else None,
        mdc_nureg_1507_bq=counting.mdc_nureg_1507(pair.background, pair.gross.seconds, per_decay),
    )
    floor = both is not None and both.floor
    steps = (*_factor_steps(verdict, factor), *_activity_steps(verdict, floor))
    return with_interval(verdict), steps


def _factor_steps(verdict: Verdict, factor: Factor) -> tuple[Step, ...]:
    used: dict[str, Scalar] = {
        "efficiency": factor.efficiency,
        "source_efficiency": factor.source_efficiency,
        "window_cm2": factor.window_cm2,
        **pick(verdict, "efficiency_per_decay", "relative_uncertainty_of_factor"),
    }
    basis_cite = RULE if factor.basis == "per_decay" else Cite("ISO 7503", known_by="memory")
    steps = [Step(f"wipe_efficiency_{factor.basis}", used, basis_cite)]
    if factor.u_rel is None:
        steps.append(Step("wipe_uncertainty_default", {"u_rel": DEFAULT_U_REL}, RULE))
    return tuple(steps)


def _activity_steps(verdict: Verdict, floor: bool) -> tuple[Step, ...]:
    found = pick(verdict, "activity_bq", "standard_uncertainty_bq")
    steps = [Step("wipe_activity", found, ISO_11929)]
    steps.append(Step("wipe_threshold", pick(verdict, "decision_threshold_bq"), ISO_11929))
    if verdict.upper_bound_bq is None or verdict.detection_limit_bq is None:
        u_rel = pick(verdict, "relative_uncertainty_of_factor")
        return (*steps, Step("wipe_no_detection_limit", u_rel, ISO_11929))
    steps.append(Step("wipe_detection_limit", pick(verdict, "detection_limit_bq"), ISO_11929))
    both = pick(verdict, "lower_bound_bq", "upper_bound_bq")
    steps.append(Step("wipe_bounds", both, JCGM_106))
    if floor:
        steps.append(Step("wipe_zero_counts_floor", both, RULE))
    return tuple(steps)


def _decided_counted(
    verdict: Verdict, grounds: tuple[Step, ...], missing: tuple[str, ...], limit: Limit | None
) -> Judgement:
    if missing or limit is None:
        return not_evaluable(verdict, grounds, missing, limit)
    finding = _counted_finding(verdict, limit)
    verdict = replace(verdict, finding=finding, outcome=outcome_of(finding))
    verdict, watch = watched(accused(verdict, limit), limit)
    return verdict, grounds + watch, RULE


def _counted_finding(verdict: Verdict, limit: Limit) -> str:
    """Orders 1 to 6 of the decision rule; the order is the rule."""
    if verdict.z_background is not None and verdict.z_background < -counting.BACKGROUND_Z:
        return "inconclusive_background"
    if verdict.detection_limit_bq is None and not accuses(verdict, limit):
        return "inconclusive_insensitive"
    return figures_finding(verdict, limit)
