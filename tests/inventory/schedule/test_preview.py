"""What another schedule would change, decided for everything on the site."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory import knowledge
from inventory.rules.adopted import assemble
from inventory.schedule import edits, preview
from inventory.schedule.actions import moved
from inventory.schedule.pieces import Taken
from inventory.schedule.versions import versions
from tests import factories
from tests.inventory.rules.invented import rules_in
from tests.inventory.schedule.world import TODAY, make_site

pytestmark = pytest.mark.django_db
PASSED = date(2025, 6, 1)


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


@pytest.fixture
def site():
    site = make_site()
    counter = factories.make_monitor(site, tag="WC-1", calibrated_on=PASSED)
    source = factories.make_source(site, serial="S-1")
    factories.record_wipe(source, counter, PASSED)
    return site


def said(effects: list[preview.Effect]) -> list[tuple[Any, ...]]:
    return [
        (
            one.item.key,
            one.requirement,
            *(d and (d.state, d.due_on) for d in (one.before, one.after)),
        )
        for one in effects
    ]


def test_a_new_version_names_what_gets_another_day(site):
    detail = edits.with_templates(
        edits.opened(versions(site)[-1].detail, again=False), [Taken("aa", 2)]
    )
    (one,) = said(preview.preview(site, detail, TODAY))
    assert one[1:] == (*("leak_test", ("dated", date(2027, 6, 1)), ("dated", date(2026, 6, 1))),)


def test_nothing_differs_from_what_is_in_force(site):
    assert preview.preview(site, versions(site)[-1].detail, TODAY) == []


def test_the_day_that_is_asked_about_decides(site):
    detail = edits.with_templates(
        edits.opened(versions(site)[-1].detail, again=False), [Taken("aa", 2)]
    )
    later = preview.preview(site, detail, date(2026, 7, 1))
    assert [one.after.state_on(date(2026, 7, 1)) for one in later] == ["late"]


def test_another_rule_set_is_asked_about_everything(site):
    found = list(preview.effects(site, assemble({"rule_set": "bb", "version": 1}), TODAY))
    assert [(one.item.kind, one.requirement) for one in found] == [
        ("monitor", "calibration"),
        ("source", "leak_test"),
    ]
    assert [one.after.due_on for one in found] == [date(2026, 8, 1), date(2025, 12, 1)]


def test_the_facts_stay_those_of_the_site(site):
    found = knowledge.load([one.pk for one in site.items.filter(kind="source")])
    (one,) = found.values()
    under = preview.known_under(one, assemble({"rule_set": "bb", "version": 1}))
    assert (under.events, under.stays) == (one.events, one.stays)
    assert one.schedules[0].rules.id == "aa"


def test_it_asks_the_database_as_often_for_many_items_as_for_few(site):
    detail = edits.with_templates(
        edits.opened(versions(site)[-1].detail, again=False),
        moved(versions(site)[-1].detail, "aa", 2),
    )

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            preview.preview(site, detail, TODAY)
        return len(asked)

    few = queries()
    for _ in range(20):
        factories.make_source(site)
    assert queries() == few
