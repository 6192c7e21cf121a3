"""The source register of a day: what happens later leaves it alone, what is learnt later shows."""

from __future__ import annotations

import csv
import io
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
from reports.registers.csv_out import to_csv
from tests.oracle import register_by_hand
from tests.reports.world import BEGINS, LONG_AGO, World

DAY = date(2024, 6, 30)
LATER = date(2025, 6, 30)


@pytest.fixture(scope="module", params=[1])
def evening(request, django_db_setup, django_db_blocker):
    """The world on the evening of the day."""
    with (
        django_db_blocker.unblock(),
        pytest.MonkeyPatch.context() as patch,
        transaction.atomic(),
    ):
        world = World(request.param, patch)
        world.live_on(DAY, world.acts * 3 + [world.wipe] * 20, LONG_AGO)
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(evening, request, monkeypatch):
    """That world, going on in a way of its own."""
    return evening.copy(request.node.name, monkeypatch)


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
    *("correct_place", "correct_move", "correct_arrival", "describe_source", "close"),
    *("new_source", "describe_place"),
]


@pytest.mark.django_db
@pytest.mark.parametrize("act", LATE)
def test_what_is_learnt_later_changes_its_own_rows_and_says_so(world, act):
    then = AsOf(DAY, world.moment)
    known, before = what_it_says(register_of(world, then)), lines(register_of(world))
    world.live_on(LATER, [world.wipe, world.describe_source], DAY)
    record = world.try_hard(getattr(world, act), lambda: day_before(world))
    register = register_of(world)
    after = lines(register)
    changed = differing(before, after)
    assert changed <= with_its_sources(record, DAY)
    assert changed or act.endswith("place")  # nothing may be there
    assert all(names(record, after[code][-1]) for code in changed & after.keys())
    if changed - after.keys():
        assert any(names(record, note.text) for note in register.notes)
    assert what_it_says(register_of(world, then)) == known


@pytest.mark.django_db
def test_a_source_that_was_not_there_after_all_is_named_in_a_note(world):
    then, before = AsOf(DAY, world.moment), lines(register_of(world))
    known = what_it_says(register_of(world, then))
    world.wait_until(LATER)
    record = world.try_hard(world.correct_arrival, lambda: LATER)
    register = register_of(world)
    gone = record.about.get().item.code
    assert differing(before, lines(register)) == {gone} == before.keys() - lines(register).keys()
    assert names(record, register.notes[-1].text)
    assert "is not listed" in register.notes[-1].text
    assert what_it_says(register_of(world, then)) == known


@pytest.mark.django_db
def test_a_schedule_set_later_is_named_in_a_note(world):
    then = AsOf(DAY, world.moment)
    known = what_it_says(register_of(world, then))
    world.wait_until(LATER)
    record = world.schedule(DAY)
    register = register_of(world)
    assert "adopted on 30 Jun 2024" in register.schedule_line
    assert names(record, register.notes[-1].text)
    assert what_it_says(register_of(world, then)) == known


@pytest.mark.django_db
def test_a_corrected_half_life_changes_its_nuclide_alone_and_says_so(world, tmp_path):
    then = AsOf(DAY, world.moment)
    known, before = what_it_says(register_of(world, then)), lines(register_of(world))
    world.wait_until(LATER)
    record = world.half_life(tmp_path)
    after = lines(register_of(world))
    changed = differing(before, after)
    assert changed == {code for code, cells in after.items() if cells[2] == "Cs-137"} != set()
    assert all(names(record, after[code][-1]) for code in changed)
    assert what_it_says(register_of(world, then)) == known


@pytest.mark.django_db
@pytest.mark.parametrize("day", [BEGINS, date(2022, 11, 30), date(2023, 8, 1), DAY, LATER])
def test_its_csv_is_what_somebody_works_out_by_hand(world, day):
    assert_same(to_csv(register_of(world, AsOf(day))), register_by_hand.rows(world.site, day))


def assert_same(content: bytes, by_hand: list[dict[str, str]]) -> None:
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))
    assert len(rows) == len(by_hand)
    for row, expected in zip(rows, by_hand, strict=True):
        found, wanted = row.pop("On the day (Bq)"), expected.pop("On the day (Bq)")
        assert row == expected
        assert (found == wanted == "") or float(found) == pytest.approx(float(wanted), rel=1e-12)


def day_before(world: World) -> date:
    return BEGINS + timedelta(world.rng.randrange((DAY - BEGINS).days + 1))


def differing(before: dict[str, Any], after: dict[str, Any]) -> set[str]:
    return {code for code in before | after if before.get(code) != after.get(code)}


def names(record: Record, note: str) -> bool:
    """Whether a note names the record, or says that the one before it was corrected."""
    old = record.replaces.seq if record.replaces else 0
    return bool(re.search(rf"record ({record.seq} |{old} \([^)]*\) was corrected)", note))
