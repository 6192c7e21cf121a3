"""The verdicts about shutdowns of any day are what somebody works out by hand from the texts of the
records alone."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from inventory.ledger.models import Record
from inventory.shutdowns.actions import Plan, change, plan, take_back
from inventory.shutdowns.models import Shutdown
from inventory.timeline import RequirementSpan
from reports.ahead.asked import Asked
from reports.ahead.read import look_ahead
from tests import factories
from tests.oracle import ahead_by_hand
from tests.reports.world import BEGINS, LONG_AGO, World

pytestmark = pytest.mark.django_db
LAST = date(2025, 3, 31)


class Planning(World):
    """A random world in which shutdowns are planned, changed and taken back."""

    def __init__(self, seed: int, patch: pytest.MonkeyPatch) -> None:
        super().__init__(seed, patch)
        outer = self.places[1]
        self.places.append(factories.make_location(self.site, "Pit", within=outer.code))

    def plan_stop(self, on: date, after: date = LONG_AGO) -> Record:
        return plan(self.site, self._stop(), by=self.rps, at=self.tick())

    def change_stop(self, on: date, after: date = LONG_AGO) -> Record:
        old = self._planned()
        return change(old, self._stop(), by=self.rps, at=self.tick(), reason="parts are late")

    def take_stop_back(self, on: date, after: date = LONG_AGO) -> Record:
        return take_back(self._planned(), by=self.rps, at=self.tick(), reason="full order book")

    def _planned(self) -> Record:
        found = Shutdown.objects.planned_on(self.site, self.today).select_related("record")
        return self.rng.choice(list(found)).record

    def _stop(self) -> Plan:
        """Near a day on which something is due, or on any day."""
        due = RequirementSpan.objects.on(self.today).filter(site=self.site, due_on__gte=self.today)
        days = [*due.order_by("pk").values_list("due_on", flat=True)] or [self.today]
        near = self.rng.choice([self.rng.choice(days), self.today + timedelta(400)])
        begins = near + timedelta(self.rng.randrange(-60, 60))
        ends = max(begins + timedelta(self.rng.randrange(120)), self.today)
        place = self.rng.choice([None, None, *self.places])
        return Plan(f"Stop {self.rng.randrange(100)}", place, begins, ends)


@pytest.fixture(scope="module", params=[5, 6])
def world(request, django_db_setup, django_db_blocker) -> Iterator[Planning]:
    """A random world at the end of its life; nothing here writes to it."""
    with (
        django_db_blocker.unblock(),
        pytest.MonkeyPatch.context() as patch,
        transaction.atomic(),
    ):
        world = Planning(request.param, patch)
        acts = [world.plan_stop] * 12 + [world.change_stop, world.take_stop_back] * 3
        world.live_on(LAST, acts + [world.wipe] * 25 + world.acts, LONG_AGO)
        yield world
        transaction.set_rollback(True)


def found(world: Planning, day: date, months: int) -> dict[int, set[tuple[str, str, str, int]]]:
    asked = Asked(site=world.site, on=day, today=world.today, months=months)
    ahead = look_ahead(asked)
    return {
        stop.shutdown.record.seq: {
            (ahead.names.things[one.need.item].code, one.need.requirement, one.verdict, one.days)
            for one in stop.verdicts
        }
        for stop in ahead.stops
    }


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(day=st.dates(BEGINS, LAST + timedelta(400)), months=st.integers(0, 12))
@example(day=LAST, months=3)
def test_the_verdicts(world, day, months):
    assert found(world, day, months) == ahead_by_hand.verdicts(world.site, day, months)


def test_the_world_has_every_verdict(world):
    days = [LAST - timedelta(50) * number for number in range(20)]
    every = [some for day in days for some in found(world, day, 6).values()]
    assert len(every) >= 10
    said: set[Any] = {one[2] for some in every for one in some}
    assert said == {"falls_short", "reached", "take_along", "no_date"}
