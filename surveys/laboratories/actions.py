"""What a laboratory is described by. It does not move and is no place."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from inventory.calc.errors import DomainError
from inventory.calc.units import Activity

#: Units that laboratories report in; a number without a unit is never taken to be in another.
UNITS = ("Bq", "mBq", "kBq", "dpm", "pCi", "nCi", "uCi")


def laboratory_snapshot(
    name: str,
    *,
    authorisation: str = "",
    valid_until: date | None = None,
    unit: str = "",
    general_limit: Activity | None = None,
    limits: Sequence[tuple[str, Activity]] = (),
    remark: str = "",
) -> dict[str, Any]:
    """The description of a laboratory; ``limits``: nuclide and the detection limit stated for it,
    ``general_limit``: what it states for every other one."""
    nuclides = [nuclide for nuclide, _limit in limits]
    for nuclide in nuclides:
        if nuclides.count(nuclide) > 1:
            raise DomainError("limit_twice", {"nuclide": nuclide}, field="limits")
    return {
        "label": name,
        "key": name,
        "name": name,
        "authorisation": authorisation,
        "valid_until": valid_until,
        "unit": unit,
        "general_limit": _limit(general_limit) if general_limit else None,
        "limits": [{"nuclide": nuclide, **_limit(limit)} for nuclide, limit in limits],
        "remark": remark,
    }


def _limit(stated: Activity) -> dict[str, Any]:
    return {"text": stated.text, "bq": stated.decimal}
