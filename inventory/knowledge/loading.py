"""Everything that is known of many items, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime

from inventory.calc import due, stays
from inventory.calc.moves import MISSING
from inventory.calc.nuclides import NuclideData
from inventory.knowledge import surroundings
from inventory.knowledge.known import Known
from inventory.knowledge.moves import moves_with_gauges
from inventory.knowledge.ordering import put_in_order
from inventory.knowledge.reading import bodies_in, links_in, mentions_of
from inventory.knowledge.schedules import read_schedules, requirements_said
from inventory.ledger.models import Item, ItemKind
from inventory.nuclides.read import nuclides


def load(
    items: Collection[int], known: datetime | None = None, *, companions: bool = False
) -> dict[int, Known]:
    """What is known of these items, now or by the moment ``known``: a fixed number of queries.
    ``companions``: who was in a gauge with whom, also where no schedule of the site asks."""
    found = {item.pk: Known(item) for item in Item.objects.filter(pk__in=items)}
    mentions = mentions_of(found, known)
    links = links_in(mentions)
    table = _nuclides(found, known)
    sites = {one.item.site_id for one in found.values()}
    schedules = read_schedules(sites, known)
    bodies_of = bodies_in(mentions)
    moves = moves_with_gauges(found, known)
    said = {site: requirements_said(schedules.get(site, ())) for site in sites}
    for pk, one in found.items():
        one.nuclides = table
        one.schedules = schedules.get(one.item.site_id, ())
        one.said = said[one.item.site_id]
        one.moves = moves.get(pk, [])
        put_in_order(one, mentions.get(pk, []), links, bodies_of)
    _fill_stays(found, moves)
    surroundings.fill(found, known, companions)
    return found


def _nuclides(found: Mapping[int, Known], known: datetime | None) -> dict[str, NuclideData]:
    kinds = (ItemKind.SOURCE, ItemKind.GAUGE)  # a gauge is asked what is inside
    needed = any(one.item.kind in kinds for one in found.values())
    return nuclides(known) if needed else {}


def _fill_stays(found: Mapping[int, Known], moves: Mapping[int, list[stays.Move]]) -> None:
    own = {pk: stays.timeline(of_item) for pk, of_item in moves.items()}
    for pk, one in found.items():
        one.stays = stays.resolved(own.get(pk, []), own)
        one.lost_with = list(_lost_with_gauge(own.get(pk, []), moves))


def _lost_with_gauge(
    own: Sequence[stays.StaySpan], moves: Mapping[int, Sequence[stays.Move]]
) -> Iterator[due.Event]:
    """The reports that a gauge was missing while this was inside: nobody saw this either, and a
    look at the gauge that was found is none at what is in it."""
    for span in own:
        for move in moves.get(span.gauge or 0, ()):
            if move.verb == MISSING and span.covers(move.on):
                yield due.Event(
                    *(move.record, move.seq, MISSING, move.on, move.time),
                    accuses=True,
                    place=move.place,
                )
