"""The verdict of a wipe (leak) test, from raw counts, a laboratory's figures or a bare statement.

Activities in Bq on the wipe, times in seconds, efficiencies in counts per decay. The pick-up
fraction is 1: the limit is written for what the wipe holds (10 CFR 35.67(c) "in the sample" [seen];
ISO 9978 [mem]). Whether the counter was fit on the day is not judged here: figures and outcome are
computed all the same. Marks: [seen] read in a copy, [mem] from memory, [own] decided here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite, Explained, Scalar, Step

from . import counting
from .counting import ISO_11929, K_ONE_SIDED, Count, Pair, Weight

#: Changes whenever the same input could give another verdict.
FORMULA_VERSION = "wipe 1"
#: Stands in for an efficiency's relative uncertainty that nobody stated.
DEFAULT_U_REL = 0.3
BASES = ("per_decay", "per_2pi_emission", "surface_response")
COMPARATORS = ("reaches", "exceeds")
OUTCOMES = ("pass", "fail", "inconclusive", "not_evaluable")

_LONGEST_COUNT = 366 * 86400
_MOST_COUNTS = 10**15
_RULE = Cite("Decision rule for wipe tests", "guarded acceptance", known_by="own")
_JCGM_106 = Cite("JCGM 106", "8.3", "2012", known_by="memory")
_MARLAP = Cite("MARLAP", "equation 20.54", "2004", known_by="copy")
_LABORATORY = Cite("Rules for laboratory results", known_by="own")

#: Counts and seconds of one count; seconds None where nobody wrote them down.
RawCount = tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class Limit:
    """What the wipe is judged against (Bq).

    ``comparator``: ``reaches`` fails at the limit (10 CFR 35.67(e) "185 Bq or more" [seen]),
    ``exceeds`` above it (10 CFR 32.59 "more than" [seen]). ``required_detection_bq`` is the
    detection limit that the test must reach, the limit itself where None; a larger one than the
    limit is not used. ``action_fraction`` of the limit sets the ``watch`` flag.
    """

    bq: float
    comparator: str = "reaches"
    required_detection_bq: float | None = None
    action_fraction: float = 0.1
    cite: Cite | None = None

    @property
    def detection_bq(self) -> float:
        """The detection limit that a pass needs."""
        required = self.required_detection_bq
        return self.bq if required is None else min(required, self.bq)


@dataclass(frozen=True, slots=True)
class Factor:
    """A counter's efficiency for the nuclide and what it is counted per.

    ``per_decay``: counts per decay (4 pi). ``per_2pi_emission``: counts per emission into 2 pi,
    with ``source_efficiency`` (emissions into 2 pi per decay). ``surface_response``: 1/s per
    Bq/cm2, with the window's area in cm2. ``u_rel`` None takes 0.3, and the explanation says so.
    """

    efficiency: float
    u_rel: float | None = None
    basis: str = "per_decay"
    source_efficiency: float | None = None
    window_cm2: float | None = None

    @property
    def per_decay(self) -> float | None:
        """Counts per decay; None where the source efficiency or the window is missing."""
        if self.basis == "per_2pi_emission":
            eps_s = self.source_efficiency
            return None if eps_s is None else self.efficiency * eps_s
        if self.basis == "surface_response":
            return None if self.window_cm2 is None else self.efficiency / self.window_cm2
        return self.efficiency


@dataclass(frozen=True, slots=True)
class Counted:
    """A wipe counted here: all its counts on one counter (they pool), and each background once."""

    gross: tuple[RawCount, ...]
    background: tuple[RawCount, ...]
    factor: Factor | None = None


@dataclass(frozen=True, slots=True)
class Reported:
    """A laboratory's figures (Bq). ``at_most_bq`` is its "<= x", ``less_than_bq`` its "< x".

    ``detection_limit_bq`` and ``decision_threshold_bq`` stand in the report itself;
    ``laboratory_detection_limit_bq`` is what the laboratory states for that nuclide in general and
    is used for ``not_detected`` without a figure.
    """

    activity_bq: float | None = None
    expanded_uncertainty_bq: float | None = None
    coverage_factor: float | None = None
    less_than_bq: float | None = None
    at_most_bq: float | None = None
    detection_limit_bq: float | None = None
    decision_threshold_bq: float | None = None
    not_detected: bool = False
    laboratory_detection_limit_bq: float | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """A statement without figures: the test passed, or it failed."""

    passed: bool


Result = Counted | Reported | Declared


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is frozen with a wipe test. None: the value does not exist.

    ``needs_acceptance`` marks a bare statement that the test passed: its outcome is
    ``inconclusive``, and it satisfies nothing until a radiation protection supervisor accepts it
    by name. ``watch`` flags the action level and changes no outcome.
    ``act_as_on_a_leak`` is None only where no limit is known to compare with.
    """

    outcome: str
    finding: str
    nuclide: str | None = None
    activity_bq: float | None = None
    standard_uncertainty_bq: float | None = None
    decision_threshold_bq: float | None = None
    detection_limit_bq: float | None = None
    lower_bound_bq: float | None = None
    upper_bound_bq: float | None = None
    limit_bq: float | None = None
    comparator: str | None = None
    required_detection_bq: float | None = None
    detected: bool | None = None
    watch: bool = False
    needs_acceptance: bool = False
    efficiency_basis: str | None = None
    efficiency_per_decay: float | None = None
    relative_uncertainty_of_factor: float | None = None
    net_rate_per_s: float | None = None
    net_rate_uncertainty_per_s: float | None = None
    gross_counts: int | None = None
    gross_seconds: float | None = None
    background_counts: int | None = None
    background_seconds: float | None = None
    best_estimate_bq: float | None = None
    coverage_low_bq: float | None = None
    coverage_high_bq: float | None = None
    mdc_nureg_1507_bq: float | None = None
    z_background: float | None = None
    low_counts: bool | None = None
    least_activity_bq: float | None = None
    act_as_on_a_leak: bool | None = False
    formula_version: str = FORMULA_VERSION


@dataclass(frozen=True, slots=True)
class _Case:
    """What a test is judged with, checked."""

    limit: Limit | None
    nuclide: str | None
    gas: bool
    most_counts: float
    as_given: bool

    def missing(self) -> tuple[str, ...]:
        """What a judgement of any kind of result lacks, gravest first."""
        absent = {
            "gas": self.gas,
            "nuclide": self.nuclide is None and not self.as_given,
            "limit": self.limit is None,
        }
        return tuple(name for name, is_absent in absent.items() if is_absent)

    def blank(self) -> Verdict:
        """A verdict with the givens and nothing found yet."""
        limit = self.limit
        return Verdict(
            outcome="not_evaluable",
            finding="",
            nuclide=self.nuclide,
            limit_bq=limit.bq if limit else None,
            comparator=limit.comparator if limit else None,
            required_detection_bq=limit.detection_bq if limit else None,
        )


def judge(
    result: Result,
    limit: Limit | None,
    *,
    nuclide: str | None,
    gas: bool = False,
    most_counts_per_decay: float = 1.0,
    efficiency_as_given: bool = False,
) -> Explained[Verdict]:
    """Judge one wipe for one source.

    ``nuclide`` None makes the result not evaluable, unless ``efficiency_as_given`` says that the
    efficiency is taken as that of the source (hand checks). ``most_counts_per_decay`` is 1 plus the
    ratios of the daughters in equilibrium; 1 is used where the nuclide is unknown. The first step
    is the finding, its grounds are below it. Raises DomainError, with ``field``, for input that
    cannot be true. measurement rule: JCGM 106:2012 cl. 8.3 [mem], ISO 11929-1:2019 [mem], [own].
    """
    _check_limit(limit)
    _check_number(most_counts_per_decay, "most_counts_per_decay", above=1.0, equal=True)
    most = most_counts_per_decay if nuclide is not None else 1.0
    case = _Case(limit, nuclide, gas, most, efficiency_as_given)
    if isinstance(result, Counted):
        return _finished(*_judge_counted(result, case))
    if isinstance(result, Reported):
        return _finished(*_judge_reported(result, case))
    return _finished(*_judge_declared(result, case))


def _finished(verdict: Verdict, grounds: tuple[Step, ...], cite: Cite) -> Explained[Verdict]:
    """The verdict with its finding as the first step. No infinite figure ever leaves here."""
    for item in fields(verdict):
        value = getattr(verdict, item.name)
        if isinstance(value, float) and not math.isfinite(value):
            raise DomainError("wipe_out_of_range", {"name": item.name}, field=item.name)
    names = (
        "activity_bq", "standard_uncertainty_bq", "limit_bq", "comparator", "upper_bound_bq",
        "lower_bound_bq", "detection_limit_bq", "required_detection_bq", "least_activity_bq",
        "z_background",
    )  # fmt: skip
    values: dict[str, Scalar] = {name: getattr(verdict, name) for name in names}
    steps: tuple[Step, ...] = (Step(_finding_code(verdict), values, cite, grounds),)
    if verdict.act_as_on_a_leak and verdict.outcome != "fail":
        steps += (Step("wipe_accuses", values, _RULE),)
    return Explained(verdict, steps)


def _finding_code(verdict: Verdict) -> str:
    """The sentence's code: a finding is worded by what it rests on."""
    if verdict.finding == "pass":
        if verdict.detected is None:
            return "pass_stated_below" if verdict.activity_bq is None else "pass_reported"
        return "pass_detected" if verdict.detected else "pass_not_detected"
    if verdict.finding == "inconclusive_insensitive" and verdict.detection_limit_bq is None:
        counted = verdict.gross_counts is not None
        return "inconclusive_no_detection_limit" if counted else "inconclusive_stated_above"
    return verdict.finding


# --- comparing ----------------------------------------------------------------------------------


def _same(a: float, b: float) -> bool:
    return math.isclose(a, b, rel_tol=1e-9)


def _at_or_over(value: float, level: float) -> bool:
    return value >= level or _same(value, level)


def _over(value: float, level: float) -> bool:
    return value > level and not _same(value, level)


def _below(value: float, level: float) -> bool:
    return value < level and not _same(value, level)


def _hits(value: float, level: float, comparator: str) -> bool:
    """``reaches`` counts the level itself, ``exceeds`` does not."""
    return _at_or_over(value, level) if comparator == "reaches" else _over(value, level)


# --- checking input -----------------------------------------------------------------------------


def _check_number(
    value: float, name: str, *, above: float = 0.0, equal: bool = False, code: str = ""
) -> None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise DomainError("number_not_finite", {"name": name}, field=name)
    if value < above or (value == above and not equal):
        code = code or ("number_too_small" if equal else "number_not_above")
        raise DomainError(code, {"name": name, "number": value, "least": above}, field=name)


def _check_optional(owner: object, *names: str, equal: bool) -> None:
    for name in names:
        value = getattr(owner, name)
        if value is not None:
            _check_number(value, name, equal=equal)


def _check_limit(limit: Limit | None) -> None:
    if limit is None:
        return
    _check_number(limit.bq, "limit_bq")
    _check_optional(limit, "required_detection_bq", "action_fraction", equal=False)
    if limit.comparator not in COMPARATORS:
        raise DomainError("comparator_unknown", {"given": limit.comparator}, field="comparator")


def check_factor(factor: Factor, most_counts: float) -> None:
    """An efficiency that no counter can have is refused: it would make every wipe look clean."""
    if factor.basis not in BASES:
        raise DomainError("basis_unknown", {"given": factor.basis}, field="efficiency_basis")
    _check_number(factor.efficiency, "efficiency", code="efficiency_not_positive")
    _check_optional(factor, "source_efficiency", "window_cm2", equal=False)
    _check_optional(factor, "u_rel", equal=True)
    emission = factor.basis == "per_2pi_emission"
    if emission and _over(factor.efficiency, 1.0):
        raise DomainError(
            "emission_efficiency_above_one", {"efficiency": factor.efficiency}, field="efficiency"
        )
    per_decay = factor.per_decay
    if per_decay is not None and _over(per_decay, most_counts):
        values: dict[str, Scalar] = {"efficiency_per_decay": per_decay, "most_counts": most_counts}
        raise DomainError("efficiency_above_ceiling", values, field="efficiency")
    if emission and factor.source_efficiency and _over(factor.source_efficiency, most_counts):
        values = {"source_efficiency": factor.source_efficiency, "most_counts": most_counts}
        raise DomainError("source_efficiency_above_ceiling", values, field="source_efficiency")


def _whole(counts: float, field: str) -> int:
    kinds = isinstance(counts, int | float) and not isinstance(counts, bool)
    if not kinds or not math.isfinite(counts) or counts != int(counts):
        raise DomainError("counts_not_whole", {"field": field}, field=field)
    if counts < 0:
        raise DomainError("counts_below_zero", {"field": field, "counts": counts}, field=field)
    if counts > _MOST_COUNTS:
        raise DomainError("counts_too_many", {"field": field}, field=field)
    return int(counts)


def _pool(counts: tuple[RawCount, ...], name: str) -> tuple[int | None, Count | None]:
    """Sum of the counts, and the pooled count where every one has its time."""
    numbers = [_whole(number, f"{name}_counts") for number, _ in counts]
    seconds = [_seconds(time, f"{name}_seconds") for _, time in counts]
    if not numbers:
        return None, None
    known = [time for time in seconds if time is not None]
    if len(known) < len(seconds):
        return sum(numbers), None
    pooled = counting.pooled(Count(n, t) for n, t in zip(numbers, known, strict=True))
    return sum(numbers), pooled


def _seconds(seconds: float | None, field: str) -> float | None:
    if seconds is None:
        return None
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        raise DomainError("count_time_not_positive", {"field": field}, field=field)
    if not math.isfinite(seconds) or seconds <= 0:
        raise DomainError("count_time_not_positive", {"field": field}, field=field)
    if seconds > _LONGEST_COUNT:
        raise DomainError("count_time_too_long", {"field": field}, field=field)
    return float(seconds)


# --- counted here -------------------------------------------------------------------------------


def _judge_counted(result: Counted, case: _Case) -> tuple[Verdict, tuple[Step, ...], Cite]:
    if result.factor is not None:
        check_factor(result.factor, case.most_counts)
    gross_counts, gross = _pool(result.gross, "gross")
    background_counts, background = _pool(result.background, "background")
    verdict = replace(
        case.blank(),
        gross_counts=gross_counts,
        gross_seconds=gross.seconds if gross else None,
        background_counts=background_counts,
        background_seconds=background.seconds if background else None,
    )
    missing = (*case.missing(), *_missing_counted(result, gross, background))
    pair = Pair(gross, background) if gross and background else None
    grounds: tuple[Step, ...] = (_limit_step(case.limit),) if case.limit else ()
    if pair:
        verdict, steps = _count_figures(verdict, pair, case)
        grounds += steps
    usable = not {"gas", "nuclide"} & set(missing)
    w = _weight(result.factor) if result.factor and usable else None
    if w and result.factor and pair:
        verdict, steps = _activity_figures(verdict, pair, w, result.factor)
        grounds += steps
    return _decided_counted(verdict, grounds, missing, case.limit)


def _missing_counted(
    result: Counted, gross: Count | None, background: Count | None
) -> tuple[str, ...]:
    factor = result.factor
    absent = {
        "counts": not result.gross,
        "background": not result.background,
        "times": bool(result.gross) > bool(gross) or bool(result.background) > bool(background),
        "efficiency": factor is None,
        "source_efficiency": factor is not None
        and factor.basis == "per_2pi_emission"
        and factor.source_efficiency is None,
        "window": factor is not None
        and factor.basis == "surface_response"
        and factor.window_cm2 is None,
    }
    return tuple(name for name, is_absent in absent.items() if is_absent)


def _limit_step(limit: Limit) -> Step:
    values: dict[str, Scalar] = {
        "limit_bq": limit.bq,
        "comparator": limit.comparator,
        "required_detection_bq": limit.detection_bq,
    }
    return Step("wipe_limit", values, limit.cite)


def _count_figures(verdict: Verdict, pair: Pair, case: _Case) -> tuple[Verdict, tuple[Step, ...]]:
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


def _count_steps(verdict: Verdict, case: _Case) -> tuple[Step, ...]:
    counts = _values(
        verdict, "gross_counts", "gross_seconds", "background_counts", "background_seconds",
        "net_rate_per_s", "net_rate_uncertainty_per_s",
    )  # fmt: skip
    net_cite = Cite("ISO 11929-1", "6", "2019", known_by="memory")
    least = {**_values(verdict, "least_activity_bq"), "most_counts": case.most_counts}
    steps = [Step("wipe_net_rate", counts, net_cite), Step("wipe_least_activity", least, _RULE)]
    if verdict.z_background is None:
        steps.append(Step("wipe_background_zero", {}, _RULE))
    else:
        steps.append(Step("wipe_background_fit", _values(verdict, "z_background"), _RULE))
    if verdict.low_counts:
        steps.append(Step("wipe_low_counts", _values(verdict, "background_counts"), _MARLAP))
    return tuple(steps)


def _values(verdict: Verdict, *names: str) -> dict[str, Scalar]:
    return {name: getattr(verdict, name) for name in names}


def _weight(factor: Factor) -> Weight | None:
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
    return _with_interval(verdict), _activity_steps(verdict, factor, floor)


def _with_interval(verdict: Verdict) -> Verdict:
    """Best estimate and probabilistically symmetric 95 % interval, for print."""
    y, u = verdict.activity_bq, verdict.standard_uncertainty_bq
    if y is None or u is None or not math.isfinite(u):
        return verdict
    best = counting.best_estimate(y, u)
    if best is None:
        return verdict
    low, high = best.symmetric
    return replace(verdict, best_estimate_bq=best.best, coverage_low_bq=low, coverage_high_bq=high)


def _activity_steps(verdict: Verdict, factor: Factor, floor: bool) -> tuple[Step, ...]:
    used: dict[str, Scalar] = {
        "efficiency": factor.efficiency,
        "source_efficiency": factor.source_efficiency,
        "window_cm2": factor.window_cm2,
        **_values(verdict, "efficiency_per_decay", "relative_uncertainty_of_factor"),
    }
    basis_cite = _RULE if factor.basis == "per_decay" else Cite("ISO 7503", known_by="memory")
    steps = [Step(f"wipe_efficiency_{factor.basis}", used, basis_cite)]
    if factor.u_rel is None:
        steps.append(Step("wipe_uncertainty_default", {"u_rel": DEFAULT_U_REL}, _RULE))
    found = _values(verdict, "activity_bq", "standard_uncertainty_bq")
    steps.append(Step("wipe_activity", found, ISO_11929))
    steps.append(Step("wipe_threshold", _values(verdict, "decision_threshold_bq"), ISO_11929))
    if verdict.upper_bound_bq is None or verdict.detection_limit_bq is None:
        u_rel = _values(verdict, "relative_uncertainty_of_factor")
        return (*steps, Step("wipe_no_detection_limit", u_rel, ISO_11929))
    steps.append(Step("wipe_detection_limit", _values(verdict, "detection_limit_bq"), ISO_11929))
    both = _values(verdict, "lower_bound_bq", "upper_bound_bq")
    steps.append(Step("wipe_bounds", both, _JCGM_106))
    if floor:
        steps.append(Step("wipe_zero_counts_floor", both, _RULE))
    return tuple(steps)


def _decided_counted(
    verdict: Verdict, grounds: tuple[Step, ...], missing: tuple[str, ...], limit: Limit | None
) -> tuple[Verdict, tuple[Step, ...], Cite]:
    if missing or limit is None:
        return _not_evaluable(verdict, grounds, missing, limit)
    finding = _counted_finding(verdict, limit)
    verdict = replace(verdict, finding=finding, outcome=outcome_of(finding))
    verdict, watch = _watched(_accused(verdict, limit), limit)
    return verdict, grounds + watch, _RULE


def _counted_finding(verdict: Verdict, limit: Limit) -> str:
    """Orders 1 to 6 of the decision rule; the order is the rule."""
    if verdict.z_background is not None and verdict.z_background < -counting.BACKGROUND_Z:
        return "inconclusive_background"
    if verdict.detection_limit_bq is None and not _accuses(verdict, limit):
        return "inconclusive_insensitive"
    return _figures_finding(verdict, limit)


def _accuses(verdict: Verdict, limit: Limit) -> bool:
    """The measured value hits the limit and lies above the decision threshold, if there is one."""
    y, threshold = verdict.activity_bq, verdict.decision_threshold_bq
    if y is None or not _hits(y, limit.bq, limit.comparator):
        return False
    return threshold is None or y > threshold


def _figures_finding(verdict: Verdict, limit: Limit) -> str:
    """Orders 2 to 6 for figures from any hand; a missing y# is for the caller to judge."""
    lower, upper = verdict.lower_bound_bq, verdict.upper_bound_bq
    if _accuses(verdict, limit):
        confirmed = lower is not None and _at_or_over(lower, limit.bq)
        return "fail_confirmed" if confirmed else "fail_provisional"
    sharp = verdict.detection_limit_bq
    if sharp is None:
        sharp = verdict.decision_threshold_bq  # a laboratory may state only this one
    if sharp is not None and _over(sharp, limit.detection_bq):
        return "inconclusive_insensitive"
    if upper is not None and _below(upper, limit.bq):
        return "pass"
    return "inconclusive_between"


def outcome_of(finding: str) -> str:
    """The outcome that a finding belongs to: its first words."""
    return next(outcome for outcome in OUTCOMES if finding.startswith(outcome))


def _not_evaluable(
    verdict: Verdict, grounds: tuple[Step, ...], missing: tuple[str, ...], limit: Limit | None
) -> tuple[Verdict, tuple[Step, ...], Cite]:
    """Order 0: the first thing missing names the finding, each other one has a step."""
    steps = tuple(Step(f"missing_{name}", {}, _RULE) for name in missing[1:])
    verdict = replace(verdict, finding=f"not_evaluable_{missing[0]}", outcome="not_evaluable")
    return _accused(verdict, limit), steps + grounds, _RULE


def _accused(verdict: Verdict, limit: Limit | None) -> Verdict:
    """Bad evidence never clears and still accuses."""
    if limit is None:
        return replace(verdict, act_as_on_a_leak=None)
    least = verdict.least_activity_bq
    accused = verdict.outcome == "fail" or (least is not None and _at_or_over(least, limit.bq))
    return replace(verdict, act_as_on_a_leak=accused)


def _watched(verdict: Verdict, limit: Limit) -> tuple[Verdict, tuple[Step, ...]]:
    """The action level is a flag only: orders 2 and 3 with that level."""
    action = limit.bq * limit.action_fraction
    if not _accuses(verdict, replace(limit, bq=action)):
        return verdict, ()
    values = {**_values(verdict, "activity_bq"), "action_level_bq": action}
    return replace(verdict, watch=True), (Step("wipe_watch", values, _RULE),)


# --- counted elsewhere --------------------------------------------------------------------------


def _judge_reported(result: Reported, case: _Case) -> tuple[Verdict, tuple[Step, ...], Cite]:
    _check_reported(result)
    verdict, steps = _reported_figures(result, case)
    if case.limit:
        steps = (_limit_step(case.limit), *steps)
    missing = case.missing()
    if missing or case.limit is None:
        verdict, steps, cite = _not_evaluable(verdict, steps, missing, case.limit)
        accuses = case.limit is not None and _stated_at_or_over(verdict, case.limit)
        return (replace(verdict, act_as_on_a_leak=True) if accuses else verdict), steps, cite
    finding = _reported_finding(result, verdict, case.limit)
    declared = finding == "inconclusive_declared"
    verdict = replace(
        verdict, finding=finding, outcome=outcome_of(finding), needs_acceptance=declared
    )
    verdict, watch = _watched(_accused(verdict, case.limit), case.limit)
    return verdict, steps + watch, _LABORATORY


def _check_reported(result: Reported) -> None:
    if result.activity_bq is not None:
        _check_number(result.activity_bq, "activity_bq", above=-math.inf)
    _check_optional(
        result, "expanded_uncertainty_bq", "coverage_factor", "less_than_bq", "at_most_bq",
        "detection_limit_bq", "decision_threshold_bq", "laboratory_detection_limit_bq",
        equal=False,
    )  # fmt: skip
    stated = [v is not None for v in (result.activity_bq, result.less_than_bq, result.at_most_bq)]
    if sum(stated) > 1:
        raise DomainError("reported_two_figures", field="activity_bq")
    if not any(stated) and not result.not_detected:
        raise DomainError("reported_no_figure", field="activity_bq")
    if result.expanded_uncertainty_bq is not None and result.activity_bq is None:
        raise DomainError("uncertainty_without_activity", field="expanded_uncertainty_bq")
    if result.coverage_factor is not None and result.expanded_uncertainty_bq is None:
        raise DomainError("coverage_without_uncertainty", field="coverage_factor")


def _reported_figures(result: Reported, case: _Case) -> tuple[Verdict, tuple[Step, ...]]:
    verdict = replace(
        case.blank(),
        activity_bq=result.activity_bq,
        decision_threshold_bq=result.decision_threshold_bq,
        detection_limit_bq=result.detection_limit_bq,
    )
    if result.activity_bq is None:
        return _stated_below(result, verdict)
    if result.expanded_uncertainty_bq is None:
        return verdict, (Step("reported_alone", _values(verdict, "activity_bq"), _LABORATORY),)
    u = result.expanded_uncertainty_bq / (result.coverage_factor or 1.0)
    verdict = replace(
        verdict,
        standard_uncertainty_bq=u,
        lower_bound_bq=result.activity_bq - K_ONE_SIDED * u,
        upper_bound_bq=result.activity_bq + K_ONE_SIDED * u,
    )
    values: dict[str, Scalar] = {
        **_values(verdict, "activity_bq", "standard_uncertainty_bq"),
        "expanded_uncertainty_bq": result.expanded_uncertainty_bq,
        "coverage_factor": result.coverage_factor,
    }
    code = "reported_with_uncertainty" if result.coverage_factor else "reported_without_coverage"
    both = _values(verdict, "lower_bound_bq", "upper_bound_bq")
    steps = (Step(code, values, _LABORATORY), Step("wipe_bounds", both, _JCGM_106))
    return _with_interval(verdict), steps


def _stated_below(result: Reported, verdict: Verdict) -> tuple[Verdict, tuple[Step, ...]]:
    """ "< x" and "<= x"; "not detected" takes the laboratory's limit for the nuclide as "< x"."""
    x, code = _upper_statement(result)
    if x is None:
        return verdict, (Step(code, {}, _LABORATORY),)
    verdict = replace(verdict, upper_bound_bq=x)
    if code == "reported_not_detected":
        verdict = replace(verdict, detection_limit_bq=x)
    return verdict, (Step(code, {"stated_bq": x}, _LABORATORY),)


def _upper_statement(result: Reported) -> tuple[float | None, str]:
    if result.less_than_bq is not None:
        return result.less_than_bq, "reported_less_than"
    if result.at_most_bq is not None:
        return result.at_most_bq, "reported_at_most"
    x = result.detection_limit_bq or result.laboratory_detection_limit_bq
    return x, "reported_not_detected" if x is not None else "reported_not_detected_alone"


def _reported_finding(result: Reported, verdict: Verdict, limit: Limit) -> str:
    """Findings of a laboratory result: the same rule, with what the statement can bear."""
    sharp, x = verdict.detection_limit_bq, verdict.upper_bound_bq
    if result.activity_bq is not None and x is not None:
        return _figures_finding(verdict, limit)
    if _stated_at_or_over(verdict, limit):
        return "fail_provisional"
    if sharp is not None and _over(sharp, limit.detection_bq):
        return "inconclusive_insensitive"
    if x is None:
        return "inconclusive_declared"
    strict = result.at_most_bq is not None and limit.comparator == "reaches"
    clears = _below(x, limit.bq) if strict else not _over(x, limit.bq)
    return "pass" if clears else "inconclusive_insensitive"


def _stated_at_or_over(verdict: Verdict, limit: Limit) -> bool:
    """A stated activity at or over the limit accuses whatever else is stated or missing."""
    return verdict.activity_bq is not None and _at_or_over(verdict.activity_bq, limit.bq)


def _judge_declared(result: Declared, case: _Case) -> tuple[Verdict, tuple[Step, ...], Cite]:
    """No figures: a failure stands at once, a pass waits for a named person to accept it."""
    if not result.passed:
        verdict = replace(case.blank(), outcome="fail", finding="fail_declared")
        return replace(verdict, act_as_on_a_leak=True), (), _LABORATORY
    missing = case.missing()
    if missing:
        return _not_evaluable(case.blank(), (), missing, case.limit)
    verdict = replace(case.blank(), outcome="inconclusive", finding="inconclusive_declared")
    return replace(verdict, needs_acceptance=True), (), _LABORATORY


# --- frozen as data -----------------------------------------------------------------------------

_INTEGERS = ("gross_counts", "background_counts")
_TEXTS = ("outcome", "finding", "nuclide", "comparator", "efficiency_basis", "formula_version")


def verdict_to_data(verdict: Verdict) -> dict[str, str | bool | None]:
    """The verdict as JSON data, numbers as the shortest decimal string that reads back the same."""
    data: dict[str, str | bool | None] = {}
    for item in fields(verdict):
        value = getattr(verdict, item.name)
        is_data = value is None or isinstance(value, bool | str)
        data[item.name] = value if is_data else repr(value)
    return data


def verdict_from_data(data: Mapping[str, str | bool | None]) -> Verdict:
    """The verdict that ``verdict_to_data`` wrote; keys that it did not know yet stay None."""
    values: dict[str, object] = {}
    for item in fields(Verdict):
        value = data.get(item.name)
        if isinstance(value, str) and item.name not in _TEXTS:
            value_read = int(value) if item.name in _INTEGERS else float(value)
            values[item.name] = value_read
        elif item.name in data:
            values[item.name] = value
    return Verdict(**values)  # type: ignore[arg-type]
