"""Questions about a source on a day: its activity, decayed, and its category."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from inventory.calc import category, decay
from inventory.calc.explain import Explained, Step
from inventory.calc.nuclides import NuclideData


def activity_on(
    snapshot: Mapping[str, Any], nuclide: NuclideData | None, on: date
) -> Explained[float | None]:
    """Activity in Bq at the start of a day; None where activity, date or nuclide is unknown."""
    stated, reference = snapshot.get("activity_bq"), snapshot.get("reference_on")
    if not stated or not reference or nuclide is None:
        return Explained(None, (Step("activity_unknown"),))
    decayed = decay.activity_on(
        float(stated),
        date.fromisoformat(reference),
        on,
        nuclide.half_life_days,
        nuclide.half_life_source,
    )
    return Explained(decayed.value, decayed.steps)


def category_on(
    nuclide: NuclideData | None, activity_bq: float | None
) -> Explained[int | None] | None:
    """Category of one source by A/D; None where A or D is not known."""
    if nuclide is None or activity_bq is None:
        return None
    pairs = [(nuclide, activity_bq)]
    ratio = category.a_over_d(pairs)
    if ratio.value.at_least:
        return None
    found = category.category(ratio.value.value or 0.0, category.above_exemption(pairs))
    return Explained(found.value, (*ratio.steps, *found.steps))
