"""What follows for one thing from what is said about another: a gauge, what shares it, a record
that names it no longer."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from config.accounts.models import Site
from inventory import derive
from inventory.custody.actions import Movement, move
from inventory.ledger.models import Item
from inventory.requirements.actions import set_schedule
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting
from inventory.timeline import RequirementSpan
from tests import factories
from tests.inventory.schedule.world import TODAY, act

pytestmark = pytest.mark.django_db
BEGIN, OCTOBER = date(2018, 1, 1), date(2025, 10, 1)
CITED = {"document": "Label", "clause": "line 4", "known_by": "own", "mode": "replaces"}
DECIDED = Decided("it was looked at", "A. Adviser", date(2026, 1, 4))
#: Free as long as everything in the device together is below.
FREE_IF_WEAK = {"result": "not_required", "when": {"contents_beta_gamma_bq": {"at_most": 3.7e6}}}


def site_under(version: int) -> Site:
    site = factories.make_site(schedule=False)
    set_schedule(site, rule_set="gb", version=version, from_on=BEGIN, **act(site))
    return site


def put(item: Item, requirement: str, **row: Any) -> None:
    wanted = Wanted(requirement, CITED | row, "label", OCTOBER, decided=DECIDED)
    make_setting(item, wanted, **act(item.site))


def rows(item: Item) -> dict[str, str]:
    """The row that decides about each requirement of a thing."""
    assert list(derive.rebuild(write=False)) == []
    spans = RequirementSpan.objects.on(TODAY).filter(item=item)
    return dict(spans.values_list("requirement", "row"))


def test_what_a_correction_names_no_longer_was_not_damaged():
    site = site_under(2)
    one, other = factories.make_source(site), factories.make_source(site)
    counter = factories.make_monitor(site)
    factories.record_wipe([one, other], counter, OCTOBER)
    wrong = factories.record_happening(one, "damage", date(2025, 11, 1), also=[other])
    assert rows(other)["leak_test"] == "leak.damage"
    again = {"replaces": wrong, "because": "the other one was elsewhere"}
    factories.record_happening(one, "damage", date(2025, 11, 1), act=again)
    assert (rows(one)["leak_test"], rows(other)["leak_test"]) == ("leak.damage", "leak.default")


def test_what_a_gauge_says_about_its_sources_is_asked_of_them_and_not_of_the_gauge():
    gauge = factories.make_gauge(site_under(2))
    source = factories.make_source(gauge.site, to=gauge)
    before = rows(gauge)
    put(gauge, "leak_test", months=6)
    assert rows(gauge) == before
    assert rows(source)["leak_test"] == "label.leak_test.of-gauge"


def test_a_gauge_can_ask_of_its_sources_what_no_schedule_asks():
    gauge = factories.make_gauge(site_under(1))
    inside, bare = factories.make_source(gauge.site, to=gauge), factories.make_source(gauge.site)
    put(gauge, "accounting_check", months=6)
    assert rows(inside) == {
        "leak_test": "leak.default",
        "accounting_check": "label.accounting_check.of-gauge",
    }
    assert "accounting_check" not in rows(gauge) | rows(bare)


@pytest.mark.parametrize("on_gauge", [True, False])
def test_a_setting_looks_at_everything_in_the_device_where_no_schedule_does(on_gauge):
    gauge = factories.make_gauge(site_under(2))
    weak = {"activity_bq": Decimal("3e6"), "reference_on": date(2021, 3, 1)}
    source = factories.make_source(gauge.site, to=gauge, **weak)
    put(gauge if on_gauge else source, "leak_test", **FREE_IF_WEAK)
    decides = "label.leak_test.of-gauge" if on_gauge else "label.leak_test"
    assert rows(source)["leak_test"] == decides
    second = factories.make_source(gauge.site, to=gauge, on=date(2025, 11, 1), **weak)
    assert rows(source)["leak_test"] == "leak.default"
    place = factories.make_location(gauge.site)
    move(Movement("removed", second, place, date(2025, 12, 1)), **act(gauge.site))
    assert rows(source)["leak_test"] == decides
