"""What the monitors of a site can measure, and on which days to come they are in date and here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.calc.ahead import Cover, Days, Span, cover, in_date
from inventory.calc.stays import AT_LOCATION
from inventory.ledger.models import ItemKind
from inventory.timeline import LAST, Stay
from reports.ahead.asked import Asked

WIPE_COUNTER = "wipe_counter"


def abilities(snapshot: Mapping[str, Any]) -> frozenset[str]:
    """What a monitor measures, as codes: ``wipe_counter``, else ``kind:radiation``, ``kind:``
    where its description names no radiation. What only shows that there is some measures none."""
    kind = snapshot.get("monitor_kind") or ""
    if snapshot.get("presence_only"):
        return frozenset()
    if kind == WIPE_COUNTER:
        return frozenset({kind})
    return frozenset({f"{kind}:{snapshot.get('radiation') or ''}"})


@dataclass(frozen=True, slots=True)
class MonitorCover:
    """What can be measured and when not; the days on which each monitor is in date and here."""

    covers: Sequence[Cover]
    in_date: Mapping[int, Sequence[Days]]


def monitor_cover(
    asked: Asked, spans: Iterable[Span], snapshots: Mapping[int, Mapping[str, Any]], end: date
) -> MonitorCover:
    """The gaps, until the day before ``end``, of everything that a monitor on site can measure: one
    query. ``spans``: of everything required; ``snapshots``: of the monitors on site."""
    of_monitor: dict[int, list[Span]] = defaultdict(list)
    for span in spans:
        of_monitor[span.item].append(span)
    here = _here(asked)
    good = {monitor: in_date(of_monitor[monitor], here.get(monitor, ())) for monitor in snapshots}
    can = {key: abilities(one) for key, one in snapshots.items()}
    return MonitorCover(cover(can, good, asked.on, end), good)


def _here(asked: Asked) -> Mapping[int, Sequence[Days]]:
    """The days, from a day on, on which each monitor is at its place; what is out on a job, away
    or on its way measures nothing here. Of a past day only where it was then counts."""
    stays = Stay.objects.filter(site=asked.site, item__kind=ItemKind.MONITOR)
    stays = stays.on(asked.on) if asked.past else stays.filter(until_on__gte=asked.on)
    out: dict[int, list[Days]] = defaultdict(list)
    rows = stays.filter(whereabouts=AT_LOCATION).values_list("item", "from_on", "until_on")
    for monitor, first, last in rows:
        out[monitor].append((first, LAST if asked.past else last))
    return out
