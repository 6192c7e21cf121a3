"""The decision rule, the same for counts and for a laboratory's figures.

JCGM 106:2012 cl. 8.3 [mem], [own]. Marks: [mem] from memory, [own] decided here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from inventory.calc.explain import Cite, Scalar, Step

from .. import counting
from .compare import at_or_over, below, hits, over
from .terms import OUTCOMES, Limit, Verdict

RULE = Cite("Decision rule for wipe tests", "guarded acceptance", known_by="own")
JCGM_106 = Cite("JCGM 106", "8.3", "2012", known_by="memory")

#: A verdict, the grounds of its finding and what the finding rests on.
Judgement = tuple[Verdict, tuple[Step, ...], Cite]


@dataclass(frozen=True, slots=True)
class Case:
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


def accuses(verdict: Verdict, limit: Limit) -> bool:
    """The measured value hits the limit and lies above the decision threshold, if there is one."""
    y, threshold = verdict.activity_bq, verdict.decision_threshold_bq
    if y is None or not hits(y, limit.bq, limit.comparator):
        return False
    return threshold is None or y > threshold


def figures_finding(verdict: Verdict, limit: Limit) -> str:
    """Orders 2 to 6 for figures from any hand; a missing y# is for the caller to judge."""
    lower, upper = verdict.lower_bound_bq, verdict.upper_bound_bq
    if accuses(verdict, limit):
        confirmed = lower is not None and at_or_over(lower, limit.bq)
        return "fail_confirmed" if confirmed else "fail_provisional"
    if insensitive(verdict, limit):
        return "inconclusive_insensitive"
    if upper is not None and below(upper, limit.bq):
        return "pass"
    return "inconclusive_between"


def insensitive(verdict: Verdict, limit: Limit) -> bool:
    """Order 4. No detection limit lies below its threshold, so either one over L_d says so."""
    sharp = (verdict.detection_limit_bq, verdict.decision_threshold_bq)
    return any(one is not None and over(one, limit.detection_bq) for one in sharp)


def outcome_of(finding: str) -> str:
    """The outcome that a finding belongs to: its first words."""
    return next(outcome for outcome in OUTCOMES if finding.startswith(outcome))


def not_evaluable(
    verdict: Verdict, grounds: tuple[Step, ...], missing: tuple[str, ...], limit: Limit | None
) -> Judgement:
    """Order 0: the first thing missing names the finding, each other one has a step."""
    steps = tuple(Step(f"missing_{name}", {}, RULE) for name in missing[1:])
    verdict = replace(verdict, finding=f"not_evaluable_{missing[0]}", outcome="not_evaluable")
    return accused(verdict, limit), steps + grounds, RULE


def accused(verdict: Verdict, limit: Limit | None) -> Verdict:
    """Bad evidence never clears and still accuses."""
    if limit is None:
        return replace(verdict, act_as_on_a_leak=None)
    least = verdict.least_activity_bq
    acts = verdict.outcome == "fail" or (least is not None and at_or_over(least, limit.bq))
    return replace(verdict, act_as_on_a_leak=acts)


def watched(verdict: Verdict, limit: Limit) -> tuple[Verdict, tuple[Step, ...]]:
    """The action level is a flag only: orders 2 and 3 with that level."""
    action = limit.bq * limit.action_fraction
    if not accuses(verdict, replace(limit, bq=action)):
        return verdict, ()
    values = {**pick(verdict, "activity_bq"), "action_level_bq": action}
    return replace(verdict, watch=True), (Step("wipe_watch", values, RULE),)


def limit_step(limit: Limit) -> Step:
    """What it was judged against, as the first ground."""
    values: dict[str, Scalar] = {
        "limit_bq": limit.bq,
        "comparator": limit.comparator,
        "required_detection_bq": limit.detection_bq,
    }
    return Step("wipe_limit", values, limit.cite)


def pick(verdict: Verdict, *names: str) -> dict[str, Scalar]:
    """Some of a verdict's values, for a step."""
    return {name: getattr(verdict, name) for name in names}


def with_interval(verdict: Verdict) -> Verdict:
    """Best estimate and probabilistically symmetric 95 % interval, for print."""
    y, u = verdict.activity_bq, verdict.standard_uncertainty_bq
    if y is None or u is None or not math.isfinite(u):
        return verdict
    best = counting.best_estimate(y, u)
    if best is None:
        return verdict
    low, high = best.symmetric
    return replace(verdict, best_estimate_bq=best.best, coverage_low_bq=low, coverage_high_bq=high)
