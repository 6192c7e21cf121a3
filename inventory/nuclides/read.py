"""Nuclide data as the database has it, now or as it was known at a moment."""

from __future__ import annotations

import json
from datetime import datetime
from functools import lru_cache

from inventory.calc.nuclides import NuclideData, nuclide_from_cells
from inventory.ledger.models import Record
from inventory.nuclides.models import CHANGED_KIND, Nuclide


@lru_cache(maxsize=512)
def _parsed(text: str) -> NuclideData:
    return nuclide_from_cells(json.loads(text))


def nuclides(known: datetime | None = None) -> dict[str, NuclideData]:
    """The nuclide table by name. ``known``: as it stood at that moment, from the records of
    changes; None: as it stands now (one query)."""
    if known is None:
        rows = dict(Nuclide.objects.values_list("name", "values"))
    else:
        rows = _known_at(known)
    return {name: _parsed(json.dumps(values, sort_keys=True)) for name, values in rows.items()}


def _known_at(known: datetime) -> dict[str, dict[str, str]]:
    rows: dict[str, dict[str, str]] = {}
    changes = Record.objects.filter(
        kind=CHANGED_KIND, site__isnull=True, recorded_at__lte=known
    ).order_by("seq")
    for body in changes.values_list("body", flat=True):
        for point in json.loads(body)["points"]:
            rows[point["nuclide"]] = point
    return rows
