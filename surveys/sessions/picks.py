"""What is due, to be put into the grid: by place, gauge for gauge, the most urgent first."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from config.accounts.models import Site
from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.timeline import RequirementSpan, Stay

#: What falls due within that time is worth taking along.
AHEAD = timedelta(days=60)
#: The most that a page offers, due first; any other name can be written.
MOST_DUE, MOST_NAMES = 200, 300


@dataclass(slots=True)
class Pick:
    """A gauge with all its sources, or a source by itself."""

    name: str
    label: str
    state: str
    sentences: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Offer:
    """What the page offers. ``more``: how many due tests did not fit."""

    groups: list[tuple[str, list[Pick]]]
    names: list[tuple[str, str]]
    more: int

    @property
    def due(self) -> int:
        """How many wipes that would be."""
        return sum(len(picks) for _place, picks in self.groups)


def offer(site: Site, items: Any, on: date) -> Offer:
    """What is due and what names there are, in a fixed number of queries."""
    spans = RequirementSpan.objects.needs_doing(on, AHEAD).filter(
        site=site, requirement=LEAK_TEST, item__in=items.values("pk")
    )
    found = list(spans.select_related("item__source")[: MOST_DUE + 1])
    more = max(0, spans.count() - MOST_DUE) if len(found) > MOST_DUE else 0
    due = found[:MOST_DUE]
    things = items.of_kind(ItemKind.SOURCE, ItemKind.GAUGE).order_by("kind", "label_sort")
    others = list(things.select_related("source", "gauge")[:MOST_NAMES])
    stays = {
        stay.item_id: stay
        for stay in Stay.objects.on(on)
        .filter(item__in=[span.item_id for span in due])
        .select_related("gauge__gauge", "location")
    }
    groups = _groups(due, stays, on)
    return Offer(groups, _names(groups, others), more)


def name_of(item: Item) -> str:
    """What people write for it: the tag, the serial, or the code where no serial is known."""
    if item.kind == ItemKind.GAUGE:
        return item.gauge.tag
    return item.source.serial or item.code


def _groups(
    spans: Sequence[RequirementSpan], stays: dict[int, Stay], on: date
) -> list[tuple[str, list[Pick]]]:
    """By place; sources of the same gauge are one wipe."""
    shared = {name for name, times in Counter(map(_name, spans)).items() if times > 1}
    out: dict[str, dict[str, Pick]] = defaultdict(dict)
    for span in spans:
        stay = stays.get(span.item_id)
        gauge = stay.gauge if stay else None
        name = name_of(gauge) if gauge else _name(span)
        if gauge is None and name in shared:
            name = span.item.code
        place = str(stay.location) if stay and stay.location else _("Place not known")
        state = span.decision.state_on(on)
        label = gauge.label if gauge else span.item.label
        pick = out[place].setdefault(name, Pick(name, label, state))
        said = state_sentence(span.decision, on)
        pick.sentences.append(f"{span.item.label}: {said}" if gauge else said)
    return [(place, list(picks.values())) for place, picks in out.items()]


def _name(span: RequirementSpan) -> str:
    return name_of(span.item)


def _names(
    groups: Sequence[tuple[str, list[Pick]]], others: Sequence[Item]
) -> list[tuple[str, str]]:
    """Every name on offer once, due ones first, with what it stands for."""
    out = {pick.name: pick.label for _place, picks in groups for pick in picks}
    for item in others:
        out.setdefault(name_of(item), item.label)
    return list(out.items())[: MOST_NAMES + MOST_DUE]
