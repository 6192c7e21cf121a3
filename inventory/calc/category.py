"""A/D and the category of sources, alone or together (RS-G-1.9, from memory).

A/D is the sum over the nuclides of activity over D-value; 10 CFR 37 App. A adds fractions in the
same way and counts a sum of 1.0 as reached.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from .decay import RELATIVE_EQUALITY, strictly_below
from .explain import Cite, Explained, Scalar, Step
from .nuclides import NuclideData

BQ_PER_TBQ: Final = 1e12

#: Least A/D of each category; below the last one it is 5, or none at or below exemption.
CATEGORY_FROM: Final = ((1, 1000.0), (2, 10.0), (3, 1.0), (4, 0.01))

RS_G_1_9: Final = Cite("IAEA RS-G-1.9", "categories by A/D", "2005", known_by="memory")


@dataclass(frozen=True, slots=True)
class AOverD:
    """The sum over the nuclides with a known D, and the names of those whose D is unknown.

    Unknown is not fine: with any name in ``unknown`` the sum is only a lower bound.
    """

    known_sum: float
    unknown: tuple[str, ...] = ()

    @property
    def at_least(self) -> bool:
        """Whether the true A/D may be higher."""
        return bool(self.unknown)

    @property
    def value(self) -> float | None:
        """A/D, None where it is not known."""
        return None if self.unknown else self.known_sum


def a_over_d(pairs: Iterable[tuple[NuclideData, float]]) -> Explained[AOverD]:
    """Sum of A/D of nuclides and their activities in Bq; the same nuclide is added first.

    A nuclide without a D-value (unlimited) counts 0; one whose D is unknown, or known from memory
    only, makes the sum a lower bound.
    """
    activities: dict[str, list[float]] = {}
    nuclides: dict[str, NuclideData] = {}
    for nuclide, activity_bq in pairs:
        nuclides[nuclide.name] = nuclide
        activities.setdefault(nuclide.name, []).append(activity_bq)
    steps = [_one(nuclides[name], math.fsum(parts)) for name, parts in activities.items()]
    unknown = tuple(str(step.values["nuclide"]) for step in steps if step.code == "d_unknown")
    total = math.fsum(ratio for step in steps if (ratio := _ratio(step)) is not None)
    code = "a_over_d_at_least" if unknown else "a_over_d"
    step = Step(code, {"a_over_d": total}, RS_G_1_9, because=tuple(steps))
    return Explained(AOverD(total, unknown), (step,))


def _ratio(step: Step) -> float | None:
    ratio = step.values.get("ratio")
    return ratio if isinstance(ratio, float) else None


def _one(nuclide: NuclideData, activity_bq: float) -> Step:
    """The step of one nuclide: its fraction, or why it has none."""
    values: dict[str, Scalar] = {"nuclide": nuclide.name, "activity_bq": activity_bq}
    if nuclide.d_unlimited:
        return Step("d_unlimited", values, Cite(nuclide.d_source))
    d_tbq = nuclide.category_d_tbq
    if d_tbq is None:
        return Step("d_unknown", values)
    d_bq = d_tbq * BQ_PER_TBQ
    values |= {"d_bq": d_bq, "ratio": activity_bq / d_bq}
    return Step("a_over_d_of_nuclide", values, Cite(nuclide.d_source))


def above_exemption(pairs: Iterable[tuple[NuclideData, float]]) -> bool | None:
    """Whether activities in Bq lie above exemption: the sum of A over the exemption activity is
    more than 1 (2013/59/Euratom Annex VII; mixtures by the sum of fractions). None if unknown.
    """
    fractions = [(n.exempt_bq, activity_bq) for n, activity_bq in pairs]
    known = math.fsum(activity / exempt for exempt, activity in fractions if exempt)
    if strictly_below(1.0, known):
        return True
    return None if any(exempt is None for exempt, _ in fractions) else False


def category(a_over_d: float, above_exemption: bool | None) -> Explained[int | None]:
    """The category 1 to 5 for a sum of A/D; None at or below the exemption activity.

    A limit is reached within 1e-9 relative. Unknown exemption (None) below A/D 0.01 is category 5.
    """
    values: dict[str, Scalar] = {"a_over_d": a_over_d}
    for number, least in CATEGORY_FROM:
        if a_over_d >= least or math.isclose(a_over_d, least, rel_tol=RELATIVE_EQUALITY):
            step = Step("category_from", {**values, "category": number, "least": least}, RS_G_1_9)
            return Explained(number, (step,))
    if above_exemption is False:
        return Explained(None, (Step("category_none", values, RS_G_1_9),))
    code = "category_5" if above_exemption else "category_5_exemption_unknown"
    return Explained(5, (Step(code, values, RS_G_1_9),))
