"""Can this counter do it? Every counter against every nuclide on site, before the round."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count as CountRows
from django.db.models import OuterRef, Subquery

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc.due import schedule_on
from inventory.calc.explain import Explained
from inventory.calc.nuclides import NuclideData
from inventory.ledger.models import Item, ItemKind, Record
from inventory.nuclides.read import nuclides
from inventory.rules.schema import CALIBRATION
from inventory.timeline import RequirementSpan, Stay
from surveys.calc import leak
from surveys.calc.counting import Count
from surveys.leak.judging import limit_of
from surveys.leak.models import LEAK_TEST_KIND, SESSION_KIND
from surveys.monitors.in_force import CountersOnDays, InForce
from surveys.sessions.forms import COUNTERS
from surveys.sessions.session import pooled

#: A rate that somebody gives is taken as counted for that long (s).
GIVEN_SECONDS = 60.0


@dataclass(frozen=True, slots=True)
class NuclideThere:
    """A nuclide of sources that are on site; ``data`` None: the table does not have it."""

    name: str
    sources: int
    data: NuclideData | None


@dataclass(frozen=True, slots=True)
class Background:
    """The background that a plan uses. ``record``: where it was counted; None: given by hand."""

    count: Count | None
    seq: int | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class CounterPlan:
    """One counter: its calibration, its background, and what it can do for each nuclide."""

    counter: Item
    calibration: RequirementSpan | None
    in_force: InForce
    background: Background
    abilities: Sequence[tuple[NuclideThere, Explained[leak.Ability]]]


def plans(site: Site, items: Any, on: date, rates: Mapping[str, float]) -> list[CounterPlan]:
    """Every counter on site on a day; ``rates`` (1/s, by code) stand in for a last background. The
    queries do not depend on how many counters and nuclides there are."""
    counters = _counters(items, on)
    there = nuclides_there(site, on)
    schedule = schedule_on(knowledge.schedules_of(site), on)
    limit = limit_of(schedule.rules.leak_limit) if schedule else None
    in_force = CountersOnDays(counters)
    spans = RequirementSpan.objects.on(on).filter(item__in=counters, requirement=CALIBRATION)
    states = {span.item_id: span for span in spans}
    out = []
    for counter in counters:
        now = in_force(counter, on)
        background = _background(counter, rates.get(counter.code))
        abilities = [(one, _ability(one, now, background.count, limit)) for one in there]
        out.append(CounterPlan(counter, states.get(counter.pk), now, background, abilities))
    return out


def _counters(items: Any, on: date) -> list[Any]:
    """Counters and contamination monitors that are on site, each with its last background."""
    last = (
        Record.objects.filter(instrument=OuterRef("pk"), kind__in=(SESSION_KIND, LEAK_TEST_KIND))
        .filter(replaced_by__isnull=True)
        .order_by("-effective_on", "-seq")
    )
    found = (
        items.of_kind(ItemKind.MONITOR)
        .filter(monitor__monitor_kind__in=COUNTERS)
        .filter(pk__in=Stay.objects.on(on).values("item"))
    )
    return list(
        found.annotate(
            last_body=Subquery(last.values("body")[:1]),
        ).order_by("-monitor__monitor_kind", "label_sort")
    )


def nuclides_there(site: Site, on: date) -> list[NuclideThere]:
    """The nuclides of the sources on site on a day, by name."""
    table = nuclides()
    there = (
        Stay.objects.on(on)
        .filter(site=site, item__kind=ItemKind.SOURCE)
        .values_list("item__source__nuclide")
        .annotate(sources=CountRows("item"))
    )
    return sorted(
        (NuclideThere(name or "", number, table.get(name or "")) for name, number in there),
        key=lambda one: one.name,
    )


def _background(counter: Any, rate: float | None) -> Background:
    if rate is not None:
        return Background(Count(rate * GIVEN_SECONDS, GIVEN_SECONDS))
    if not counter.last_body:
        return Background(None)
    body = json.loads(counter.last_body)
    counts = [
        (float(number), float(seconds) if seconds else None)
        for number, seconds in body["detail"].get("background") or []
    ]
    on = date.fromisoformat(body["detail"]["counted_on"])
    return Background(pooled(counts), int(body["seq"]), on)


def _ability(
    there: NuclideThere, now: InForce, background: Count | None, limit: leak.Limit | None
) -> Explained[leak.Ability]:
    data = there.data
    efficiency = now.efficiencies.get(there.name) if data else None
    return leak.ability(
        efficiency.factor() if efficiency else None,
        background,
        limit,
        nuclide=there.name if data else None,
        gas=bool(data and data.gas),
        most_counts_per_decay=data.most_counts_per_decay if data else 1.0,
    )
