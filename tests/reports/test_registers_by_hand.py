"""Every register of any day, known now or then, is what somebody works out by hand from the texts
of the records alone."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from inventory.calc.asof import AsOf
from reports.registers.csv_out import to_csv
from reports.registers.kinds import KINDS, build
from tests.oracle import (
    due_register_by_hand,
    leak_register_by_hand,
    monitor_register_by_hand,
    register_by_hand,
)
from tests.reports.world import BEGINS, LONG_AGO, World

pytestmark = pytest.mark.django_db
LAST = date(2025, 3, 31)
days = st.dates(BEGINS - timedelta(10), LAST + timedelta(400))
knowns = st.none() | st.dates(BEGINS, LAST)
some = settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@pytest.fixture(scope="module", params=[3])
def world(request, django_db_setup, django_db_blocker):
    """A random world at the end of its life; nothing here writes to it."""
    with (
        django_db_blocker.unblock(),
        pytest.MonkeyPatch.context() as patch,
        transaction.atomic(),
    ):
        world = World(request.param, patch)
        world.live_on(LAST, world.acts * 3 + [world.wipe] * 15, LONG_AGO)
        yield world
        transaction.set_rollback(True)


def known_at(world: World, day: date | None) -> datetime | None:
    """The end of a day where the site is."""
    if day is None:
        return None
    return datetime.combine(day, time.max, tzinfo=ZoneInfo(world.site.time_zone))


def table(world: World, kind: str, at: AsOf, since: date | None = None) -> list[dict[str, str]]:
    register = build(KINDS[kind], world.site, at, by=world.rps, made_at=world.moment, since=since)
    return list(csv.DictReader(io.StringIO(to_csv(register).decode("utf-8-sig"))))


def without_apostrophes(row: dict[str, str]) -> dict[str, str]:
    """What neutralising formulas put before a field."""
    return {head: value.removeprefix("'") for head, value in row.items()}


@some
@given(day=days, known=knowns)
def test_the_sources(world, day, known):
    at = AsOf(day, known_at(world, known))
    found, expected = table(world, "source", at), register_by_hand.rows(world.site, day, at.known)
    assert len(found) == len(expected)
    for row, wanted in zip(found, expected, strict=True):
        activity, by_hand = row.pop("On the day (Bq)"), wanted.pop("On the day (Bq)")
        assert row == wanted
        assert (activity == by_hand == "") or float(activity) == pytest.approx(float(by_hand))


@some
@given(day=days, known=knowns, since=st.none() | days)
@example(day=LAST, known=None, since=None)
def test_the_leak_tests(world, day, known, since):
    at = AsOf(day, known_at(world, known))
    found = list(map(without_apostrophes, table(world, "leak", at, since)))
    verdicts = [row.pop("Verdict") for row in found]
    for row in found:
        row.pop("Corrections and late entries")
    assert found == leak_register_by_hand.rows(world.site, day, at.known, since)
    for row, verdict in zip(found, verdicts, strict=True):
        begins = {"passes": "Passes:", "fails": ("Fails:", "Stated to have failed")}
        assert verdict.startswith(begins.get(row["Outcome"], row["Outcome"].capitalize()))


@some
@given(day=days, known=knowns)
@example(day=LAST, known=None)
def test_the_monitors(world, day, known):
    at = AsOf(day, known_at(world, known))
    found = table(world, "monitor", at)
    assert found == monitor_register_by_hand.rows(world.site, day, at.known)


@some
@given(day=days, known=knowns)
@example(day=LAST, known=None)
def test_what_is_overdue_and_open(world, day, known):
    at = AsOf(day, known_at(world, known))
    found = table(world, "due", at)
    expected = due_register_by_hand.rows(world.site, day, at.known)
    reasons = {tuple(reason) for reason in _reasons(expected)}
    for row in found:
        shown = (row["Code"], row["To be done"], row.pop("Why"))
        assert reasons & {shown, (*shown[:2], "")}
    for row in expected:
        row.pop("why")
    assert Counter(map(_plain, found)) == Counter(map(_plain, expected))
    ranks = [_rank(row) for row in found]
    assert ranks == sorted(ranks)


def _reasons(rows: list[dict[str, str]]) -> Iterator[tuple[str, str, str]]:
    for row in rows:
        yield row["Code"], row["To be done"], row["why"]


def _plain(row: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(row.items()))


def _rank(row: dict[str, str]) -> tuple[int, int, str]:
    """Requirements by urgency and day, then follow-ups, then open points."""
    part = {"follow-up": 1, "open point": 2}.get(row["To be done"], 0)
    words = ("failed, out", " late", "never", "interval", "due")
    state = row["State"] if part == 0 else ""
    return part, next((n for n, word in enumerate(words) if word in state), 9), row["Due on"]
