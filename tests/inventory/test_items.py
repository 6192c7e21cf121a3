"""Descriptions of things: changed from a day on, or corrected."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from inventory import knowledge
from inventory.items.actions import (
    SourceText,
    change,
    correct,
    description_in_force,
    open_site,
    snapshot_of,
)
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, writing
from tests.factories import (
    give_role,
    make_location,
    make_site,
    make_source,
    make_user,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import NOW, refuses, state

pytestmark = pytest.mark.django_db
ARRIVED, CHANGED = date(2021, 3, 1), date(2022, 6, 1)


def text(**fields):
    return SourceText(**({"nuclide": "Cs-137", "serial": "S-1"} | fields)).snapshot()


def described(item):
    return item.mentions.filter(kind="described").earliest("record__seq").record


def do_change(item, on=CHANGED, reason="Read from the plate.", **fields):
    return change(item, text(**fields), by=rps_of(item.site), at=tick(), on=on, reason=reason)


def do_correct(old, reason="Misread.", **fields):
    return correct(old, text(**fields), by=rps_of(old.site), at=tick(), reason=reason)


def serial_on(item, day):
    return knowledge.load([item.pk])[item.pk].snapshot_on(day)["serial"]


def test_a_change_holds_from_its_day_on(site):
    source = make_source(site, serial="S-1")
    do_change(source, serial="S-2")
    assert serial_on(source, CHANGED - timedelta(days=1)) == "S-1"
    assert serial_on(source, CHANGED) == "S-2"
    assert Item.objects.get(pk=source.pk).source.serial == "S-2"


def test_a_correction_holds_from_the_day_of_what_was_wrong(site):
    source = make_source(site, serial="S-1")
    do_correct(described(source), serial="S-7")
    assert serial_on(source, ARRIVED) == "S-7"
    assert serial_on(source, CHANGED) == "S-7"


def test_a_correction_of_the_first_leaves_a_later_change_in_force(site):
    source = make_source(site, serial="S-1")
    do_change(source, serial="S-2")
    do_correct(described(source), serial="S-7")
    assert serial_on(source, CHANGED - timedelta(days=1)) == "S-7"
    assert serial_on(source, CHANGED) == "S-2"


def test_correcting_the_first_of_a_day_does_not_put_it_in_force(site):
    source = make_source(site, serial="S-1")
    do_change(source, on=ARRIVED, serial="S-2")
    do_correct(described(source), serial="S-7")
    assert serial_on(source, ARRIVED) == "S-2"
    assert Item.objects.get(pk=source.pk).label == "Cs-137 S-2"


def test_a_correction_of_a_correction_counts(site):
    source = make_source(site, serial="S-1")
    again = do_correct(described(source), serial="S-7")
    do_correct(again, serial="S-8")
    assert serial_on(source, ARRIVED) == "S-8"
    with refuses("already_corrected"):
        do_correct(again, serial="S-9")


def test_both_stay_visible(site):
    source = make_source(site, serial="S-1")
    old = described(source)
    new = do_correct(old, serial="S-7")
    assert [snapshot_of(old)["serial"], snapshot_of(new)["serial"]] == ["S-1", "S-7"]
    assert Record.objects.get(pk=old.pk).replaced_by == new
    assert description_in_force(source) == new


def test_a_label_follows_the_description(site):
    source = make_source(site, serial="S-1")
    do_change(source, nuclide="Co-60", serial="K 9")
    found = Item.objects.named("k 9").get()
    assert (found, found.label) == (source, "Co-60 K 9")


def test_an_earlier_change_entered_later_does_not_take_over(site):
    source = make_source(site, serial="S-1")
    do_change(source, on=CHANGED, serial="S-3")
    do_change(source, on=CHANGED - timedelta(days=30), serial="S-2")
    assert serial_on(source, NOW) == "S-3"
    assert Item.objects.get(pk=source.pk).source.serial == "S-3"


def test_a_change_of_nuclide_can_change_what_is_due(site, counter):
    source = make_source(site)
    record_wipe(source, counter, date(2025, 10, 1))
    do_change(source, on=date(2025, 12, 1), nuclide="Kr-85")
    assert state(source, date(2025, 11, 30)) == "good"
    assert state(source, date(2025, 12, 1)) == "undecided"


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_change_and_a_correction_need_a_reason(site, reason):
    source = make_source(site)
    with refuses("change_needs_reason", "reason"):
        do_change(source, reason=reason)
    with refuses("correction_needs_reason", "reason"):
        do_correct(described(source), reason=reason)


def test_a_change_cannot_lie_ahead(site):
    source = make_source(site)
    with refuses("effective_in_future", "on"):
        do_change(source, on=date(2060, 1, 1))


def test_another_kind_of_record_is_not_corrected_as_a_description(site):
    source = make_source(site)
    with refuses("correction_of_another_kind"):
        do_correct(source.mentions.get(kind="received").record)


def test_a_record_names_only_items_of_its_own_site(site):
    foreign = make_location(make_site())
    user = rps_of(site)
    with refuses("item_of_another_site"), writing(site, by=user, at=tick()) as ledger:
        ledger.append(Draft("described", ARRIVED, [About(foreign)], detail={}))


def test_items_and_records_of_a_site_do_not_exist_for_strangers(site):
    source = make_source(site)
    stranger, former = make_user(), make_user()
    role = give_role(former, site, "technician", date(2025, 1, 1))
    role.until_on = date(2025, 6, 30)
    role.save()
    assert source in Item.objects.visible_to(rps_of(site), NOW)
    assert source in Item.objects.visible_to(former, date(2025, 6, 30))
    for user in (stranger, former, rps_of(make_site())):
        assert source not in Item.objects.visible_to(user, NOW)
        assert not Record.objects.visible_to(user, NOW).filter(site=site).exists()


def test_a_site_is_opened_once(site):
    user = make_user()
    with refuses("site_exists", "slug"):
        open_site(slug=site.slug, name="B", time_zone="UTC", address="", by=user, at=tick())


def test_no_activity_stays_unknown(site):
    source = make_source(site, activity_text="", activity_bq=None)
    assert source.source.activity_bq is None
    assert snapshot_of(described(source))["activity_basis"] == "unknown"
