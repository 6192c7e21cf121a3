"""The pages on which shutdowns are planned, changed and taken back."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.ledger.models import Record
from inventory.shutdowns.actions import Plan, plan, take_back
from inventory.shutdowns.models import Shutdown
from tests import factories
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
AHEAD = "/thornmere/ahead/#shutdowns"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def hall(site):
    return factories.make_location(site, "Hall")


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


@pytest.fixture
def planned(site, hall):
    what = Plan("Summer stop", hall, date(2026, 8, 3), date(2026, 8, 24), "Scaffold ordered.")
    return plan(site, what, by=factories.rps_of(site), at=factories.tick())


def entry(**fields: Any) -> dict[str, Any]:
    values = {"name": "Summer stop", "begins_on": "2026-08-03", "ends_on": "2026-08-24"}
    return {"request_key": str(uuid.uuid4()), "seen": "9999", **values, **fields}


def address(name: str, *args: Any) -> str:
    return reverse(name, args=["thornmere", *args])


def last() -> Shutdown:
    return Record.objects.filter(kind="shutdown_planned").latest("seq").shutdown


def test_a_technician_plans_one(technician, hall):
    answer = technician.post(address("shutdown-new"), entry(place=hall.code), follow=True)
    assert answer.redirect_chain == [(AHEAD, 302)]
    assert "The plan is recorded." in Page(answer).text
    assert (last().name, last().place, last().begins_on) == ("Summer stop", hall, date(2026, 8, 3))


def test_without_a_place_it_is_of_the_whole_site(technician):
    technician.post(address("shutdown-new"), entry())
    assert last().place is None


def test_the_address_names_the_place_that_was_looked_at(technician, hall):
    page = technician.get(address("shutdown-new"), {"place": hall.code.lower()})
    assert page.context["form"]["place"].value() == hall.code


def test_an_overlap_is_said_and_does_not_stop_it(technician, planned, hall):
    answer = technician.post(
        address("shutdown-new"), entry(name="Repair", place=hall.code), follow=True
    )
    said = "Some of its days are also those of: Summer stop, 3 to 24 Aug 2026, Hall."
    assert said in Page(answer).text
    assert last().name == "Repair"


@pytest.mark.parametrize(
    ("fields", "field", "said"),
    [
        (
            {"ends_on": "2026-08-02"},
            "ends_on",
            "It would end on 2 Aug 2026, before it begins on 3 Aug 2026.",
        ),
        ({"begins_on": "2025-08-03", "ends_on": "2025-08-24"}, "ends_on", "It would have ended on"),
        ({"name": ""}, "name", "This field is required."),
        ({"begins_on": "August"}, "begins_on", "“August” is not a date"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(technician, fields, field, said):
    before = Record.objects.count()
    answer = technician.post(address("shutdown-new"), entry(**fields))
    assert answer.status_code == 200
    assert said in answer.context["form"].errors[field][0]
    assert Record.objects.count() == before


def test_a_place_of_another_site_is_no_choice(technician):
    elsewhere = factories.make_location(factories.make_site(), "Their hall")
    answer = technician.post(address("shutdown-new"), entry(place=elsewhere.code))
    assert "place" in answer.context["form"].errors


def test_it_is_changed_with_a_reason(technician, planned, hall):
    form = technician.get(address("shutdown-change", planned.seq)).context["form"]
    initial = {name: str(form[name].value()) for name in ("name", "place", "begins_on", "remark")}
    assert initial == {
        **{"name": "Summer stop", "place": hall.code},
        **{"begins_on": "2026-08-03", "remark": "Scaffold ordered."},
    }
    sent = entry(place=hall.code, ends_on="2026-09-02", reason="parts are late")
    answer = technician.post(address("shutdown-change", planned.seq), sent)
    assert answer["Location"] == AHEAD
    assert (last().ends_on, last().record.reason) == (date(2026, 9, 2), "parts are late")
    assert last().record.replaces == planned


def test_a_change_without_a_reason_is_not_taken(technician, planned):
    answer = technician.post(address("shutdown-change", planned.seq), entry())
    assert "reason" in answer.context["form"].errors


def test_it_is_taken_back_with_a_reason(technician, planned):
    page = Page(technician.get(address("shutdown-take-back", planned.seq)))
    assert "Summer stop, 3 to 24 Aug 2026, Hall" in page.text
    answer = technician.post(
        address("shutdown-take-back", planned.seq), entry(reason="the order book is full")
    )
    assert answer["Location"] == AHEAD
    assert last().begins_on is None


def test_the_double_click_of_a_change_is_answered_by_it(technician, planned):
    sent = entry(reason="parts are late")
    for _ in range(2):
        answer = technician.post(address("shutdown-change", planned.seq), sent)
        assert answer["Location"] == AHEAD
    assert Record.objects.filter(kind="shutdown_planned").count() == 2


@pytest.mark.parametrize("name", ["shutdown-change", "shutdown-take-back"])
def test_a_plan_that_does_not_hold_any_more_leads_to_its_record(technician, planned, site, name):
    by = factories.rps_of(site)
    back = take_back(planned, by=by, at=factories.tick(), reason="off")
    for record in (planned, back):
        answer = technician.get(address(name, record.seq))
        assert answer["Location"] == address("record", record.seq)


@pytest.mark.parametrize("name", ["shutdown-change", "shutdown-take-back"])
def test_a_record_of_another_kind_is_not_found_there(technician, site, name):
    other = Record.objects.filter(site=site).first()
    assert technician.get(address(name, other.seq)).status_code == 404


def test_its_record_says_what_was_planned(technician, planned):
    page = Page(technician.get(address("record", planned.seq)))
    assert "Planned shutdown" in page.text
    assert "Summer stop, 3 to 24 Aug 2026, Hall. Scaffold ordered." in page.text


def test_the_page_of_the_site_tells_it_in_its_time_line(technician, planned, site):
    item = site.items.get(kind="site")
    said = Page(technician.get(address("item", item.code))).text
    assert "Summer stop, 3 to 24 Aug 2026, Hall. Scaffold ordered." in said
