"""Movements: where things go, and what cannot have happened."""

from __future__ import annotations

from datetime import date, time

import pytest

from inventory.custody.actions import Movement, correct_movement, move
from tests.factories import (
    install,
    make_gauge,
    make_location,
    make_monitor,
    make_site,
    make_source,
    receive,
    rps_of,
    tick,
)
from tests.inventory.asking import place, refuses

pytestmark = pytest.mark.django_db


def act(verb, item, to, on, **more):
    return move(Movement(verb, item, to, on, **more), by=rps_of(item.site), at=tick())


def correct(old, verb, item, to, on, reason="Wrong place.", **more):
    movement = Movement(verb, item, to, on, **more)
    return correct_movement(old, movement, by=rps_of(item.site), at=tick(), reason=reason)


def test_a_source_goes_where_its_gauge_goes(site):
    mill, store = make_location(site, "Mill"), make_location(site, "Store")
    gauge = make_gauge(site, "G-1", at=mill)
    source = make_source(site, to=store)
    install(source, gauge, date(2021, 3, 5))
    act("moved", gauge, store, date(2021, 3, 8))
    assert place(source, date(2021, 2, 28)) is None
    assert place(source, date(2021, 3, 4)) == ("", "Store")
    assert place(source, date(2021, 3, 7)) == ("G-1", "Mill")
    assert place(source, date(2021, 3, 8)) == ("G-1", "Store")


def test_a_source_taken_out_no_longer_follows_the_gauge(site):
    mill, store = make_location(site, "Mill"), make_location(site, "Store")
    gauge = make_gauge(site, at=mill)
    source = make_source(site, to=gauge)
    act("removed", source, store, date(2021, 4, 1))
    act("moved", gauge, store, date(2021, 5, 1))
    act("moved", gauge, mill, date(2021, 6, 1))
    assert place(source) == ("", "Store")


@pytest.mark.parametrize(
    ("verb", "to", "on", "code"),
    [
        ("received", "shop", date(2021, 4, 1), "received_twice"),
        ("received", "shop", date(2021, 2, 1), "received_twice"),
        ("moved", "shop", date(2021, 2, 1), "moved_before_received"),
        ("moved", "store", date(2021, 4, 1), "already_there"),
        ("installed", "store", date(2021, 4, 1), "installed_needs_gauge"),
        ("installed", "late gauge", date(2021, 4, 1), "gauge_not_here"),
        ("moved", "source", date(2021, 4, 1), "not_a_place"),
        ("moved", "shop", date(2060, 1, 1), "effective_in_future"),
    ],
)
def test_it_refuses_what_cannot_have_happened(site, verb, to, on, code):
    store = make_location(site)
    source = make_source(site, to=store)
    places = {
        "store": store,
        "shop": make_location(site),
        "source": make_source(site),
        "late gauge": make_gauge(site, on=date(2022, 1, 1)),
    }
    with refuses(code):
        act(verb, source, places[to], on)


def test_it_refuses_a_movement_into_the_gauge_that_holds_it(site):
    gauge = make_gauge(site)
    source = make_source(site, to=gauge)
    with refuses("already_installed", "on"):
        act("installed", source, gauge, date(2021, 4, 1))


def test_only_sources_go_into_gauges(site):
    monitor, gauge = make_monitor(site), make_gauge(site)
    with refuses("only_sources_go_into_gauges", "to"):
        act("moved", monitor, gauge, date(2021, 4, 1))


def test_an_earlier_movement_that_makes_a_later_one_impossible_is_refused(site):
    store, shop = make_location(site), make_location(site)
    source = make_source(site, to=store)
    act("moved", source, shop, date(2021, 4, 1))
    with refuses("already_there"):
        act("moved", source, shop, date(2021, 3, 15))


def test_nothing_goes_to_another_site(site):
    other = make_site()
    source = make_source(site)
    for target in (make_location(other), make_gauge(other)):
        with refuses("item_of_another_site", "to"):
            act("moved", source, target, date(2021, 4, 1))


def test_nothing_is_received_from_a_description_of_another_site(site):
    gauge = make_gauge(make_site())
    source = make_source(site, received=False)
    with refuses("item_of_another_site", "to"):
        receive(source, gauge, date(2021, 4, 1))


# --- corrections --------------------------------------------------------------------------------


def test_a_corrected_movement_counts_and_the_wrong_one_does_not(site):
    store, shop = make_location(site, "Store"), make_location(site, "Shop")
    source = make_source(site, to=store)
    wrong = act("moved", source, shop, date(2021, 4, 1))
    correct(wrong, "moved", source, shop, date(2021, 5, 1))
    assert place(source, date(2021, 4, 30)) == ("", "Store")
    assert place(source, date(2021, 5, 1)) == ("", "Shop")


def test_a_correction_of_a_gauge_takes_its_source_along(site):
    mill, store, shop = (make_location(site, name) for name in ("Mill", "Store", "Shop"))
    gauge = make_gauge(site, "G-1", at=mill)
    source = make_source(site, to=gauge)
    wrong = act("moved", gauge, store, date(2021, 4, 1))
    assert place(source) == ("G-1", "Store")
    correct(wrong, "moved", gauge, shop, date(2021, 4, 1))
    assert place(source) == ("G-1", "Shop")


def test_correcting_the_first_movement_of_a_day_does_not_make_it_the_last(site):
    store, shop, mill = (make_location(site, name) for name in ("Store", "Shop", "Mill"))
    source = make_source(site, to=store)
    first = act("moved", source, shop, date(2021, 4, 1))
    act("moved", source, mill, date(2021, 4, 1))
    correct(first, "moved", source, make_location(site, "Dock"), date(2021, 4, 1))
    assert place(source) == ("", "Mill")


def test_a_correction_with_a_time_stands_at_that_time(site):
    store, shop, mill = (make_location(site, name) for name in ("Store", "Shop", "Mill"))
    source = make_source(site, to=store)
    first = act("moved", source, shop, date(2021, 4, 1), at_time=time(8))
    act("moved", source, mill, date(2021, 4, 1), at_time=time(9))
    correct(first, "moved", source, shop, date(2021, 4, 1), at_time=time(10))
    assert place(source) == ("", "Shop")


def test_a_correction_must_leave_possible_what_follows(site):
    source = make_source(site, to=make_location(site))
    shop = make_location(site)
    received = source.mentions.get(kind="received").record
    act("moved", source, shop, date(2021, 4, 1))
    with refuses("moved_before_received"):
        correct(received, "received", source, shop, date(2021, 5, 1))
    with refuses("already_there"):
        correct(received, "received", source, shop, date(2021, 3, 1))


def test_a_correction_says_why_and_is_made_once(site):
    source = make_source(site, to=make_location(site))
    shop, mill, dock = make_location(site), make_location(site), make_location(site)
    wrong = act("moved", source, shop, date(2021, 4, 1))
    with refuses("correction_needs_reason", "reason"):
        correct(wrong, "moved", source, mill, date(2021, 4, 1), reason=" ")
    correct(wrong, "moved", source, mill, date(2021, 4, 1))
    with refuses("already_corrected"):
        correct(wrong, "moved", source, dock, date(2021, 4, 1))


def test_a_correction_cannot_name_another_item_or_another_kind(site):
    source, other = make_source(site), make_source(site)
    shop, gauge = make_location(site), make_gauge(site)
    wrong = act("moved", source, shop, date(2021, 4, 1))
    with refuses("correction_drops_item"):
        correct(wrong, "moved", other, shop, date(2021, 4, 1))
    with refuses("correction_of_another_kind"):
        correct(wrong, "installed", source, gauge, date(2021, 4, 1))


def test_a_movement_of_another_site_is_not_corrected_here(site):
    there = make_source(make_site())
    wrong = act("moved", there, make_location(there.site), date(2021, 4, 1))
    source, shop = make_source(site), make_location(site)
    with refuses("correction_of_another_kind"):
        correct(wrong, "moved", source, shop, date(2021, 4, 1))


def test_a_place_inside_another_is_described_by_its_code(site):
    hall = make_location(site)
    bay = make_location(site, within=hall.code)
    assert bay.location.within == hall
    assert hall.location.within is None
