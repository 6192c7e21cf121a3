"""Movements: where things go, and what cannot have happened."""

from __future__ import annotations

from datetime import date, time

import pytest

from inventory.custody.actions import Movement, correct_movement, move
from inventory.ledger.write import About, Draft, writing
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
from tests.inventory.asking import open_points, place, refuses

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


# --- what a movement must say -------------------------------------------------------------------

DAY = date(2021, 4, 1)


@pytest.mark.parametrize(
    ("verb", "to", "more", "code", "field"),
    [
        ("moved", None, {}, "place_needed", "to"),
        ("stored", None, {}, "place_needed", "to"),
        ("installed", None, {}, "place_needed", "to"),
        ("moved", "gauge", {}, "not_a_location", "to"),
        ("stored", "gauge", {}, "not_a_location", "to"),
        ("out", "shop", {"away_to": "A job"}, "names_no_place", "to"),
        ("missing", "shop", {}, "names_no_place", "to"),
        ("out", None, {"away_to": " "}, "job_site_needed", "away_to"),
        ("sent_away", None, {}, "consignee_needed", "away_to"),
        ("transferred", None, {}, "consignee_needed", "away_to"),
        ("transferred", None, {"away_to": "Buyer"}, "authorisation_needed", "authorisation"),
        (
            *("transferred", None, {"away_to": "Buyer", "authorisation": "\u200b - "}),
            *("authorisation_needed", "authorisation"),
        ),
        ("disposed", None, {}, "disposer_needed", "away_to"),
        (
            *("out", None, {"away_to": "A job", "expected_on": date(2021, 3, 31)}),
            *("expected_before_it_went", "expected_on"),
        ),
    ],
)
def test_it_refuses_what_does_not_say_enough_or_says_too_much(site, verb, to, more, code, field):
    source = make_source(site, to=make_location(site))
    places = {"gauge": make_gauge(site), "shop": make_location(site), None: None}
    with refuses(code, field):
        act(verb, source, places[to], DAY, **more)


def test_only_a_visitor_is_received_until_a_day(site):
    source, store = make_source(site, received=False), make_location(site)
    with refuses("visitor_needs_owner", "owner"):
        act("received", source, store, DAY, expected_on=date(2021, 9, 1))
    act("received", source, store, DAY, expected_on=date(2021, 9, 1), owner="A contractor")
    with refuses("visiting_only_leaves"):
        act("transferred", source, None, date(2021, 5, 1), away_to="Somebody", authorisation="P7")
    act("left", source, None, date(2021, 5, 1))
    assert place(source, date(2021, 4, 30)) is not None
    assert place(source, date(2021, 5, 1)) is None


# --- things that depend on each other ----------------------------------------------------------


def test_a_late_movement_of_the_gauge_takes_along_what_was_inside_then(site):
    mill, store, shop = (make_location(site, name) for name in ("Mill", "Store", "Shop"))
    gauge = make_gauge(site, "G-1", at=mill)
    source = make_source(site, to=gauge)
    act("removed", source, store, date(2021, 6, 1))
    act("stored", gauge, shop, date(2021, 5, 1))  # entered after what happened later
    assert place(source, date(2021, 4, 30)) == ("G-1", "Mill")
    assert place(source, date(2021, 5, 1)) == ("G-1", "Shop")
    assert source.stays.get(from_on=date(2021, 5, 1)).keeping == "stored"
    assert place(source) == ("", "Store")


def test_a_correction_that_names_another_gauge_puts_it_there(site):
    mill, store = make_location(site, "Mill"), make_location(site, "Store")
    wrong, right = make_gauge(site, "G-1", at=mill), make_gauge(site, "G-2", at=store)
    source = make_source(site, to=mill)
    record = install(source, wrong, DAY)
    act("out", wrong, None, date(2021, 5, 1), away_to="A job")
    assert source.stays.latest("from_on").whereabouts == "out"
    correct(record, "installed", source, right, DAY)
    assert place(source) == ("G-2", "Store")
    act("sent_away", right, None, date(2021, 6, 1), away_to="Maker")
    assert source.stays.latest("from_on").away_to == "Maker"
    act("back", wrong, None, date(2021, 7, 1))
    assert source.stays.latest("from_on").whereabouts == "in_transit"


@pytest.mark.parametrize(
    ("verb", "on", "code"),
    [
        ("out", date(2021, 3, 20), "gauge_not_here"),  # then it was not there to be installed in
        ("out", date(2021, 5, 1), "its_gauge_not_here"),  # nor to be removed from
        ("disposed", date(2021, 5, 1), "gone_with_gauge"),
    ],
)
def test_a_gauge_cannot_have_gone_before_what_happened_to_its_source(site, verb, on, code):
    store = make_location(site)
    gauge, source = make_gauge(site), make_source(site, to=store)
    install(source, gauge, DAY)
    act("removed", source, store, date(2021, 6, 1))
    with refuses(code):
        act(verb, gauge, None, on, away_to="Somebody")
    act(verb, gauge, None, date(2021, 6, 1), away_to="Somebody")


def test_a_gauge_cannot_turn_out_to_have_come_after_its_source_was_installed(site):
    gauge = make_gauge(site, on=date(2021, 3, 1))
    source = make_source(site, to=make_location(site))
    install(source, gauge, DAY)
    came, shop = gauge.mentions.get(kind="received").record, make_location(site)
    with refuses("gauge_not_here"):
        correct(came, "received", gauge, shop, date(2021, 5, 1))


def test_a_gauge_that_goes_for_good_ends_what_is_inside(site):
    gauge = make_gauge(site)
    source = make_source(site, to=gauge)
    act("transferred", gauge, None, DAY, away_to="Buyer", authorisation="Permit 7")
    assert place(source, date(2021, 3, 31)) is not None
    assert place(source, DAY) is None
    back = make_location(site, "Store")
    with refuses("gone_with_gauge"):
        act("removed", source, back, date(2021, 5, 1))
    act("received", source, back, date(2021, 6, 1))  # it came again, without the gauge
    assert place(source) == ("", "Store")


def test_what_is_missing_accuses_until_somebody_closes_it(site):
    gauge = make_gauge(site)
    source = make_source(site, to=gauge)
    record = act("missing", gauge, None, DAY)
    (point,) = open_points(gauge)
    assert (point.kind, point.opened_by, point.opened_on) == ("missing", record, DAY)
    assert source.stays.latest("from_on").whereabouts == "missing"
    act("found", gauge, make_location(site, "Ditch"), date(2021, 4, 9))
    assert place(source) == (gauge.label, "Ditch")
    assert open_points(gauge) == [point]  # found is not the same as settled


def test_what_an_earlier_edition_recorded_is_read_as_it_was_meant(site):
    """A source once left its gauge by being moved, and its record said less than today's."""
    gauge, store = make_gauge(site), make_location(site, "Store")
    source = make_source(site, to=gauge)
    said = {"gauge": None, "location": store.code, "supplier": ""}
    with writing(site, by=rps_of(site), at=tick()) as ledger:
        ledger.append(Draft("moved", DAY, [About(source)], detail=said, accepted=True))
    assert place(source) == ("", "Store")
    assert source.stays.latest("from_on").keeping == "in_use"
    act("moved", gauge, make_location(site, "Shop"), date(2021, 5, 1))  # nothing is refused for it
    act("installed", source, gauge, date(2021, 6, 1))
    assert place(source) == (gauge.label, "Shop")
