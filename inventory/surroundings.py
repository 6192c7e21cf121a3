"""What stands around a source: the gauges that it was ever in, and who was in them with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from functools import reduce
from operator import or_
from typing import TYPE_CHECKING

from django.db.models import Q

from inventory.calc import due, stays
from inventory.ledger.models import ItemKind, Record, RecordItem
from inventory.rules.schema import OF_CONTENTS, Row
from inventory.schedule.models import SETTING_KIND

if TYPE_CHECKING:
    from inventory.knowledge import Known


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
    """What a gauge says about what it holds."""
    return due.Holder(gauge.traits(), gauge.settings)


def companion(other: Known, moves: list[stays.Move]) -> due.Companion:
    """Another source, as far as what is in a device together needs it."""
    return due.Companion(stays.told(moves), other.traits())
