"""What things, places and kinds of work are called where they are listed ahead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from config.accounts.models import Site
from inventory.calc.due import Schedule
from inventory.calc.stays import AT_LOCATION, IN_GAUGE
from inventory.knowledge import requirements_said
from inventory.ledger.models import Item, ItemKind
from inventory.sentences import value_text
from inventory.timeline import Stay

#: Whereabouts of what is here: at its place, alone or in a gauge.
HERE = (AT_LOCATION, IN_GAUGE)


class Kinds:
    """The words for kinds of work, a site's own ones included."""

    def __init__(self, schedules: Sequence[Schedule]) -> None:
        self._said = list(requirements_said(schedules))
        self._words = {one.name: one.title for each in schedules for one in each.rules.own_kinds}

    def word(self, requirement: str) -> str:
        """What a requirement is called."""
        if requirement not in self._words:
            self._words[requirement] = value_text("requirement", requirement)
        return self._words[requirement]

    @property
    def choices(self) -> dict[str, str]:
        """Every kind of work that the site asks for, with its word."""
        return {name: self.word(name) for name in self._said}


@dataclass(frozen=True, slots=True)
class Thing:
    """An item as it is listed."""

    code: str
    label: str
    kind: str
    order: str


@dataclass(frozen=True, slots=True)
class Names:
    """The items of a site, and where they are on a day."""

    things: Mapping[int, Thing]
    gauge_of: Mapping[int, int] = field(default_factory=dict)
    place_of: Mapping[int, int | None] = field(default_factory=dict)  # only of what is here
    on_site: frozenset[int] = frozenset()  # what has a stay, away or not

    def label(self, item: int | None) -> str:
        """What it is called; nothing for no item."""
        thing = self.things.get(item) if item is not None else None
        return thing.label if thing else ""

    def where(self, item: int) -> str:
        """Gauge and place, as far as there are any; a place itself is nowhere else."""
        if self.things[item].kind == ItemKind.LOCATION:
            return ""
        around = (self.gauge_of.get(item), self.place_of.get(item))
        return ", ".join(self.label(one) for one in around if one)


def names_of(site: Site, on: date) -> Names:
    """Two queries, whatever there is."""
    rows = Item.objects.filter(site=site).values_list("pk", "code", "label", "kind", "label_sort")
    things = {pk: Thing(*cells) for pk, *cells in rows}
    places: dict[int, int | None] = {
        pk: pk for pk, thing in things.items() if thing.kind == ItemKind.LOCATION
    }
    gauges, there = {}, set()
    stays = Stay.objects.on(on).filter(site=site)
    for item, gauge, location, whereabouts in stays.values_list(
        "item", "gauge", "location", "whereabouts"
    ):
        there.add(item)
        if whereabouts in HERE:
            places[item] = location
            if gauge:
                gauges[item] = gauge
    return Names(things, gauges, places, frozenset(there))
