"""Laboratories: describe one. They do not move and are not places."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.calc.units import Activity
from inventory.items.actions import describe_new
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import ItemKind, Record
from inventory.ledger.write import writing

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


def new_laboratory(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    on: date,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Describe a laboratory that counts wipes for the site, from a day on."""
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        item = describe_new(ledger, ItemKind.LABORATORY, snapshot, on, request_key=request_key)
        return Record.objects.get(about__item=item)
