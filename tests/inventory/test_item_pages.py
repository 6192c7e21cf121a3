"""Pages on which things are described, and the list of them."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.items.actions import description_in_force, snapshot_of
from inventory.ledger.models import Item, Record
from tests.factories import make_gauge, make_location, make_monitor, make_site, make_source, rps_of
from tests.inventory.asking import place, rows_of_every_table, state
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def store(site):
    return make_location(site, "Store")


@pytest.fixture
def rps(site):
    return browser(rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


def sent(**fields: Any) -> dict[str, Any]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999"} | fields


def certificate(**fields: Any) -> dict[str, Any]:
    said = {
        **{"nuclide": "137Cs", "activity_text": "100 mCi", "reference_text": "May 2019"},
        **{"maker": "Invented Sources", "model": "C", "serial": "S-77"},
    }
    return sent(**(said | fields))


def arrival(at: Item, **fields: Any) -> dict[str, Any]:
    return certificate(**({"on": "2021-02-02", "to": at.code, "supplier": "A seller"} | fields))


def new(kind: str) -> str:
    return reverse("item-new", args=["thornmere", kind])


def describe(item: Item) -> str:
    return reverse("item-describe", args=["thornmere", item.code])


def correction(record: Record) -> str:
    return reverse("record-correct", args=["thornmere", record.seq])


def page_of(client: Any, item: Item) -> Page:
    return Page(client.get(reverse("item", args=["thornmere", item.code])))


def made(client: Any, kind: str, entry: dict[str, Any]) -> Item:
    response = client.post(new(kind), entry)
    assert response.status_code == 302, Page(response).text
    return Item.objects.latest("pk")


def refusal(client: Any, where: str, entry: dict[str, Any]) -> str:
    before = rows_of_every_table()
    response = client.post(where, entry)
    assert response.status_code == 200
    assert rows_of_every_table() == before
    page = Page(response)
    assert page.faults == []
    return page.text


# --- new things ---------------------------------------------------------------------------------


def test_a_new_source_is_described_and_received_in_one_act(rps, store):
    source = made(rps, "source", arrival(store))
    data = snapshot_of(description_in_force(source))
    assert (source.label, data["activity_text"], data["activity_bq"]) == (
        *("Cs-137 S-77", "100 mCi"),
        "3700000000",
    )
    assert (data["reference_on"], data["reference_precision"]) == ("2019-05-31", "month")
    assert (place(source, date(2021, 2, 2)), state(source)) == (("", "Store"), "never_done")


def test_a_new_source_may_arrive_in_its_gauge(site, rps, store):
    gauge = make_gauge(site, "G-1", at=store, on=date(2021, 1, 1))
    assert place(made(rps, "source", arrival(gauge)), TODAY) == ("G-1", "Store")


def test_a_new_gauge_and_a_new_location_are_made(rps):
    hall = made(rps, "location", sent(name="Hall", place_kind="plant_area", on="2020-01-01"))
    inner = sent(name="Bay", place_kind="source_store", within=hall.code, on="2020-01-01")
    bay = made(rps, "location", inner)
    gauge = made(rps, "gauge", sent(tag="G-7", to=bay.code, on="2020-02-01"))
    assert (bay.location.within, gauge.gauge.tag) == (hall, "G-7")
    assert place(gauge, TODAY) == ("", "Bay")


@pytest.mark.parametrize("kind", ["source", "gauge", "location"])
def test_a_new_thing_is_written_once_however_often_it_is_sent(rps, store, kind):
    entry = arrival(store) | {"tag": "G-7", "name": "Hall", "place_kind": "workshop"}
    before = Item.objects.count()
    assert [rps.post(new(kind), entry).status_code for _ in "12"] == [302, 302]
    assert Item.objects.count() == before + 1


def test_what_is_not_known_is_an_open_point_and_stops_nothing(rps, store):
    empty = {"serial": "", "activity_text": "", "reference_text": "", "on": ""}
    text = page_of(rps, made(rps, "source", arrival(store, **empty))).text
    assert "The serial is not known: no reason given." in text
    assert "The activity is not known" in text
    assert "The day of arrival is not known." in text


def test_a_reference_date_after_arrival_is_an_open_point(rps, store):
    source = made(rps, "source", arrival(store, reference_text="2022-01-01"))
    assert "lies after arrival on 2 Feb 2021" in page_of(rps, source).text


def test_a_repeated_serial_is_named_and_does_not_stop(site, rps, store):
    first = make_source(site, serial="S-77")
    response = rps.post(new("source"), arrival(store), follow=True)
    assert f"{first.label} (code {first.code}) has the same number" in Page(response).text


def test_sources_without_a_serial_are_not_taken_for_each_other(site, rps, store):
    make_source(site, serial="")
    response = rps.post(new("source"), arrival(store, serial=""), follow=True)
    assert "has the same number" not in Page(response).text


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"activity_text": "3,700"}, "can be read as"),
        ({"activity_text": "37"}, "has no unit"),
        ({"nuclide": "Cs-173"}, "the nearest name there is Cs-137"),
        ({"reference_text": "03/04/19"}, "more than one date"),
        ({"on": "2026-03-03"}, "lies in the future"),
        ({"to": ""}, "First place"),
    ],
)
def test_it_says_beside_the_field_what_it_cannot_read(rps, store, wrong, said):
    assert said in refusal(rps, new("source"), arrival(store, **wrong))


def test_a_gauge_that_is_not_there_yet_receives_nothing(site, rps, store):
    gauge = make_gauge(site, at=store, on=date(2022, 1, 1))
    assert "was not on site on 2 Feb 2021" in refusal(rps, new("source"), arrival(gauge))


def test_a_site_without_a_place_is_told_to_describe_one_first(bare):
    arrival_of, describe = (
        reverse("item-new", args=["bare", kind]) for kind in ("source", "location")
    )
    assert describe in Page(browser(rps_of(bare)).get(arrival_of)).links()


@pytest.mark.parametrize("kind", ["monitor", "site", "laboratory"])
def test_other_kinds_are_not_described_there(rps, kind):
    assert rps.get(new(kind)).status_code == 404


def test_only_the_supervisor_describes(site, technician, store):
    source = make_source(site, to=store)
    record = description_in_force(source)
    for where in (new("source"), describe(source), correction(record)):
        assert technician.get(where).status_code == 403
        assert technician.post(where, arrival(store)).status_code == 403
    assert describe(source) not in page_of(technician, source).links()


# --- described anew -----------------------------------------------------------------------------


def test_a_change_holds_from_its_day_on(site, rps, store):
    source = make_source(site, to=store, serial="S-1")
    entry = certificate(serial="S-2", how="change", on="2022-06-01", reason="New plate.")
    assert rps.post(describe(source), entry).status_code == 302
    record = description_in_force(source)
    assert (record.effective_on, record.reason) == (date(2022, 6, 1), "New plate.")
    assert Item.objects.get(pk=source.pk).label == "Cs-137 S-2"


def test_a_correction_keeps_the_day_and_replaces(site, rps, store):
    source = make_source(site, to=store, serial="S-1")
    old = description_in_force(source)
    entry = certificate(serial="S-2", how="correction", reason="Misread.")
    assert [rps.post(describe(source), entry).status_code for _ in "12"] == [302, 302]
    new_one = description_in_force(source)
    assert (new_one.replaces, new_one.effective_on) == (old, old.effective_on)
    assert source.mentions.filter(kind="described").count() == 2


def test_what_the_form_does_not_ask_for_stays(site, rps, store):
    source = made(rps, "source", arrival(store, on=""))
    entry = certificate(serial="S-2", how="correction", reason="Misread.", arrival_unknown="on")
    rps.post(describe(source), entry)
    assert snapshot_of(description_in_force(source))["arrival_unknown"] is True


def test_a_day_of_arrival_that_was_found_closes_its_open_point(rps, store):
    source = made(rps, "source", arrival(store, on=""))
    rps.post(describe(source), certificate(how="correction", reason="Delivery note found."))
    assert "The day of arrival is not known." not in page_of(rps, source).text


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"reason": ""}, "Reason"),
        ({"how": ""}, "What is it"),
        ({"how": "change", "on": ""}, "Say from which day the change holds"),
        ({"how": "change", "on": "2021-02-01"}, "a change comes after that"),
        ({"how": "change", "on": "2026-03-03"}, "lies in the future"),
        ({"serial": "S-77", "nuclide": "caesium 137"}, "Nothing differs"),
    ],
)
def test_a_description_that_says_too_little_is_not_saved(rps, store, wrong, said):
    source = made(rps, "source", arrival(store))
    entry = certificate(**({"serial": "S-2", "how": "correction", "reason": "Misread."} | wrong))
    assert said in refusal(rps, describe(source), entry)


def test_a_place_cannot_lie_inside_itself(site, rps, store):
    inner = make_location(site, "Cage", within=store.code)
    said = {"name": "Store", "place_kind": "plant_area", "how": "correction", "reason": "Plan."}
    for within in (store, inner):
        text = refusal(rps, describe(store), sent(**said, within=within.code))
        assert "Store cannot lie inside itself." in text


def test_an_earlier_description_is_corrected_from_its_record(site, rps, store):
    source = make_source(site, to=store, serial="S-1")
    first = description_in_force(source)
    rps.post(describe(source), certificate(how="change", on="2022-06-01", reason="New plate."))
    entry = certificate(serial="S-0", reason="Misread.")
    assert rps.post(correction(first), entry).status_code == 302
    assert snapshot_of(first.replaced_by)["serial"] == "S-0"
    assert Item.objects.get(pk=source.pk).label == "Cs-137 S-77"


def test_the_description_of_the_site_is_not_corrected_there(site, rps):
    record = Record.objects.get(about__item__kind="site", kind="described")
    before = Record.objects.count()
    assert rps.post(correction(record), sent(reason="x")).status_code == 302
    assert Record.objects.count() == before


# --- the list -----------------------------------------------------------------------------------


def things(client: Any, query: str = "") -> Page:
    return Page(client.get(reverse("things", args=["thornmere"]) + query))


def test_the_list_names_monitors_gauges_and_locations(site, technician, store):
    gauge, monitor = make_gauge(site, "G-1", at=store), make_monitor(site, tag="WC-1")
    source, there = make_source(site, to=gauge), make_location(make_site())
    page = things(technician)
    assert page.faults == []
    for item in (gauge, monitor, store):
        assert reverse("item", args=["thornmere", item.code]) in page.links()
    assert source.code not in page.html
    assert there.code not in page.html
    assert new("gauge") not in page.links()


def test_the_list_is_narrowed_by_kind_and_by_name(site, rps, store):
    gauge, monitor = make_gauge(site, "G-1", at=store), make_monitor(site, tag="WC-1")
    page = things(rps, "?kind=gauge")
    assert gauge.code in page.html
    assert monitor.code not in page.html
    page = things(rps, "?q=wc")
    assert monitor.code in page.html
    assert gauge.code not in page.html
    assert new("gauge") in page.links()
