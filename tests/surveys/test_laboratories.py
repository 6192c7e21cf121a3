"""Laboratories: described, changed, corrected, listed; what they could do on a day."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory import derive
from inventory.calc.units import parse_activity
from inventory.items.actions import change, description_in_force, snapshot_of
from inventory.ledger.models import Item, Record
from surveys.laboratories.actions import laboratory_snapshot
from surveys.laboratories.models import Laboratory
from surveys.laboratories.on_day import EXPIRED, LaboratoriesOnDays
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
NEW = "/thornmere/laboratories/new/"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def sent(*limits: tuple[str, str], **fields: str) -> dict[str, str]:
    """What the form of a laboratory sends."""
    out = {
        **{"request_key": str(uuid.uuid4()), "seen": "9999", "name": "Hill Laboratory"},
        **{"authorisation": "A-4711", "valid_until": "2027-03-31", "unit": "Bq"},
        **{"general_limit": "20 Bq", "on": "2026-01-10", "remark": ""},
        **{"limits-TOTAL_FORMS": str(len(limits)), "limits-INITIAL_FORMS": "0"},
    }
    for number, (nuclide, limit) in enumerate(limits):
        out |= {f"limits-{number}-nuclide": nuclide, f"limits-{number}-limit": limit}
    return out | fields


def laboratory() -> Item:
    return Item.objects.get(kind="laboratory")


# --- the action ------------------------------------------------------------------------------


def test_its_columns_follow_its_description(site):
    factories.make_laboratory(site, "Hill", authorisation="A-1", valid_until=date(2027, 3, 31))
    row = Laboratory.objects.get()
    assert (row.name, row.authorisation, row.valid_until) == ("Hill", "A-1", date(2027, 3, 31))
    assert list(derive.rebuild(write=False)) == []


def test_a_nuclide_has_one_limit():
    limit = parse_activity("5 Bq")
    with pytest.raises(Exception, match="limit_twice"):
        laboratory_snapshot("Hill", limits=[("Cs-137", limit), ("Cs-137", limit)])


def test_each_day_has_the_limits_and_the_authorisation_that_were_described_for_it(site):
    lab = factories.make_laboratory(site, valid_until=date(2025, 6, 30))
    act: dict[str, Any] = {"by": factories.rps_of(site), "reason": "renewed"}
    renewed = snapshot_of(description_in_force(lab)) | {
        "valid_until": "2027-06-30",
        "limits": [{"nuclide": "Cs-137", "text": "2 Bq", "bq": "2"}],
    }
    change(lab, renewed, on=date(2025, 8, 1), at=factories.tick(), **act)
    on_days = LaboratoriesOnDays([lab])
    before, between, after = (
        on_days(lab, day) for day in (date(2025, 6, 30), date(2025, 7, 15), date(2025, 8, 1))
    )
    assert [one.unfit_because for one in (before, between, after)] == ["", EXPIRED, ""]
    assert [one.limit_for("Cs-137").bq for one in (before, between, after)] == [5.0, 5.0, 2.0]
    assert after.limit_for("Ni-63").text == "20 Bq"
    assert after.limit_for(None).bq == 20.0


def test_a_laboratory_does_not_move(site, rps):
    lab = factories.make_laboratory(site)
    assert rps.get(reverse("movement-new", args=["thornmere", lab.code])).status_code == 404


# --- pages -----------------------------------------------------------------------------------


def test_the_supervisor_describes_a_laboratory_with_its_limits(site, rps):
    response = rps.post(NEW, sent(("caesium-137", "5 Bq"), ("", ""), ("Am241", "0.2 nCi")))
    assert response.status_code == 302
    data = snapshot_of(description_in_force(laboratory()))
    assert data["limits"] == [
        {"nuclide": "Cs-137", "text": "5 Bq", "bq": "5"},
        {"nuclide": "Am-241", "text": "0.2 nCi", "bq": "7.4"},
    ]
    assert data["general_limit"] == {"text": "20 Bq", "bq": "20"}
    page = Page(rps.get(reverse("laboratory", args=["thornmere", laboratory().code])))
    for text in ("Hill Laboratory", "A-4711", "31 Mar 2027", "0.2 nCi", "7.40", "Nothing yet."):
        assert text in page.text
    assert page.faults == []


FAULTS = {
    "twice": ([("Cs-137", "5 Bq"), ("137Cs", "6 Bq")], {}, "row 2, Nuclide: Cs-137 stands twice"),
    "no unit": ([("Cs-137", "5")], {}, "row 1, Detection limit, with its unit: “5” has no unit"),
    "no nuclide": ([("", "5 Bq")], {}, "row 1, Nuclide: Say for which nuclide."),
    "no limit": ([("Cs-137", "")], {}, "Give the limit with its unit."),
    "no name": ([], {"name": ""}, "Name: This field is required."),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_what_is_wrong_is_said_in_its_row_and_nothing_is_saved(site, rps, fault):
    limits, fields, text = FAULTS[fault]
    before = rows_of_every_table()
    response = rps.post(NEW, sent(*limits, **fields))
    assert response.status_code == 200
    assert text in Page(response).text
    assert {**rows_of_every_table(), "django_session": 0} == {**before, "django_session": 0}


def test_a_double_click_describes_it_once(site, rps):
    form = sent(("Cs-137", "5 Bq"))
    assert {rps.post(NEW, form).status_code for _ in range(2)} == {302}
    assert Item.objects.filter(kind="laboratory").count() == 1


def test_a_description_is_changed_and_starts_with_what_is_there(site, rps):
    lab = factories.make_laboratory(site)
    address = reverse("item-describe", args=["thornmere", lab.code])
    page = Page(rps.get(address))
    values = {one.get("name"): one.get("value") for one in page.all("input")}
    assert (values["limits-0-nuclide"], values["limits-0-limit"]) == ("Cs-137", "5 Bq")
    form = sent(("Cs-137", "2 Bq"), how="change", on="2026-02-01", reason="new counter")
    assert rps.post(address, form).status_code == 302
    assert snapshot_of(description_in_force(lab))["limits"][0]["text"] == "2 Bq"


def test_a_description_is_corrected_by_a_replacing_record(site, rps):
    lab = factories.make_laboratory(site)
    old = description_in_force(lab)
    address = reverse("record-correct", args=["thornmere", old.seq])
    form = sent(("Cs-137", "4 Bq"), reason="misread")
    form = {name: value for name, value in form.items() if name != "on"}
    assert rps.post(address, form).status_code == 302
    assert Record.objects.get(replaces=old).reason == "misread"


def test_the_list_says_whose_authorisation_ended_and_how_many_wipes_are_away(site, rps):
    lab = factories.make_laboratory(site, valid_until=date(2026, 1, 31))
    factories.make_laboratory(site, "Other Laboratory")
    for _ in range(2):
        factories.send_wipe(factories.make_source(site), lab, date(2025, 10, 1))
    page = Page(rps.get("/thornmere/laboratories/"))
    assert "Hill Laboratory – ended on 31 Jan 2026 2 Other Laboratory – not stated 0" in page.text


def test_it_appears_among_the_things_of_the_site(site, rps):
    lab = factories.make_laboratory(site)
    page = Page(rps.get("/thornmere/things/?kind=laboratory"))
    assert reverse("laboratory", args=["thornmere", lab.code]) in page.links()


def test_another_thing_is_no_laboratory(site, rps, counter):
    for name in ("laboratory", "report-new"):
        assert rps.get(reverse(name, args=["thornmere", counter.code])).status_code == 404


def test_the_item_page_leads_to_it(site, rps):
    lab = factories.make_laboratory(site)
    page = Page(rps.get(reverse("item", args=["thornmere", lab.code])))
    assert reverse("laboratory", args=["thornmere", lab.code]) in page.links()


def test_a_manager_reads_and_describes_nothing(site):
    lab = factories.make_laboratory(site)
    manager = browser(staff(site, Role.MANAGER))
    page = Page(manager.get(reverse("laboratory", args=["thornmere", lab.code])))
    assert reverse("item-describe", args=["thornmere", lab.code]) not in page.links()
    assert manager.get(NEW).status_code == 403
