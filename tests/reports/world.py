"""A random world of sources that grows day by day. The same seed makes the same world."""

from __future__ import annotations

import copy
import csv
import random
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import FIXTURE
from inventory.custody.actions import Movement, correct_movement, move
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.items.actions import change, correct, snapshot_of
from inventory.ledger.models import Item, Record, RecordLink
from inventory.nuclides.actions import load_nuclides
from inventory.requirements.actions import set_schedule
from inventory.timeline import Stay
from surveys.calc.leak import Reported
from surveys.leak.actions import accept_leak_test, record_leak_test
from surveys.leak.wipe import DeclaredBy, FromLaboratory, Wipe
from surveys.monitors.actions import Certificate, record_calibration
from tests import factories

BEGINS = date(2022, 1, 3)
LONG_AGO = date(1, 1, 1)
NUCLIDES = ("Cs-137", "Co-60", "Am-241", "Sr-90", "Kr-85", "Ni-63")
GROSS = (431, 431, 431, 90_000, 12_000)


class World:
    """One site with a store, two areas, four gauges, two counters and fifteen sources."""

    def __init__(self, seed: int, patch: pytest.MonkeyPatch) -> None:
        self.rng = random.Random(seed)
        self.moment = datetime.combine(BEGINS, time(8), tzinfo=UTC)
        patch.setattr(factories, "tick", self.tick)
        self.site = factories.make_site(f"world-{seed}")
        self.rps = factories.rps_of(self.site)
        self.technician = factories.make_user()
        factories.give_role(self.technician, self.site, Role.TECHNICIAN)
        names = ("Store", "Tank house", "Pump room")
        self.places = [factories.make_location(self.site, name) for name in names]
        self.gauges = [
            factories.make_gauge(self.site, f"G-{n}", at=self.rng.choice(self.places), on=BEGINS)
            for n in range(4)
        ]
        self.counters = [factories.make_monitor(self.site, calibrated_on=None) for _ in range(2)]
        factories.calibrate(self.counters[0], BEGINS)
        self.sources: list[Item] = []
        for _ in range(15):
            self.new_source(BEGINS)

    def copy(self, seed: str, patch: pytest.MonkeyPatch) -> World:
        """The same world, to go on from here in another way."""
        other = copy.copy(self)
        other.sources, other.rng = list(self.sources), random.Random(seed)
        patch.setattr(factories, "tick", other.tick)
        return other

    def tick(self) -> datetime:
        self.moment += timedelta(minutes=1)
        return self.moment

    @property
    def today(self) -> date:
        return self.moment.date()

    def wait_until(self, day: date) -> None:
        self.moment = max(self.moment, datetime.combine(day, time(8), tzinfo=UTC))

    def live(self, after: date, **filters: Any) -> Record:
        """A record that nobody has corrected, effective after a day."""
        found = Record.objects.filter(
            site=self.site, replaced_by__isnull=True, effective_on__gt=after, **filters
        )
        return self.rng.choice(list(found.order_by("seq")))

    # ------------------------------------------------------------ acts, effective on a day

    def new_source(self, on: date, after: date = LONG_AGO) -> Record:
        number = len(self.sources) + 1
        fields: dict[str, Any] = {"nuclide": self.rng.choice(NUCLIDES), "serial": f"W-{number}"}
        if number % 5 == 0:
            fields |= {"serial": "", "serial_unknown_because": "plate unreadable"}
        if number % 6 == 0:
            fields |= {"activity_text": "", "activity_bq": None}
        elif number % 4 == 0:
            fields |= {"activity_text": "37 kBq", "activity_bq": Decimal(37000)}
        if number % 7 == 0:
            fields |= {"reference_text": "2019", "reference_on": date(2019, 12, 31)}
            fields |= {"reference_precision": "year"}
        source = factories.make_source(
            self.site, to=self.rng.choice([*self.places, *self.gauges]), on=on, **fields
        )
        self.sources.append(source)
        return Record.objects.get(about__item=source, kind="received")

    def _wipe(self, on: date, sources: list[Item], **act: Any) -> Record:
        by = act.pop("by", self.rng.choice([self.rps, self.technician]))
        act |= {"accepted": by == self.rps, "accept_because": "seen on paper"}
        if self.rng.random() < 0.4:
            result = self.rng.choice([self._declared, self._reported])()
            wipe = Wipe(sources, on, result, sampled_by="B. Sampler")
            return record_leak_test(
                site=self.site, by=by, at=self.tick(), wipe=wipe, **{"accepted": False} | act
            )
        counter, gross = self.rng.choice(self.counters), [(self.rng.choice(GROSS), 600.0)]
        return factories.record_wipe(sources, counter, on, by=by, gross=gross, act=act)

    def _declared(self) -> DeclaredBy:
        return DeclaredBy(self.rng.random() < 0.8, "the maker's engineer")

    def _reported(self) -> FromLaboratory:
        return FromLaboratory("Invented Laboratory", Reported(less_than_bq=5.0))

    def wipe(self, on: date, after: date = LONG_AGO) -> Record:
        return self._wipe(on, self.rng.sample(self.sources, self.rng.choice([1, 1, 1, 2])))

    def correct_wipe(self, on: date, after: date = LONG_AGO) -> Record:
        old = self.live(after, kind="leak_test")
        sources = [mention.item for mention in old.about.filter(role="subject")]
        if self.rng.random() < 0.3:
            sources = [self.rng.choice(self.sources)]
        return self._wipe(on, sources, replaces=old, because="misread")

    def accept(self, on: date, after: date = LONG_AGO) -> Record:
        accepted = RecordLink.objects.filter(role="accepts").values("target")
        waiting = Record.objects.filter(
            site=self.site, kind="leak_test", accepted_by=None, replaced_by=None
        ).exclude(pk__in=accepted)
        record = self.rng.choice(list(waiting.order_by("seq")))
        return accept_leak_test(record, by=self.rps, at=self.tick(), reason="seen on paper")

    def close(self, on: date, after: date = LONG_AGO) -> Record:
        points = FollowUp.objects.still_open().filter(site=self.site, opened_on__lte=on)
        if not points.exists():
            source = self.rng.choice(self.sources)
            factories.record_wipe(source, self.counters[0], on, gross=[(90_000, 600.0)])
        point = self.rng.choice(list(points.order_by("pk")))
        return close_follow_up(point, by=self.rps, at=self.tick(), on=on, reason="wiped again")

    def move_source(self, on: date, after: date = LONG_AGO) -> Record:
        source, to = self.rng.choice(self.sources), self.rng.choice([*self.places, *self.gauges])
        inside = Stay.objects.on(on).filter(item=source, gauge__isnull=False).exists()
        verb = "installed" if to.kind == "gauge" else "removed" if inside else "moved"
        return move(Movement(verb, source, to, on), by=self.rps, at=self.tick())

    def go_about(self, on: date, after: date = LONG_AGO) -> Record:
        """A source or a gauge goes to a job, to the maker or into storage, or comes from there."""
        item = self.rng.choice([*self.sources, *self.gauges])
        verb = self.rng.choice(
            ["out", "back", "back", "sent_away", "arrived", "returned", "stored"]
        )
        to = self.rng.choice(self.places) if verb in ("returned", "stored") else None
        whom = {"out": "Bridge works", "sent_away": "Maker"}.get(verb, "")
        return move(Movement(verb, item, to, on, away_to=whom), by=self.rps, at=self.tick())

    def correct_move(self, on: date, after: date = LONG_AGO) -> Record:
        kinds = ("moved", "installed", "removed", "stored")
        old = self.live(after, kind__in=kinds, about__item__kind="source")
        verb = old.kind
        to = self.rng.choice(self.gauges if verb == "installed" else self.places)
        movement = Movement(verb, old.about.get().item, to, on)
        return correct_movement(old, movement, by=self.rps, at=self.tick(), reason="wrong place")

    def correct_arrival(self, on: date, after: date = LONG_AGO) -> Record:
        old = self.live(after, kind="received", about__item__kind="source")
        movement = Movement("received", old.about.get().item, self.rng.choice(self.places), on)
        return correct_movement(old, movement, by=self.rps, at=self.tick(), reason="wrong day")

    def move_gauge(self, on: date, after: date = LONG_AGO) -> Record:
        gauge, to = self.rng.choice(self.gauges), self.rng.choice(self.places)
        return move(Movement("moved", gauge, to, on), by=self.rps, at=self.tick())

    def describe_source(self, on: date, after: date = LONG_AGO) -> Record:
        return self._describe(self.sources, on)

    def describe_gauge(self, on: date, after: date = LONG_AGO) -> Record:
        return self._describe(self.gauges, on)

    def describe_place(self, on: date, after: date = LONG_AGO) -> Record:
        return self._describe(self.places, on)

    def _describe(self, items: list[Item], on: date) -> Record:
        item = self.rng.choice(items)
        described = item.mentions.filter(kind="described", record__replaced_by=None)
        last = described.order_by("-effective_on", "-record__seq")[0].record
        snapshot = self._edited(snapshot_of(last))
        return change(item, snapshot, by=self.rps, at=self.tick(), on=on, reason="inspected")

    def correct_source(self, on: date, after: date = LONG_AGO) -> Record:
        return self._correct_description("source", after)

    def correct_gauge(self, on: date, after: date = LONG_AGO) -> Record:
        return self._correct_description("gauge", after)

    def correct_place(self, on: date, after: date = LONG_AGO) -> Record:
        return self._correct_description("location", after)

    def _correct_description(self, kind: str, after: date) -> Record:
        old = self.live(after, kind="described", about__item__kind=kind)
        snapshot = self._edited(snapshot_of(old))
        return correct(old, snapshot, by=self.rps, at=self.tick(), reason="misread")

    def _edited(self, snapshot: dict[str, Any]) -> dict[str, Any]:
        mark = f"{snapshot['label'].split('~')[0]}~{self.rng.randrange(1000)}"
        if "nuclide" not in snapshot:
            return snapshot | {"label": mark}
        return snapshot | {
            "label": mark,
            "maker": f"Maker {self.rng.randrange(100)}",
            "activity_text": "1.11 GBq",
            "activity_bq": Decimal("1.11e9"),
        }

    def calibrate(self, on: date, after: date = LONG_AGO) -> Record:
        passed = self.rng.random() < 0.8
        return factories.calibrate(self.rng.choice(self.counters), on, passed=passed)

    def correct_calibration(self, on: date, after: date = LONG_AGO) -> Record:
        old = self.live(after, kind="calibration")
        certificate = Certificate(on=on, passed=True, efficiencies=factories.EFFICIENCIES)
        return record_calibration(
            old.instrument,
            certificate,
            **{"by": self.rps, "at": self.tick(), "accepted": True},
            **{"replaces": old, "reason": "wrong certificate"},
        )

    def schedule(self, on: date, after: date = LONG_AGO) -> Record:
        return set_schedule(
            self.site,
            **{"by": self.rps, "at": self.tick(), "rule_set": "gb", "version": 1, "from_on": on},
            **{"adopted_on": on, "adopted_by": f"Adviser {self.rng.randrange(100)}"},
        )

    def half_life(self, folder: Path) -> Record:
        """The half-life of Cs-137 was wrong in the nuclide table."""
        with FIXTURE.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            if row["nuclide"] == "Cs-137":
                row |= {"half_life": "29", "half_life_days": str(29 * 365.2422)}
        path = folder / "nuclides.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0])
            writer.writeheader()
            writer.writerows(rows)
        load_nuclides(by=self.rps, at=self.tick(), path=path)
        return Record.objects.filter(site=self.site).latest("seq")

    # ------------------------------------------------------------ many acts

    def try_hard(
        self, act: Callable[..., Record], day: Callable[[], date], after: date = LONG_AGO
    ) -> Record | None:
        """An act on some day on which it was possible; None when it never was."""
        for _ in range(40):
            try:
                with transaction.atomic():
                    return act(day(), after)
            except (DomainError, IndexError):  # not on that day, or nothing to correct yet
                continue
        return None

    def live_on(self, until: date, acts: list[Callable[..., Record]], after: date) -> None:
        """The acts in random order, one after the other until a day; some of them late."""
        self.rng.shuffle(acts)
        step = max((until - self.today) / (len(acts) + 1), timedelta(1))
        impossible = 0
        while acts:
            self.wait_until(min(self.today + step, until))
            act = acts.pop(0)
            if self.try_hard(act, lambda: self._some_day(after), after) is None:
                acts.append(act)
                impossible += 1
            assert impossible < 50, f"{act.__name__} was never possible"
        self.wait_until(until)

    def _some_day(self, after: date) -> date:
        if self.rng.random() < 0.6:
            return self.today
        first = max(BEGINS, after + timedelta(1))
        return first + timedelta(self.rng.randrange((self.today - first).days + 1))

    @property
    def acts(self) -> list[Callable[..., Record]]:
        """Every kind of act that can lie on any day."""
        return [
            *(self.wipe, self.correct_wipe, self.accept, self.close, self.move_source),
            *(self.correct_move, self.correct_arrival, self.move_gauge, self.go_about),
            *(self.describe_source, self.describe_gauge, self.describe_place),
            *(self.correct_source, self.correct_gauge, self.correct_place, self.calibrate),
            *(self.correct_calibration, self.schedule, self.new_source),
        ]
