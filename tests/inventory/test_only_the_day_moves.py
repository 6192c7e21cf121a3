"""Nothing is written and only the day moves: what the stored time lines say on the day before, and
on the day."""

from __future__ import annotations

import math
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from config.accounts.models import Site
from inventory.custody.actions import Movement, move
from inventory.ledger.models import Item, Record
from inventory.nuclides.models import Nuclide
from inventory.requirements.actions import set_schedule
from inventory.schedule.actions import choose_templates, draft_schedule
from inventory.schedule.pieces import Taken
from inventory.schedule.settings import Wanted, make_setting
from inventory.timeline import RequirementSpan
from tests import factories
from tests.inventory.schedule.world import act, adopted

pytestmark = pytest.mark.django_db
BEGIN, WIPED = date(2018, 1, 1), date(2025, 10, 1)
CITED = {"document": "Label", "clause": "line 4", "known_by": "own"}
ONE = timedelta(days=1)


def site_under(rule_set: str, version: int = 1) -> Site:
    site = factories.make_site(schedule=False)
    set_schedule(site, rule_set=rule_set, version=version, from_on=BEGIN, **act(site))
    return site


def wiped(source: Item, on: date = WIPED) -> Item:
    """The same source, wiped clean on a day, counted as the adviser has said it can be."""
    counter = factories.make_monitor(source.site, calibrated_on=on, on=min(on, date(2021, 1, 1)))
    yearly = CITED | {"months": 12, "mode": "adds"}
    make_setting(counter, Wanted("calibration", yearly, "adviser", BEGIN), **act(source.site))
    factories.record_wipe(source, counter, on)
    return source


def kept(item: Item, keeping: str, on: date) -> None:
    place = factories.make_location(item.site)
    move(Movement("moved", item, place, on, keeping=keeping), **act(item.site))


def seen(item: Item, day: date, requirement: str = "leak_test") -> tuple[str, str, str]:
    """State as people see it, the row that decides, the row that is proposed."""
    rows = RequirementSpan.objects.with_state(day).filter(item=item, requirement=requirement)
    (row,) = rows
    assert row.state_on == row.decision.state_on(day)
    return (row.state_on, row.row, row.proposed)


def around(item: Item, day: date, requirement: str = "leak_test") -> list[tuple[str, str, str]]:
    """What is seen on the day before, and on the day; meanwhile nothing was written."""
    records = Record.objects.count()
    found = [seen(item, one, requirement) for one in (day - ONE, day)]
    assert Record.objects.count() == records
    return found


def crossing(nuclide: str, reference: date, stated: float, level: float) -> date:
    """The first day on which an activity has come down to a level."""
    half_life = Nuclide.objects.get(name=nuclide).half_life_days
    return reference + timedelta(days=math.ceil(half_life * math.log2(stated / level)))


# --- what decays, what lapses --------------------------------------------------------------------


def weak(**more: Any) -> dict[str, Any]:
    """4 MBq on the first day of 2025."""
    values = {"activity_text": "4 MBq", "activity_bq": Decimal("4e6"), "on": date(2025, 1, 1)}
    return values | {"reference_text": "2025-01-01", "reference_on": date(2025, 1, 1)} | more


def test_an_exemption_is_proposed_on_the_day_on_which_the_activity_has_decayed():
    source = wiped(factories.make_source(site_under("us_general"), **weak()))
    day = crossing("Cs-137", date(2025, 1, 1), 4e6, 3.7e6)
    assert day > date(2028, 1, 1)
    assert around(source, day) == [
        ("late", "leak.default", ""),
        ("late", "leak.default", "leak.exempt.beta_gamma"),
    ]


def test_what_is_in_a_device_together_decays_together():
    site = site_under("us_general")
    gauge = factories.make_gauge(site)
    half = weak(activity_bq=Decimal("2e6"), nuclide="Co-60", to=gauge)
    one, other = (factories.make_source(site, **half) for _ in range(2))
    day = crossing("Co-60", date(2025, 1, 1), 4e6, 3.7e6)
    for source in (one, other):
        assert [row[2] for row in around(source, day)] == ["", "leak.exempt.beta_gamma"]
    shutter = around(gauge, day, "shutter_check")
    assert [row[2] for row in shutter] == ["", "shutter.exempt.beta_gamma"]


def test_a_source_that_is_no_high_activity_source_any_more_stays_one_until_confirmed():
    site = site_under("de")
    strong = {"nuclide": "Co-60", "activity_text": "0.04 TBq", "activity_bq": Decimal("4e10")}
    source = wiped(factories.make_source(site, **weak(**strong)))
    day = crossing("Co-60", date(2025, 1, 1), 4e10, 3e10)
    assert [row[1:] for row in around(source, day)] == [
        ("leak.hass", ""),
        ("leak.hass", "leak.default"),
    ]


@pytest.mark.parametrize(
    ("keeping", "last"), [("stored", date(2026, 2, 10)), ("standby", date(2025, 5, 10))]
)
def test_a_hold_lapses_the_day_after_it_was_last_long_enough_ago(keeping, last):
    source = wiped(factories.make_source(site_under("us_general")), date(2024, 12, 1))
    kept(source, keeping, date(2025, 2, 10))
    assert around(source, last + ONE) == [
        ("on_hold", f"leak.{keeping}", ""),
        ("due_soon" if keeping == "standby" else "late", "leak.default", ""),
    ]


def test_an_accounting_check_prolongs_a_hold_until_it_is_long_enough_ago_itself():
    source = wiped(factories.make_source(site_under("us_general")), date(2024, 12, 1))
    kept(source, "stored", date(2025, 2, 10))
    factories.record_check(source, "accounting_check", date(2025, 9, 30))
    assert seen(source, date(2026, 2, 11))[0] == "on_hold"
    assert [row[0] for row in around(source, date(2026, 10, 1))] == ["on_hold", "late"]


def test_a_ceiling_comes_in_sight_and_is_reached_while_the_hold_stands():
    received = date(2016, 1, 1)
    source = factories.make_source(site_under("us_specific"), use="gauge", on=received)
    kept(wiped(source, date(2016, 3, 31)), "stored", date(2025, 10, 1))
    row = "leak.stored.gauge"
    assert around(source, date(2026, 3, 1)) == [("on_hold", row, ""), ("due_soon", row, "")]
    assert around(source, date(2026, 4, 1)) == [("due_soon", row, ""), ("late", row, "")]


# --- what the calendar brings --------------------------------------------------------------------


def test_a_due_date_comes_near_and_passes():
    source = wiped(factories.make_source(site_under("gb", 2)))
    due_on, warn_on = date(2027, 10, 1), date(2027, 8, 2)
    assert [row[0] for row in around(source, warn_on)] == ["good", "due_soon"]
    assert [row[0] for row in around(source, due_on + ONE)] == ["due_soon", "late"]
    todo = [RequirementSpan.objects.needs_doing(day) for day in (warn_on - ONE, warn_on)]
    assert [rows.filter(requirement="leak_test").count() for rows in todo] == [0, 1]


def test_a_working_life_ends():
    source = wiped(
        factories.make_source(
            site_under("gb", 2), made_on=date(2012, 1, 31), made_text="2012-01-31"
        )
    )
    last = date(2027, 1, 31)  # 180 months after it was made
    assert around(source, last + ONE) == [
        ("good", "leak.default", ""),
        ("late", "leak.past_working_life", ""),
    ]
    life = around(source, last + ONE, "working_life")
    assert [row[0] for row in life] == ["due_soon", "late"]


def test_an_age_begins():
    source = wiped(
        factories.make_source(
            site_under("gb", 2), made_on=date(2012, 8, 31), made_text="2012-08-31"
        )
    )
    old = CITED | {"months": 3, "mode": "adds", "when": {"age_months": {"at_least": 162}}}
    make_setting(source, Wanted("leak_test", old, "permit", BEGIN), **act(source.site))
    assert around(source, date(2026, 2, 28)) == [  # the last day of a shorter month
        ("good", "leak.default", ""),
        ("late", "permit.leak_test", ""),
    ]


def test_what_was_new_is_new_no_longer():
    site = site_under("ca")
    bar = factories.make_source(site, on=date(2025, 1, 31), use="static_eliminator")
    assert around(wiped(bar), date(2026, 4, 30)) == [
        ("not_required", "leak.exempt.static_eliminator", ""),
        ("late", "leak.bare", ""),
    ]


def test_a_setting_ends_and_a_schedule_to_come_begins():
    source = wiped(factories.make_source(site_under("gb", 2)))
    site, until = source.site, date(2026, 3, 31)
    data = CITED | {"months": 3, "mode": "replaces"}
    make_setting(source, Wanted("leak_test", data, "label", WIPED, until), **act(site))
    draft_schedule(site, **act(site))
    choose_templates(site, [Taken("ca", 1)], **act(site))
    adopted(site, from_on=date(2026, 7, 1))
    assert [row[:2] for row in around(source, until + ONE)] == [
        ("late", "label.leak_test"),
        ("good", "leak.default"),
    ]
    assert [row[1] for row in around(source, date(2026, 7, 1))] == ["leak.default", "leak.bare"]


def test_a_result_is_waited_for_until_it_must_be_chased():
    source = factories.make_source(site_under("gb", 2))
    chase = date(2026, 1, 20)
    laboratory = factories.make_laboratory(source.site)
    factories.send_wipe(source, laboratory, date(2026, 1, 2), chase_on=chase)
    assert [row[0] for row in around(source, chase + ONE)] == ["awaited", "never_done"]
