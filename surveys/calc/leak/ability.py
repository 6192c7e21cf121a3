"""Can a counter tell about a nuclide at all, and how long must it count? Told before the round.

Wipe and background are taken to count equally long, on a clean wipe, with the last background known
(measurement rule 1.6: inversion of y#, [own], checked by root finding).
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.calc.explain import Cite, Explained, Scalar, Step

from .. import counting
from ..counting import ISO_11929, Count, Weight
from .checks import check_factor, check_limit
from .compare import at_or_over
from .counted import gaps_of_factor, weight_of
from .rule import limit_step
from .terms import DEFAULT_U_REL, Factor, Limit

PLANNED = Cite("counting-time rule, inversion of the detection limit", known_by="own")
#: The two counting times that a plan is told for (s).
SHORT, LONG = 60.0, 600.0
#: Good practice: see a tenth of the limit (10 to 50 % for clearance levels, EURSSEM [seen]).
TENTH = 0.1


@dataclass(frozen=True, slots=True)
class Ability:
    """What a counter can do for a nuclide. None: the value does not exist or cannot be told.

    ``answer``: ``never_...`` (and why), ``unknown_...`` (what is missing), ``within_1_min``,
    ``within_10_min`` or ``longer``: after how long a clean wipe can pass.
    """

    answer: str
    detection_1_min_bq: float | None = None
    detection_10_min_bq: float | None = None
    seconds_to_pass: float | None = None
    seconds_to_tenth: float | None = None

    @property
    def never(self) -> bool:
        """Whether no time will do."""
        return self.answer.startswith("never_")


def ability(
    factor: Factor | None,
    background: Count | None,
    limit: Limit | None,
    *,
    nuclide: str | None,
    gas: bool = False,
    most_counts_per_decay: float = 1.0,
) -> Explained[Ability]:
    """What a counter with this efficiency and this background can tell about a nuclide."""
    check_limit(limit)
    if factor is not None:
        check_factor(factor, most_counts_per_decay)
    why = _never(factor, nuclide, gas)
    weight = weight_of(factor) if factor is not None and not why else None
    if factor is None or weight is None:
        return _explained(Ability(f"never_{why}"), ())
    grounds = (_efficiency_step(factor, weight),)
    if _no_limit_exists(weight):
        return _explained(Ability("never_uncertainty"), grounds)
    if background is None:
        return _explained(Ability("unknown_background"), grounds)
    return _planned(weight, background, limit, grounds)


def _never(factor: Factor | None, nuclide: str | None, gas: bool) -> str:
    """Why no wipe on this counter can ever be judged for the nuclide, gravest first."""
    if gas:
        return "gas"
    if nuclide is None:
        return "nuclide"
    return "efficiency" if factor is None else next(iter(gaps_of_factor(factor)), "")


def _no_limit_exists(weight: Weight) -> bool:
    return at_or_over(counting.K_ONE_SIDED * weight.u_rel, 1.0)


def _planned(
    weight: Weight, background: Count, limit: Limit | None, grounds: tuple[Step, ...]
) -> Explained[Ability]:
    rate = counting.planning_rate(background)
    short, long = (counting.planned_detection_limit(rate, t, weight) for t in (SHORT, LONG))
    found = Ability("unknown_limit", short, long)
    values: dict[str, Scalar] = {
        "background_counts": background.counts,
        "background_seconds": background.seconds,
        "background_per_s": rate,
    }
    code = "ability_background" if background.counts else "ability_background_zero"
    grounds += (Step(code, values, PLANNED),)
    grounds += (Step("ability_limits", {"short_bq": short, "long_bq": long}, ISO_11929),)
    if limit is None:
        return _explained(found, grounds)
    to_pass = counting.time_to_pass(limit.detection_bq, limit.bq, rate, weight)
    to_tenth = counting.counting_time(limit.bq * TENTH, rate, weight)
    found = Ability(_answer(to_pass), short, long, to_pass, to_tenth)
    times: dict[str, Scalar] = {
        "to_pass_s": to_pass,
        "to_tenth_s": to_tenth,
        "required_detection_bq": limit.detection_bq,
        "tenth_bq": limit.bq * TENTH,
    }
    grounds += (limit_step(limit), Step("ability_times", times, PLANNED))
    return _explained(found, grounds)


def _answer(seconds: float | None) -> str:
    if seconds is None:
        return "never_uncertainty"
    if seconds <= SHORT:
        return "within_1_min"
    return "within_10_min" if seconds <= LONG else "longer"


def _efficiency_step(factor: Factor, weight: Weight) -> Step:
    values: dict[str, Scalar] = {
        "efficiency_per_decay": 1 / weight.w,
        "relative_uncertainty_of_factor": weight.u_rel,
    }
    code = "ability_efficiency" if factor.u_rel is not None else "ability_efficiency_default"
    return Step(code, values | {"u_rel": DEFAULT_U_REL}, PLANNED)


def _explained(found: Ability, grounds: tuple[Step, ...]) -> Explained[Ability]:
    values: dict[str, Scalar] = {"to_pass_s": found.seconds_to_pass}
    return Explained(found, (Step(f"ability_{found.answer}", values, PLANNED, grounds),))
