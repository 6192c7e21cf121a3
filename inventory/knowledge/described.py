"""The traits that rules may ask for, from what a description says and from the nuclide."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from inventory.calc.explain import Scalar
from inventory.calc.nuclides import NuclideData
from inventory.rules.schema import TRAIT_DATES

#: Words and yes-or-no that a description may hold; absent means no.
_SAID = (
    *("use", "inaccessible", "portable", "type_approved", "required_by_law", "presence_only"),
    *("detects_leak_in_water", "monitor_kind", "radiation", "place_kind", "designation"),
)
_OF_NUCLIDE = ("gas", "alpha_emitter", "neutron_source", "half_life_days")


def traits(data: Mapping[str, Any], nuclide: NuclideData | None) -> dict[str, Scalar]:
    """Traits by their names in ``inventory.rules.schema``; activities in Bq, dates as days."""
    out: dict[str, Scalar] = {name: data[name] for name in _SAID if data.get(name)}
    for name in (*TRAIT_DATES, "reference_on"):
        if data.get(name):
            out[name] = date.fromisoformat(str(data[name]))
    if data.get("activity_bq"):
        out["activity_bq"] = float(data["activity_bq"])
    if nuclide is not None:
        out |= {name: getattr(nuclide, name) for name in _OF_NUCLIDE}
        out |= {"nuclide": nuclide.name, "hass_unlimited": nuclide.hass_unlimited}
        if nuclide.hass_tbq is not None:
            out["hass_tbq"] = nuclide.hass_tbq
    if data.get("physical_form"):  # tritium in a solid target is no gas, whatever its nuclide
        out["gas"] = data["physical_form"] == "gas"
    return out
