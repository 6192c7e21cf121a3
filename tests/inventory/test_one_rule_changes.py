"""One value of one rule is changed by the site: dates and explanations change of what the row
decides about, and of nothing else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from config.accounts.models import Site
from inventory import derive, knowledge
from inventory.calc.explain import Step
from inventory.custody.actions import Movement, move
from inventory.ledger.models import Item
from inventory.requirements.actions import set_schedule
from inventory.rules.load import row_data, template
from inventory.rules.schema import Row
from inventory.schedule.actions import change_row, draft_schedule
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting
from inventory.timeline import RequirementSpan
from tests import factories
from tests.inventory.schedule.world import TODAY, act, adopted

pytestmark = pytest.mark.django_db
WIPED = date(2025, 10, 1)
DECIDED = Decided("it was looked at", "A. Adviser", date(2026, 1, 4))
AFTER = [TODAY + timedelta(days=n) for n in (0, 1, 90, 400, 4000)]
BEFORE = [TODAY - timedelta(days=n) for n in (1, 90, 400)]
CITED = {"document": "Label", "clause": "line 4", "known_by": "own"}
SOURCES = ("in use", "bare", "kept", "kept in its gauge", "damaged", "ageing", "gas")
#: Row, what is changed, of what it decides. Under ca-1, one after the other.
CHANGES: list[tuple[str, dict[str, Any], set[str]]] = [
    ("leak.device", {"months": 9}, {"in use", "ageing"}),
    ("leak.bare", {"months": 12}, {"bare"}),
    ("leak.stored", {"months": None, "days": 100}, {"kept", "kept in its gauge"}),
    ("leak.damage", {"within_days": 5}, {"damaged"}),
    ("calibration.dose_rate", {"months": 6}, {"meter"}),
    ("working_life.until", {"lead_days": 30}, {"ageing"}),
    ("leak.exempt.gas", {"when": {"nuclide": "Cs-137"}}, set(SOURCES)),
]
#: Of each thing: requirement, day, decision, explanation.
Told = dict[str, list[Any]]


@dataclass
class World:
    """Things by what they are here for."""

    site: Site
    things: dict[str, Item]


@pytest.fixture
def world(db) -> World:
    site = factories.make_site(schedule=False)
    values = {"rule_set": "ca", "version": 1, "from_on": date(2018, 1, 1)}
    set_schedule(site, **values, **act(site))
    hot = {"activity_bq": Decimal("3.7e9"), "use": "gauge"}
    gauge, put_away = factories.make_gauge(site), factories.make_gauge(site)
    where = {"in use": gauge, "kept in its gauge": put_away, "damaged": gauge, "ageing": gauge}
    more = {"ageing": {"working_life_until": date(2026, 6, 1)}, "gas": {"nuclide": "Kr-85"}}
    things = {
        name: factories.make_source(site, to=where.get(name), **(hot | more.get(name, {})))
        for name in SOURCES
    }
    things["meter"] = factories.make_monitor(site, monitor_kind="dose_rate", calibrated_on=WIPED)
    counter = factories.make_monitor(site, calibrated_on=WIPED)
    yearly = CITED | {"months": 12, "mode": "adds"}
    make_setting(counter, Wanted("calibration", yearly, "adviser", WIPED), **act(site))
    factories.record_wipe([things[name] for name in SOURCES], counter, WIPED)
    place = factories.make_location(site)
    for item in (things["kept"], put_away):
        move(Movement("stored", item, place, date(2025, 11, 1)), **act(site))
    factories.record_happening(things["damaged"], "damage", date(2025, 12, 1))
    return World(site, things | {"gauge": gauge, "put away": put_away, "counter": counter})


def grounds(steps: tuple[Step, ...]) -> list[Any]:
    """An explanation without whose authority the schedule and its rows have: a row of the site's
    own says so also where it was only looked at."""
    flat = [step for top in steps for step in top.walk()]
    return [
        (step.code, step.values, step.cite and replace(step.cite, authority=""))
        for step in flat
        if not step.code.startswith("due_schedule")
    ]


def told(world: World, days: list[date]) -> Told:
    """What is stored and what is explained of every thing on these days."""
    known = knowledge.load([item.pk for item in world.things.values()])
    out: Told = {}
    for name, item in world.things.items():
        for _, requirement in sorted(knowledge.requirements_here([item])):
            spans = RequirementSpan.objects.filter(item=item, requirement=requirement)
            for day in days:
                said = knowledge.decide_on(known[item.pk], requirement, day)
                assert spans.on(day).get().decision == said.value
                out.setdefault(name, []).append((requirement, day, said.value, grounds(said.steps)))
    return out


def differing(before: Told, after: Told, part: int) -> dict[str, set[str]]:
    """Things of which something differs, with the requirements of which it does. ``part``: 2 for
    what is decided, 3 for why."""
    out: dict[str, set[str]] = {}
    for name, found in before.items():
        for old, new in zip(found, after[name], strict=True):
            if old[part] != new[part]:
                out.setdefault(name, set()).add(old[0])
    return out


def beside(told_before: Told, row_id: str) -> set[str]:
    """Things of which an explanation says that the row would have been later."""
    return {
        name
        for name, found in told_before.items()
        for one in found
        if any(code == "due_row_later" and values["row"] == row_id for code, values, _ in one[3])
    }


def adopt_with(site: Site, row_id: str, values: dict[str, Any]) -> Row:
    """The schedule of the site with one more row of its own, in force from today."""
    row = next(row for row in template("ca", 1).rows if row.id == row_id)
    data = row_data(row) | values | {"authority": "site", **DECIDED.text()}
    draft_schedule(site, **act(site))
    change_row(site, {name: one for name, one in data.items() if one is not None}, **act(site))
    adopted(site)
    return row


def test_one_value_of_a_row_changes_what_the_row_decides_about(world):
    past, before = told(world, BEFORE), told(world, AFTER)
    for row_id, values, concerned in CHANGES:
        row = adopt_with(world.site, row_id, values)
        after = told(world, AFTER)
        assert differing(before, after, 2) == {name: {row.requirement} for name in concerned}
        explained = differing(before, after, 3)
        if "lead_days" not in values:  # when to warn is no ground of the date
            assert concerned <= explained.keys()
        if "when" not in values:
            assert explained.keys() <= concerned | beside(before, row_id)
        before = after
    assert {one[2].state for one in before["bare"] if one[0] == "leak_test"} == {"not_required"}
    assert "not_required" not in {one[2].state for one in before["gas"] if one[0] == "leak_test"}
    assert told(world, BEFORE) == past
    assert list(derive.rebuild(write=False)) == []
