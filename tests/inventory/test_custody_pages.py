"""Pages on which movements are recorded and corrected."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.ledger.models import Record
from tests.factories import (
    install,
    make_gauge,
    make_location,
    make_monitor,
    make_site,
    make_source,
    rps_of,
)
from tests.inventory.asking import place, rows_of_every_table
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def store(site):
    return make_location(site, "Store")


@pytest.fixture
def mill(site):
    return make_location(site, "Mill")


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


def sent(verb: str, to: Any, on: str = "2026-02-02", **fields: Any) -> dict[str, Any]:
    key = {"request_key": str(uuid.uuid4()), "seen": "9999"}
    return key | {"verb": verb, "to": to.code, "on": on, "performed_by": "A. Fitter"} | fields


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
    page = Page(client.get(address(item)))
    assert page.faults == []
    offered = [one.get("value", "") for one in page.all("option")]
    return [verb for verb in ("received", "moved", "installed") if verb in offered]


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
    assert verbs(technician, source) == ["received"]
    technician.post(address(source), sent("received", store, supplier="Invented Sources"))
    assert place(source, TODAY) == ("", "Store")
    record = source.mentions.get(kind="received").record
    assert (record.movement.supplier, record.performed_by) == ("Invented Sources", "A. Fitter")


def test_only_a_source_is_offered_a_gauge(site, technician, store):
    gauge, monitor = make_gauge(site, at=store), make_monitor(site)
    assert verbs(technician, make_source(site)) == ["moved", "installed"]
    for item in (gauge, monitor):
        assert verbs(technician, item) == ["moved"]
        assert gauge.code not in Page(technician.get(address(item))).html.split("<select")[2]


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
        ("installed", "2026-02-02", "is not a gauge"),
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
