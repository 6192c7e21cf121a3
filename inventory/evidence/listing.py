"""The list of things of which a check is made, drawn up for a day, place by place."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from config.accounts.models import Site
from inventory.calc import due
from inventory.evidence.kinds import THAT_STAY, subject_of
from inventory.items.places import nested
from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import ACCOUNTING
from inventory.timeline import RequirementSpan, Stay

#: More things than this do not fit one page that is filled in on a phone.
MOST = 300


@dataclass(frozen=True, slots=True)
class Listed:
    """One thing of the list: in which place and gauge it is, and what is said of the check."""

    item: Item
    place: str = ""
    gauge: str = ""
    state: str = ""
    sentence: str = ""


def listed(
    site: Site,
    requirement: str,
    on: date,
    *,
    within: Item | None = None,
    only: Collection[str] = (),
) -> list[Listed]:
    """The things of which this check is asked here on a day, in the order of their places.

    ``within``: only what is at this place or in one inside it. ``only``: these codes, whatever is
    asked of them. An accounting check is of everything there is. Four queries, whatever there is.
    """
    kind = subject_of(site, requirement)
    spans = {
        span.item_id: span
        for span in RequirementSpan.objects.on(on).filter(site=site, requirement=requirement)
    }
    stays = Stay.objects.on(on).filter(site=site, item__kind=kind)
    there = {stay.item_id: stay for stay in stays.select_related("gauge", "location")}
    items: Any = Item.objects.filter(site=site, kind=kind)
    if only:
        items = items.filter(code__in=only)
    else:
        items = [one for one in items if _asked(one, spans.get(one.pk), requirement)]
        items = [one for one in items if kind not in THAT_STAY or one.pk in there]
    if within is not None:
        items = _at(items, there, nested(site).get(within.pk, {within.pk}))
    found = [_listed(one, there.get(one.pk), spans.get(one.pk), on) for one in items]
    return sorted(found, key=lambda one: (not one.place, one.place.casefold(), one.item.label_sort))


def _asked(item: Item, span: RequirementSpan | None, requirement: str) -> bool:
    """Whether a check is asked of a thing; where nothing is said of it, it may be made."""
    return requirement == ACCOUNTING or span is None or span.state != due.NOT_REQUIRED


def _at(items: Collection[Item], there: dict[int, Stay], places: set[int]) -> list[Item]:
    """Those of the items that are at one of the places, or are one of them."""
    at = {pk for pk, stay in there.items() if stay.location_id in places}
    return [one for one in items if one.pk in (places if one.kind == ItemKind.LOCATION else at)]


def _listed(item: Item, stay: Stay | None, span: RequirementSpan | None, on: date) -> Listed:
    decision = span.decision if span else None
    return Listed(
        item,
        place=str(stay.location) if stay and stay.location else "",
        gauge=str(stay.gauge) if stay and stay.gauge else "",
        state=decision.state_on(on) if decision else "",
        sentence=state_sentence(decision, on, span.requirement) if span and decision else "",
    )


def by_place(rows: Collection[Any]) -> Iterator[tuple[str, list[Any]]]:
    """Rows with a ``line`` under the places they are in, in their order."""
    for place, found in groupby(rows, key=lambda row: row.line.place):
        yield place, list(found)
