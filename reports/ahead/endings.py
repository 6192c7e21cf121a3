"""What ends in the years to come: working lives, certificates, permits, and levels of activity."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from inventory.calc.ahead import Ending, Need, Year, by_year, levels_ahead
from inventory.ledger.models import ItemKind
from inventory.nuclides.read import nuclides

LEVEL: Final = "level"
#: The day that a description states, and the requirement that knows of extensions of it.
STATED: Final = {
    (ItemKind.SOURCE, "working_life_until"): "working_life",
    (ItemKind.SOURCE, "special_form_until"): "special_form",
    (ItemKind.PERMIT, "valid_until"): "permit_validity",
    (ItemKind.LABORATORY, "valid_until"): "laboratory",
}
KINDS: Final = (ItemKind.SOURCE, ItemKind.PERMIT, ItemKind.LABORATORY)


@dataclass(frozen=True, slots=True)
class Years:
    """The years in which something ends, and of how many sources no decay could be worked out."""

    years: Sequence[Year]
    unknown: int


def years_ahead(
    kinds: Mapping[int, str],
    snapshots: Mapping[int, Mapping[str, Any]],
    needs: Collection[Need],
    on: date,
) -> Years:
    """What ends from a day on. ``kinds``: of the items asked about. A date that a requirement
    knows (a working life that the adviser extended) holds before the stated one."""
    held = {(need.item, need.requirement): need.due_on for need in needs if need.due_on}
    endings: list[Ending] = []
    unknown = 0
    table = nuclides()
    for item, kind in kinds.items():
        snapshot = snapshots.get(item, {})
        endings += _stated(item, kind, snapshot, held)
        if kind == ItemKind.SOURCE:
            levels = _levels(item, snapshot, table, on)
            endings += levels or ()
            unknown += levels is None
    return Years(by_year(endings, on), unknown)


def _stated(
    item: int, kind: str, snapshot: Mapping[str, Any], held: Mapping[tuple[int, str], date]
) -> Iterator[Ending]:
    for (of_kind, trait), requirement in STATED.items():
        if of_kind != kind:
            continue
        stated = snapshot.get(trait)
        day = held.get((item, requirement)) or (date.fromisoformat(stated) if stated else None)
        if day is not None:
            yield Ending(day, item, requirement)


def _levels(
    item: int, snapshot: Mapping[str, Any], table: Mapping[str, Any], on: date
) -> list[Ending] | None:
    """The levels that a source falls below; None where something for it is not known."""
    nuclide = table.get(snapshot.get("nuclide", ""))
    stated, reference = snapshot.get("activity_bq"), snapshot.get("reference_on")
    if nuclide is None or not stated or not reference:
        return None
    found = levels_ahead(float(stated), date.fromisoformat(reference), nuclide, on)
    return [Ending(one.first_on, item, LEVEL, one.threshold) for one in found if one.first_on]
