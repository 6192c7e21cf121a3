"""Pages on which movements are recorded and corrected."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.calc.moves import VERBS
from inventory.custody.actions import Movement, move
from inventory.ledger.models import Record
from tests.factories import (
    install,
    make_gauge,
    make_location,
    make_monitor,
    make_site,
    make_source,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import open_points, place, rows_of_every_table
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def store(site):
    return make_location(site, "Store")


@pytest.fixture(scope="module")
def mill(site):
    return make_location(site, "Mill")


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


def sent(verb: str, to: Any, on: str = "2026-02-02", **fields: Any) -> dict[str, Any]:
    key = {"request_key": str(uuid.uuid4()), "seen": "9999"}
    where = {"to": to.code} if to is not None else {}
    return key | {"verb": verb, "on": on, "performed_by": "A. Fitter"} | where | fields


def do(item: Any, verb: str, on: date = date(2025, 12, 1), **fields: Any) -> Record:
    movement = Movement(verb, item, fields.pop("to", None), on, **fields)
    return move(movement, by=rps_of(item.site), at=tick())


def address(item: Any) -> str:
    return reverse("movement-new", args=["thornmere", item.code])


def correction(record: Record) -> str:
    return reverse("record-correct", args=["thornmere", record.seq])


def refusal(client: Any, where: str, entry: dict[str, Any]) -> str:
    before = rows_of_every_table()
    response = client.post(where, entry)
    assert response.status_code == 200
    assert rows_of_every_table() == before
    return Page(response).text


def verbs(client: Any, item: Any) -> list[str]:
    """What is offered first: what is possible now."""
    page = Page(client.get(address(item)))
    assert page.faults == []
    now = page.html.split("<details")[0]
    return [verb for verb in VERBS if f"?verb={verb}" in now]


def fields(client: Any, item: Any, verb: str) -> set[str]:
    """What the form of a verb asks."""
    page = Page(client.get(address(item), {"verb": verb}))
    assert page.faults == []
    tags = [*page.all("input"), *page.all("select"), *page.all("textarea")]
    kept = {one["name"] for one in tags if one.get("type") != "hidden"}
    return kept - {"performed_by", "remark"}


def test_a_source_is_installed_in_a_gauge(site, technician, store, mill):
    source, gauge = make_source(site, to=store), make_gauge(site, "G-1", at=mill)
    assert technician.post(address(source), sent("installed", gauge)).status_code == 302
    assert place(source, TODAY) == ("G-1", "Mill")


def test_a_gauge_takes_along_what_is_inside_and_says_so(site, technician, store, mill):
    gauge = make_gauge(site, "G-1", at=mill)
    source = make_source(site, to=gauge)
    assert source.label in Page(technician.get(address(gauge))).text
    technician.post(address(gauge), sent("moved", store))
    assert place(source, TODAY) == ("G-1", "Store")


def test_what_was_described_only_is_received_first(site, technician, store):
    source = make_source(site, received=False)
    assert {"to", "keeping", "supplier", "owner", "expected_on", "tested_on"} <= fields(
        technician, source, ""
    )
    technician.post(address(source), sent("received", store, supplier="Invented Sources"))
    assert place(source, TODAY) == ("", "Store")
    record = source.mentions.get(kind="received").record
    assert (record.movement.supplier, record.performed_by) == ("Invented Sources", "A. Fitter")


BUYER = {"away_to": "Buyer", "authorisation": "Permit 7"}
HERE = ["moved", "stored", "out", "sent_away", "transferred", "disposed", "missing"]


def test_only_a_source_is_offered_a_gauge(site, technician, store):
    gauge, monitor = make_gauge(site, at=store), make_monitor(site)
    assert verbs(technician, make_source(site)) == ["installed", *HERE]
    for item in (gauge, monitor):
        assert verbs(technician, item) == HERE
        assert technician.get(address(item), {"verb": "installed"}).status_code == 200
        assert (
            gauge.code
            not in Page(technician.get(address(item), {"verb": "moved"})).html.split(
                '<form class="large"'
            )[1]
        )


def test_a_late_entry_may_be_anything(site, technician, store):
    page = Page(technician.get(address(make_source(site, to=store))))
    assert "It happened before the last movement" in page.text
    late = page.html.split("<details")[1]
    assert all(f"?verb={verb}" in late for verb in VERBS if verb not in ["installed", *HERE])


@pytest.mark.parametrize(
    ("way", "wanted"),
    [
        (["out"], ["back", "missing"]),
        (["sent_away"], ["arrived", "returned", "missing"]),
        (["sent_away", "arrived"], ["returned", "transferred", "disposed", "missing"]),
        (["missing"], []),
        (["disposed"], []),
    ],
)
def test_only_what_is_possible_now_is_offered(site, technician, store, way, wanted):
    gauge = make_gauge(site, at=store)
    for verb in way:
        whom = {"out": "A job", "sent_away": "The maker", "disposed": "A firm"}.get(verb, "")
        do(gauge, verb, away_to=whom)
    assert verbs(technician, gauge) == wanted
    if way == ["missing"]:  # only one thing can follow: its form stands there at once
        assert fields(technician, gauge, "") == {"to", "on", "at_time", "keeping"}
    if way == ["disposed"]:
        assert "Nothing can happen to it any more" in Page(technician.get(address(gauge))).text


@pytest.mark.parametrize(
    ("verb", "asked"),
    [
        ("installed", {"to", "on", "at_time"}),
        ("removed", {"to", "on", "at_time", "keeping"}),
        ("moved", {"to", "on", "at_time", "keeping"}),
        ("stored", {"to", "on", "at_time"}),
        ("out", {"away_to", "on", "expected_on", "at_time"}),
        ("back", {"to", "on", "at_time", "keeping"}),
        ("sent_away", {"away_to", "purpose", "on", "expected_on", "document", "at_time"}),
        ("arrived", {"on", "document"}),
        ("returned", {"to", "on", "at_time", "keeping", "document"}),
        ("transferred", {"away_to", "authorisation", "document", "on", "at_time"}),
        ("disposed", {"away_to", "authorisation", "document", "on", "at_time"}),
        ("missing", {"on", "at_time"}),
        ("found", {"to", "on", "at_time", "keeping"}),
        ("left", {"on", "at_time", "document"}),
    ],
)
def test_the_form_asks_only_what_belongs_to_the_verb(site, technician, store, verb, asked):
    assert fields(technician, make_source(site, to=store), verb) == asked


def test_everything_that_was_entered_is_recorded_and_comes_back_to_be_corrected(
    site, technician, store
):
    source = make_source(site, to=store)
    entry = sent("sent_away", None, away_to="The maker", purpose="Wear inspection.")
    entry |= {"expected_on": "2026-04-01", "document": "CN 77"}
    assert technician.post(address(source), entry).status_code == 302
    record = source.mentions.get(kind="sent_away").record
    kept = record.movement
    assert (kept.away_to, kept.expected_on, kept.document) == (
        *("The maker", date(2026, 4, 1), "CN 77"),
    )
    page = Page(technician.get(correction(record)))
    values = [one.get("value") for one in page.all("input")]
    assert {"The maker", "Wear inspection.", "2026-04-01", "CN 77"} <= set(values)
    assert (
        "The maker. Wear inspection. Expected back on 1 Apr 2026."
        in Page(technician.get(f"/thornmere/items/{source.code}/")).text
    )


@pytest.mark.parametrize(
    ("verb", "said"),
    [("out", "Job site: This field is required"), ("disposed", "Who disposed of it: This field")],
)
def test_it_asks_to_whom(site, technician, store, verb, said):
    source = make_source(site, to=store)
    assert said in refusal(technician, address(source), sent(verb, None))


def test_a_source_inside_a_gauge_is_not_moved_by_itself(site, technician, store, mill):
    source = make_source(site, to=make_gauge(site, "G-1", at=mill))
    said = refusal(technician, address(source), sent("moved", store))
    assert "is inside gauge G-1" in said
    assert technician.post(address(source), sent("removed", store)).status_code == 302
    assert place(source, TODAY) == ("", "Store")


def test_a_gauge_does_not_go_before_its_source_was_put_into_it(site, technician, store, mill):
    gauge = make_gauge(site, "G-1", at=mill)
    source = make_source(site, to=store)
    install(source, gauge, date(2025, 12, 10))
    said = refusal(technician, address(gauge), sent("transferred", None, "2025-12-01", **BUYER))
    assert "The gauge G-1 was not on site on 10 Dec 2025" in said
    assert (
        technician.post(
            address(gauge), sent("transferred", None, "2026-02-11", **BUYER)
        ).status_code
        == 302
    )
    assert place(source, TODAY) is None


def test_something_missing_opens_a_follow_up_with_what_is_usually_done(site, technician, store):
    source = make_source(site, to=store)
    technician.post(address(source), sent("missing", None, remark="Not in its drawer."))
    (point,) = open_points(source)
    assert point.kind == "missing"
    page = Page(browser(rps_of(site)).get(f"/thornmere/items/{source.code}/"))
    assert "Reported missing on 2 Feb 2026" in page.text
    assert "Not where it should be" in page.text
    assert "Where missing since 2 Feb 2026" in page.text


def test_a_location_does_not_move(technician, store):
    assert technician.get(address(store)).status_code == 404


def test_a_movement_is_written_once_however_often_it_is_sent(site, technician, store, mill):
    for source, entry in (
        (make_source(site, to=store), sent("moved", mill)),
        (make_source(site, received=False), sent("received", mill)),
    ):
        before = Record.objects.count()
        answers = [technician.post(address(source), entry).status_code for _ in "12"]
        assert (answers, Record.objects.count()) == ([302, 302], before + 1)


@pytest.mark.parametrize(
    ("verb", "on", "said"),
    [
        ("received", "2026-02-02", "has been received already"),
        ("moved", "2020-02-02", "before it was received"),
        ("moved", "2026-03-03", "lies in the future"),
        ("installed", "2026-02-02", "Into gauge: Select a valid choice"),
        ("moved", "", "On: This field is required"),
        ("stolen", "2026-02-02", "What happened"),
    ],
)
def test_it_says_beside_the_field_what_cannot_have_happened(
    site, technician, store, mill, verb, on, said
):
    source = make_source(site, to=store)
    assert said in refusal(technician, address(source), sent(verb, mill, on))


def test_a_place_of_another_site_cannot_be_chosen(site, technician):
    there = make_location(make_site())
    assert "Select a valid choice" in refusal(
        technician, address(make_source(site)), sent("moved", there)
    )


def test_what_others_recorded_meanwhile_is_told_first(site, technician, store, mill):
    source = make_source(site, to=store)
    said = refusal(technician, address(source), sent("moved", mill, seen="1"))
    assert "Meanwhile somebody else recorded" in said


@pytest.mark.parametrize("role", [Role.MANAGER, Role.INSPECTOR])
def test_who_only_reads_moves_nothing(site, store, mill, role):
    client, source = browser(staff(site, role)), make_source(site, to=store)
    assert client.get(address(source)).status_code == 403
    assert client.post(address(source), sent("moved", mill)).status_code == 403
    assert address(source) not in Page(client.get(f"/thornmere/items/{source.code}/")).links()


# --- corrections --------------------------------------------------------------------------------


def test_a_correction_starts_with_what_was_entered(site, technician, mill):
    source, gauge = make_source(site), make_gauge(site, "G-1", at=mill)
    page = Page(technician.get(correction(install(source, gauge, date(2022, 5, 6)))))
    assert {"value": gauge.code, "selected": ""} in [
        {name: one[name] or "" for name in one} for one in page.all("option")
    ]
    assert "2022-05-06" in [one.get("value") for one in page.all("input")]


def test_a_correction_stands_in_its_place_with_its_reason(site, technician, store, mill):
    source = make_source(site, to=store)
    technician.post(address(source), sent("moved", make_location(site, "Dock")))
    wrong = source.mentions.get(kind="moved").record
    entry = sent("", mill, "2026-02-03")
    assert "Why the earlier record is corrected" in refusal(technician, correction(wrong), entry)
    entry |= {"reason": "It went to the mill."}
    answers = [technician.post(correction(wrong), entry).status_code for _ in "12"]
    assert answers == [302, 302]
    assert place(source, TODAY) == ("", "Mill")
    assert wrong.replaced_by.reason == "It went to the mill."


def test_a_correction_that_cannot_have_happened_is_refused(site, technician, store, mill):
    source = make_source(site, to=store)
    technician.post(address(source), sent("moved", mill))
    received = source.mentions.get(kind="received").record
    entry = sent("", store, "2026-02-20", reason="Later.")
    assert "before it was received" in refusal(technician, correction(received), entry)


def test_what_has_been_corrected_is_not_corrected_again(site, technician, store, mill):
    source = make_source(site, to=store)
    wrong = source.mentions.get(kind="received").record
    for day in ("2021-02-01", "2021-02-02"):
        technician.post(correction(wrong), sent("", store, day, reason="Wrong day."))
    assert Record.objects.filter(replaces=wrong).count() == 1
    assert place(source, date(2021, 2, 1)) == ("", "Store")


def test_the_page_of_the_record_leads_to_its_correction(site, store):
    received = make_source(site, to=store).mentions.get(kind="received").record
    page = browser(rps_of(site)).get(reverse("record", args=["thornmere", received.seq]))
    assert correction(received) in Page(page).links()


def test_what_is_out_of_use_is_not_moved_without_a_warning(site, technician, store, counter):
    gauge = make_gauge(site, "G-1", at=store)
    source = make_source(site, to=gauge, serial="L-1")
    where = address(gauge) + "?verb=out"
    assert "out of use" not in technician.get(where).content.decode()
    record_wipe(source, counter, date(2025, 12, 1), gross=[(90_000, 600.0)])
    for one in (where, address(source) + "?verb=missing"):
        said = Page(technician.get(one)).text
        assert f"{source.label}: failed, out of use until the supervisor" in said


def test_what_comes_out_of_the_store_is_in_use_unless_somebody_says_otherwise(
    site, technician, store, mill
):
    gauge = make_gauge(site, "G-1", at=mill)
    move(Movement("stored", gauge, store, date(2025, 12, 1)), by=rps_of(site), at=tick())
    form = technician.get(address(gauge) + "?verb=moved").context["form"]
    assert form["keeping"].value() == "in_use"
