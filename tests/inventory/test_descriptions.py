"""Permits and people, and what schedules ask of a description."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.items import snapshots, wording
from inventory.items.actions import (
    SourceText,
    description_in_force,
    gauge_snapshot,
    location_snapshot,
    snapshot_of,
)
from inventory.items.models import Permit, Person
from inventory.ledger.models import Item, Record
from inventory.rules.schema import CONDITIONS, TRAIT_DATES, USES, VALUES
from surveys.monitors.actions import monitor_snapshot
from tests import factories
from tests.factories import make_gauge, make_location, make_monitor, make_source, rps_of
from tests.inventory.asking import rows_of_every_table
from tests.pages import Page, browser, staff, stop_clock

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


def sent(**fields: Any) -> dict[str, Any]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999", "on": "2026-02-02"} | fields


def new(kind: str) -> str:
    name = (
        ("monitor-new", ["thornmere"]) if kind == "monitor" else ("item-new", ["thornmere", kind])
    )
    return reverse(name[0], args=name[1])


def made(client: Any, kind: str, **fields: Any) -> Item:
    response = client.post(new(kind), sent(**fields))
    assert response.status_code == 302, Page(response).text
    return Item.objects.latest("pk")


def said_of(item: Item) -> dict[str, Any]:
    return snapshot_of(description_in_force(item))


def corrected(client: Any, item: Item, **fields: Any) -> Any:
    where = reverse("item-describe", args=["thornmere", item.code])
    return client.post(where, sent(how="correction", reason="Misread.", **fields))


def page_of(client: Any, item: Item) -> Page:
    page = Page(client.get(reverse("item", args=["thornmere", item.code])))
    assert page.faults == []
    return page


# ---------------------------------------------------------------- permits and people


def test_a_permit_is_described_and_found(rps):
    fields = {"issued_by": "An authority", "valid_from": "2024-05-01", "valid_until": "2027-04-30"}
    permit = made(rps, "permit", number="EP-2041", conditions="At most 20 GBq.", **fields)
    assert (permit.label, permit.permit.valid_until) == ("EP-2041", date(2027, 4, 30))
    text = page_of(rps, permit).text
    for part in ("EP-2041", "An authority", "1 May 2024", "30 Apr 2027", "At most 20 GBq."):
        assert part in text
    for query in ("?q=ep-20", "?kind=permit", f"?q={permit.code}"):
        assert (
            permit.code in rps.get(reverse("things", args=["thornmere"]) + query).content.decode()
        )


def test_a_permit_that_does_not_say_when_it_ends_is_not_known_to(rps):
    permit = made(rps, "permit", number="EP-1")
    assert Permit.objects.get(item=permit).valid_until is None
    assert "Valid until not known" in page_of(rps, permit).text


def test_a_renewed_permit_is_a_change_from_its_day_on(rps):
    permit = made(rps, "permit", number="EP-1", valid_until="2026-03-31", on="2021-04-01")
    where = reverse("item-describe", args=["thornmere", permit.code])
    fields = {"number": "EP-1", "valid_until": "2031-03-31", "how": "change", "reason": "Renewed."}
    assert rps.post(where, sent(**fields)).status_code == 302
    assert Permit.objects.get(item=permit).valid_until == date(2031, 3, 31)
    assert permit.mentions.filter(kind="described").count() == 2


def test_a_person_has_a_duty_since_the_day_that_is_said(rps):
    person = made(rps, "person", name="Keeper of the store", duty="source custodian")
    assert Person.objects.get(item=person).duty == "source custodian"
    assert said_of(person)["since"] == "2026-02-02"
    text = page_of(rps, person).text
    assert "source custodian" in text
    assert "2 Feb 2026" in text
    assert (
        person.code in rps.get(reverse("things", args=["thornmere"]) + "?q=keeper").content.decode()
    )


def test_another_duty_comes_with_its_own_day(rps):
    person = made(rps, "person", name="Deputy 1", duty="deputy")
    fields = {"name": "Deputy 1", "duty": "supervisor", "since": "2026-01-15"}
    assert corrected(rps, person, **fields).status_code == 302
    data = said_of(person)
    assert (data["duty"], data["since"]) == ("supervisor", "2026-01-15")


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        ("permit", {"number": ""}, "Number: This field is required."),
        (
            *(
                "permit",
                {"number": "EP-1", "valid_from": "2026-02-02", "valid_until": "2026-02-01"},
            ),
            "It would end before it begins.",
        ),
        ("permit", {"number": "EP-1", "valid_until": "03/04/26"}, "more than one date"),
        ("person", {"name": ""}, "Name: This field is required."),
        ("person", {"name": "Deputy 1", "on": "2026-03-03"}, "lies in the future"),
    ],
)
def test_a_permit_or_a_person_that_cannot_be_so_is_not_saved(rps, kind, fields, said):
    before = rows_of_every_table()
    assert said in Page(rps.post(new(kind), sent(**fields))).text
    assert rows_of_every_table() == before


@pytest.mark.parametrize(("kind", "field"), [("permit", "number"), ("person", "name")])
def test_they_are_written_once_and_by_the_supervisor_alone(site, rps, kind, field):
    entry = sent(**{field: "X-1"})
    assert [rps.post(new(kind), entry).status_code for _ in "12"] == [302, 302]
    assert Item.objects.filter(kind=kind).count() == 1
    technician = browser(staff(site, Role.TECHNICIAN))
    assert technician.get(new(kind)).status_code == 403
    assert technician.post(new(kind), sent(**{field: "X-2"})).status_code == 403


def test_they_stand_nowhere(site, rps):
    permit, person = factories.make_permit(site), factories.make_person(site)
    for item in (permit, person):
        assert (
            reverse("movement-new", args=["thornmere", item.code]) not in page_of(rps, item).links()
        )
        assert "not on site" not in page_of(rps, item).text


# ---------------------------------------------------------------- what schedules ask for


SOURCE = {
    **{"nuclide": "Cs-137", "activity_text": "3.7 GBq", "reference_text": "2020-11-01"},
    **{"serial": "S-1", "use": "gauge", "made_text": "May 2019"},
    **{"working_life_until": "2034-05-31", "special_form_certificate": "SF/12"},
    **{"special_form_until": "2029-01-01", "iso_2919": "ISO/97/C64344"},
    **{"physical_form": "solid", "inaccessible": "on"},
}
#: What is entered, what the description then says, what the page shows.
ASKED: dict[str, tuple[dict[str, str], dict[str, Any], tuple[str, ...]]] = {
    "source": (
        SOURCE,
        {
            **{"use": "gauge", "made_text": "May 2019", "made_on": "2019-05-31"},
            **{"made_precision": "month", "working_life_until": "2034-05-31"},
            **{"special_form_certificate": "SF/12", "special_form_until": "2029-01-01"},
            **{"iso_2919": "ISO/97/C64344", "physical_form": "solid", "inaccessible": True},
        },
        ("May 2019", "31 May 2034", "SF/12", "1 Jan 2029", "ISO/97/C64344", "solid", "a gauge"),
    ),
    "gauge": (
        {
            **{"tag": "G-1", "device_kind": "level gauge", "portable": "on", "type_approved": "on"},
            **{"quality_on": "2019-03-04", "detects_leak_in_water": "on"},
        },
        {
            **{"device_kind": "level gauge", "portable": True, "type_approved": True},
            **{"quality_on": "2019-03-04", "detects_leak_in_water": True},
        },
        ("level gauge", "Carried from place to place yes", "4 Mar 2019"),
    ),
    "monitor": (
        {
            **{"tag": "DM-1", "monitor_kind": "neutron", "radiation": "neutron"},
            **{"presence_only": "on", "required_by_law": "on"},
        },
        {
            **{"monitor_kind": "neutron", "radiation": "neutron"},
            **{"presence_only": True, "required_by_law": True},
        },
        ("neutron monitor", "neutrons", "Required by law yes"),
    ),
    "location": (
        {"name": "Hall", "place_kind": "workshop", "designation": "controlled"},
        {"designation": "controlled"},
        ("controlled area",),
    ),
}


@pytest.mark.parametrize("kind", ASKED)
def test_what_a_schedule_asks_for_is_kept_and_shown(rps, store, kind):
    entry, data, words = ASKED[kind]
    item = made(rps, kind, to=store.code, **entry)
    there = said_of(item)
    assert {name: there[name] for name in data} == data
    text = page_of(rps, item).text
    for word in words:
        assert word in text


@pytest.mark.parametrize("kind", ASKED)
def test_it_stays_when_something_else_is_put_right(rps, store, kind):
    entry, data, _words = ASKED[kind]
    item = made(rps, kind, to=store.code, **entry)
    first = next(iter(set(entry) & {"serial", "tag", "name"}))
    assert corrected(rps, item, **(entry | {first: "Another"})).status_code == 302
    there = said_of(item)
    assert there[first] == "Another"
    assert {name: there[name] for name in data} == data


@pytest.mark.parametrize("kind", ASKED)
def test_what_is_taken_back_is_not_said_any_longer(rps, store, kind):
    entry, _data, _words = ASKED[kind]
    item = made(rps, kind, to=store.code, **entry)
    optional = set(
        {
            "source": snapshots.OF_A_SOURCE,
            "gauge": snapshots.OF_A_GAUGE,
            "monitor": snapshots.OF_A_MONITOR,
            "location": snapshots.OF_A_PLACE,
        }[kind]
    )
    kept = {name: text for name, text in entry.items() if name not in optional}
    assert corrected(rps, item, **kept).status_code == 302
    assert not optional & said_of(item).keys()


def test_a_description_without_them_says_what_it_always_said(site, rps):
    """Descriptions from before these facts stay as they are: a form that adds none changes none."""
    assert SourceText("Cs-137").snapshot().keys().isdisjoint(snapshots.OF_A_SOURCE)
    assert gauge_snapshot("G-1").keys().isdisjoint(snapshots.OF_A_GAUGE)
    assert location_snapshot("Hall").keys().isdisjoint(snapshots.OF_A_PLACE)
    plain = monitor_snapshot("WC-1", monitor_kind="wipe_counter")
    assert plain.keys().isdisjoint(snapshots.OF_A_MONITOR)
    gauge = make_gauge(site, "G-1")
    before = Record.objects.count()
    text = Page(corrected(rps, gauge, tag="G-1")).text
    assert "Nothing differs from the description that is there." in text
    assert Record.objects.count() == before


@pytest.mark.parametrize(
    ("kind", "wrong", "said"),
    [
        ("source", {"use": "cooking"}, "is not one of the available choices"),
        ("source", {"made_text": "03/04/19"}, "more than one date"),
        ("source", {"working_life_until": "2034"}, "is not a whole day"),
        ("gauge", {"quality_on": "yesterday"}, "is not a date"),
        ("location", {"designation": "danger"}, "is not one of the available choices"),
    ],
)
def test_it_says_what_it_cannot_read(rps, store, kind, wrong, said):
    before = rows_of_every_table()
    entry = sent(to=store.code, **(ASKED[kind][0] | wrong))
    assert said in Page(rps.post(new(kind), entry)).text
    assert rows_of_every_table() == before


def test_forms_offer_what_rules_can_ask_for_and_nothing_else():
    assert tuple(wording.USED_FOR) == USES
    assert tuple(wording.DESIGNATIONS) == VALUES["designation"]
    assert tuple(wording.RADIATIONS) == VALUES["radiation"]
    kept = {
        *(*snapshots.OF_A_SOURCE, *snapshots.OF_A_GAUGE),
        *(*snapshots.OF_A_PLACE, *snapshots.OF_A_MONITOR),
    }
    assert kept & CONDITIONS.keys() == {
        *("use", "inaccessible", "portable", "type_approved", "detects_leak_in_water"),
        *("presence_only", "required_by_law", "radiation", "designation"),
    }
    assert set(TRAIT_DATES) - kept == {"valid_until"}
    assert kept <= wording.FACTS.keys() | {"made_on", "made_precision"}


def test_the_list_says_what_failed_although_no_schedule_asks_for_it(site, rps):
    gauge, monitor = make_gauge(site, "G-1"), make_monitor(site, tag="WC-1")
    factories.record_check(gauge, "shutter_check", date(2025, 6, 2), "fail")
    page = Page(rps.get(reverse("things", args=["thornmere"])))
    assert "shutter check: failed, out of use" in page.text
    assert monitor.code in page.html
    assert make_source(site).code not in page.html
