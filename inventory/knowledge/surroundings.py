"""What stands around a source: the gauges that it was ever in, and who was in them with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import reduce
from operator import or_

from django.db.models import Q

from inventory.calc import due, stays
from inventory.calc.nuclides import NuclideData
from inventory.knowledge.known import Known
from inventory.knowledge.moves import moves_of
from inventory.knowledge.ordering import put_in_order
from inventory.knowledge.reading import Links, bodies_in, mentions_of
from inventory.ledger import body as bodies
from inventory.ledger.models import Item, ItemKind, Record, RecordItem
from inventory.rules.schema import OF_CONTENTS, Row
from inventory.schedule.models import SETTING_KIND

#: What the row of a gauge's setting is called beside those of what is inside.
OF_GAUGE = ".of-gauge"


def load_described(
    items: Collection[int], table: Mapping[str, NuclideData], known: datetime | None
) -> dict[int, Known]:
    """Of these items their descriptions and settings, and nothing else."""
    if not items:
        return {}
    found = {item.pk: Known(item) for item in Item.objects.filter(pk__in=items)}
    mentions = mentions_of(found, known, (bodies.DESCRIBED, SETTING_KIND))
    bodies_of = bodies_in(mentions)
    for pk, one in found.items():
        one.nuclides = table
        put_in_order(one, mentions.get(pk, []), Links(), bodies_of)
    return found


def fill(found: Mapping[int, Known], known: datetime | None, companions: bool) -> None:
    """Put in the gauges that sources were in, and who else was in them where a schedule asks."""
    were_in = gauges_of(found)
    table = next(iter(found.values())).nuclides if found else {}
    gauges = {pk for some in were_in.values() for pk in some}
    light = load_described(gauges - found.keys(), table, known)
    holders = {pk: holder((light | dict(found))[pk]) for pk in gauges}
    for pk, some in were_in.items():
        if found[pk].item.kind == ItemKind.SOURCE:
            found[pk].holders = {gauge: holders[gauge] for gauge in some}
    schedules = {id(one.schedules): one.schedules for one in found.values()}
    settings = [setting for one in found.values() for setting in one.settings]
    settings += [setting for held in holders.values() for setting in held.settings]
    asked = any(asks_for_companions(of_site) for of_site in schedules.values())
    if gauges and (companions or asked or settings_ask(settings)):
        _fill_companions(found, were_in, known)


def _fill_companions(
    found: Mapping[int, Known], were_in: Mapping[int, set[int]], known: datetime | None
) -> None:
    """For a source who was in its gauges with it, for a gauge what was ever inside."""
    inside = inside_of({pk for some in were_in.values() for pk in some}, known)
    wanted = {
        pk: {other for gauge in some for other in inside.get(gauge, ())} - {pk}
        for pk, some in were_in.items()
    }
    every = {other for some in wanted.values() for other in some}
    table = next(iter(found.values())).nuclides
    light = load_described(every - found.keys(), table, known)
    moves = moves_of(every - found.keys(), known)
    companions = {pk: companion(light[pk], moves.get(pk, [])) for pk in light} | {
        pk: companion(found[pk], found[pk].moves) for pk in every & found.keys()
    }
    for pk, some in wanted.items():
        found[pk].companions = [companions[other] for other in sorted(some)]


def gauges_of(found: Mapping[int, Known]) -> dict[int, set[int]]:
    """The gauges that each source was ever put into; of a gauge itself."""
    sources = {
        pk: {move.gauge for move in one.moves if move.gauge is not None}
        for pk, one in found.items()
        if one.item.kind == ItemKind.SOURCE
    }
    return sources | {pk: {pk} for pk, one in found.items() if one.item.kind == ItemKind.GAUGE}


def asks_for_companions(schedules: Sequence[due.Schedule]) -> bool:
    """Whether a schedule looks at everything in a device together."""
    return any(_asks(row) for schedule in schedules for row in schedule.rules.rows)


def settings_ask(settings: Sequence[due.Setting]) -> bool:
    """Whether what was decided for one thing alone looks at everything in a device together."""
    return any(_asks(setting.row) for setting in settings)


def settings_of_sites_ask(sites: Collection[int]) -> bool:
    """The same of every setting of these sites, taken back or not: one query. A text that only
    mentions such a condition counts too, for then merely more is looked at than must be."""
    named = reduce(or_, (Q(body__contains=f'"{name}"') for name in sorted(OF_CONTENTS)))
    return Record.objects.filter(named, site__in=sites, kind=SETTING_KIND).exists()


def _asks(row: Row) -> bool:
    return any(name in OF_CONTENTS for name, _wanted in row.when)


def inside_of(gauges: Collection[int], known: datetime | None) -> dict[int, set[int]]:
    """The sources that were ever put into each of these gauges: one query."""
    rows = RecordItem.objects.filter(record__movement__gauge__in=gauges)
    if known is not None:
        rows = rows.filter(record__recorded_at__lte=known)
    out: dict[int, set[int]] = defaultdict(set)
    for gauge, item in rows.values_list("record__movement__gauge_id", "item_id"):
        out[gauge].add(item)
    return out


def holder(gauge: Known) -> due.Holder:
    """What a gauge says about what it holds. Its settings by another name than those of the thing
    itself: one of the same authority may stand on both."""
    settings = [
        replace(one, row=replace(one.row, id=f"{one.row.id}{OF_GAUGE}")) for one in gauge.settings
    ]
    return due.Holder(gauge.traits(), settings)


def companion(other: Known, moves: list[stays.Move]) -> due.Companion:
    """Another source, as far as what is in a device together needs it."""
    return due.Companion(stays.told(moves), other.traits())
