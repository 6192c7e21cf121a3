"""Random movements through the real actions: what is refused, where everything is on every day,
and that nothing else is known than what by hand follows from the records."""

from __future__ import annotations

from collections import Counter
from datetime import time
from typing import Any

import pytest

from inventory import derive
from inventory.calc.errors import DomainError
from inventory.calc.moves import VERBS
from inventory.custody.actions import Movement, correct_movement, move
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item, Record
from inventory.timeline import Stay
from tests.factories import make_item, make_location, make_site, make_source, rps_of, tick
from tests.inventory.tales import BEGINS, GAUGES, PLACES, SOURCES, THINGS, Tale
from tests.oracle.movements_by_hand import Site
from tests.oracle.told import told

pytestmark = pytest.mark.django_db
TALES, ACTS = 6, 90


class Told:
    """A tale that is told to a site of the database."""

    def __init__(self, seed: int) -> None:
        self.site = make_site(schedule=False)
        self.tale = Tale(seed)
        self.by = rps_of(self.site)
        self.items: dict[str, Item] = {name: make_location(self.site, name) for name in PLACES}
        for name in GAUGES:
            snapshot = {"label": name, "key": name, "tag": name}
            snapshot |= dict.fromkeys(("maker", "model", "housing_serial", "whom_to_ask"), "")
            self.items[name] = make_item(self.site, "gauge", snapshot, BEGINS)
        for name in SOURCES:
            self.items[name] = make_source(self.site, received=False, on=BEGINS, serial=name)
        self.records: dict[int, Record] = {}

    def act(self, new: dict[str, Any]) -> bool:
        """Whether it was accepted."""
        movement = Movement(
            new["verb"],
            self.items[new["thing"]],
            self.items.get(new["gauge"] or new["place"] or ""),
            new["day"],
            at_time=time.fromisoformat(new["clock"]) if new["clock"] else None,
            keeping=new["kept"],
            away_to=new["whom"],
            authorisation="Permit 7" if new["verb"] == "transferred" else "",
            owner="A contractor" if new["theirs"] else "",
        )
        try:
            if new["corrects"] is None:
                record = move(movement, by=self.by, at=tick())
            else:
                old = self.records[new["corrects"]]
                record = correct_movement(old, movement, by=self.by, at=tick(), reason="Wrong.")
        except DomainError:
            return False
        self.records[new["record"]] = record
        return True

    def stored(self, name: str) -> dict[Any, Any]:
        """Where the rows have a thing, day by day."""
        label = {item.pk: one for one, item in self.items.items()}
        out = {}
        for stay in Stay.objects.filter(item=self.items[name]):
            where = (label.get(stay.gauge_id or 0), label.get(stay.location_id or 0))
            said = (*where, stay.whereabouts, stay.keeping, stay.away_to)
            for on in self.tale.days:
                if stay.from_on <= on <= stay.until_on:
                    out[on] = said
        return out


def test_the_database_says_the_same_as_by_hand():
    accepted: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    for seed in range(1000, 1000 + TALES):
        told_site = Told(seed)
        tale = told_site.tale
        for _ in range(ACTS):
            new = tale.next()
            possible = tale.possible(new)
            assert told_site.act(new) == possible, (seed, new)
            tale.tell(new, possible)
        by_hand = Site(tale.movements)
        for name in THINGS:
            wanted = {on: by_hand.where(name, on) for on in tale.days}
            stored = told_site.stored(name)
            assert {on: stored.get(on) for on in tale.days} == wanted, (seed, name)
        missing = Record.objects.filter(site=told_site.site, kind="missing").count()
        assert FollowUp.objects.filter(site=told_site.site, kind="missing").count() == missing
        assert len([one for one in told(told_site.site) if one["live"] and one["kind"] in VERBS]) \
            == len(tale.movements)  # fmt: skip
        accepted += tale.accepted
        refused += tale.refused
    assert list(derive.rebuild(write=False)) == []
    for verb in VERBS:
        print(f"{verb:12} accepted {accepted[verb]:4} refused {refused[verb]:4}")  # noqa: T201
    assert sum(accepted.values()) >= 100
    assert sum(refused.values()) >= 100
    assert min(accepted[verb] for verb in VERBS) >= 1
    assert min(refused[verb] for verb in VERBS) >= 5
