"""The source register of a day: what happens later leaves it alone, what is learnt later shows."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction

from inventory.calc.asof import AsOf
from inventory.ledger.models import Record
from inventory.timeline import Stay
from reports.registers import source
from reports.registers.base import Register
from tests.reports.world import BEGINS, LONG_AGO, World

DAY = date(2024, 6, 30)
LATER = date(2025, 6, 30)


@pytest.fixture(scope="module", params=[1, 2])
def world(request, django_db_setup, django_db_blocker):
    """The world on the evening of the day; each test goes on from there."""
    with (
        django_db_blocker.unblock(),
        pytest.MonkeyPatch.context() as patch,
        transaction.atomic(),
    ):
        world = World(request.param, patch)
        world.live_on(DAY, world.acts * 3 + [world.wipe] * 20, LONG_AGO)
        yield world
        transaction.set_rollback(True)


def register_of(world: World, at: AsOf | None = None) -> Register:
    return source.build(
        world.site, at or AsOf(DAY), made_by=world.rps, made_at=world.moment + timedelta(days=1)
    )


def what_it_says(register: Register) -> dict[str, Any]:
    """All but the number, the moment and the head of the chain."""
    return {
        "rows": list(register.rows[:]),
        "notes": register.notes,
        "totals": register.totals,
        "schedule": register.schedule_line,
        "cautions": register.cautions,
    }


def lines(register: Register) -> dict[str, tuple[str, ...]]:
    """Each source's cells with its note, whatever the note's number."""
    notes = {note.mark: note.text for note in register.notes}
    out = {}
    for row in register.rows[:]:
        cells = [column.get(row) for column in register.columns]
        out[row.code] = (*(cell.value for cell in cells), notes.get(row.mark, ""))
    return out


def with_its_sources(record: Record, day: date) -> set[str]:
    """The codes of the items that a record names, and of the sources in or at them."""
    named = {mention.item for mention in record.about.select_related("item")}
    if record.replaces:
        named |= {mention.item for mention in record.replaces.about.select_related("item")}
    there = Stay.objects.on(day)
    inside = there.filter(gauge__in=named) | there.filter(location__in=named)
    return {item.code for item in named} | {stay.item.code for stay in inside}


@pytest.mark.django_db
def test_it_is_untouched_by_what_happens_after_the_day(world):
    before, head = what_it_says(register_of(world)), register_of(world)
    world.live_on(LATER, world.acts * 3, DAY)
    assert len(Record.objects.filter(site=world.site, effective_on__gt=DAY)) >= 48
    after = register_of(world)
    assert what_it_says(after) == before
    assert (after.number, after.chain_head) != (head.number, head.chain_head)


LATE = [
    *("wipe", "move_source", "move_gauge", "correct_wipe", "correct_source", "correct_gauge"),
    *("correct_place", "correct_move", "correct_arrival", "describe", "close", "new_source"),
]


@pytest.mark.django_db
@pytest.mark.parametrize("act", LATE)
def test_what_is_learnt_later_changes_its_own_rows_and_says_so(world, act):
    then = AsOf(DAY, world.moment)
    known, before = what_it_says(register_of(world, then)), lines(register_of(world))
    world.live_on(LATER, [world.wipe, world.describe], DAY)
    record = world.try_hard(getattr(world, act), lambda: day_before(world), LONG_AGO)
    register = register_of(world)
    changed = differing(before, lines(register))
    assert changed <= with_its_sources(record, DAY)
    for code in changed & lines(register).keys():
        assert f"record {record.seq} " in lines(register)[code][-1] or was_corrected(
            record, lines(register)[code][-1]
        )
    for code in changed - lines(register).keys():
        assert any(was_corrected(record, note.text) for note in register.notes)
    assert what_it_says(register_of(world, then)) == known


def day_before(world: World) -> date:
    return BEGINS + timedelta(world.rng.randrange((DAY - BEGINS).days + 1))


def differing(before: dict[str, Any], after: dict[str, Any]) -> set[str]:
    return {code for code in before | after if before.get(code) != after.get(code)}


def was_corrected(record: Record, note: str) -> bool:
    pattern = rf"record {record.replaces.seq if record.replaces else 0} \([^)]*\) was corrected on"
    return bool(re.search(pattern, note))
