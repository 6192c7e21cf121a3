"""Pages on which monitors and their calibrations are recorded."""

from __future__ import annotations

import json
import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.ledger.models import Item, Record
from surveys.monitors.in_force import in_force
from tests.factories import calibrate, make_location, make_monitor, make_source, rps_of
from tests.inventory.asking import place, rows_of_every_table, state
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
JANUARY, FEBRUARY = date(2026, 1, 2), date(2026, 2, 2)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def monitor(site):
    return make_monitor(site, calibrated_on=None)


@pytest.fixture
def rps(site):
    return browser(rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


def sent(**fields: Any) -> dict[str, Any]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999"} | fields


def arrival(site: Any, **fields: Any) -> dict[str, Any]:
    to = make_location(site, "Counting room")
    new = {"tag": "CM-9", "monitor_kind": "contamination", "maker": "Invented", "serial": "77"}
    return sent(**(new | {"on": "2026-02-02", "to": to.code} | fields))


def certificate(*rows: dict[str, str], **fields: Any) -> dict[str, Any]:
    said = {"on": "2026-02-02", "verdict": "passed", "certificate": "C-7", "laboratory": "Hill"}
    out = sent(**(said | fields))
    out |= {"efficiencies-TOTAL_FORMS": "12", "efficiencies-INITIAL_FORMS": "0"}
    for number in range(12):
        out[f"efficiencies-{number}-basis"] = "per_decay"
    for number, row in enumerate(rows):
        out |= {f"efficiencies-{number}-{name}": text for name, text in row.items()}
    return out


CAESIUM = {"nuclide": "137Cs", "efficiency": "0.31", "u_rel": "0.1"}


def address(name: str, *args: Any) -> str:
    return reverse(name, args=["thornmere", *args])


def record_at(client: Any, monitor: Item, entry: dict[str, Any]) -> Record:
    response = client.post(address("calibration-new", monitor.code), entry)
    assert response.status_code == 302, Page(response).text
    return Record.objects.latest("pk")


def refusal(client: Any, where: str, entry: dict[str, Any]) -> str:
    """What the page says instead of saving; nothing has been saved."""
    before = rows_of_every_table()
    response = client.post(where, entry)
    assert response.status_code == 200
    assert rows_of_every_table() == before
    page = Page(response)
    assert page.faults == []
    return page.text


# --- new monitor --------------------------------------------------------------------------------


def test_a_new_monitor_is_described_and_received_in_one_act(site, rps):
    response = rps.post(address("monitor-new"), arrival(site))
    monitor = Item.objects.get(kind="monitor")
    assert response["Location"] == address("item", monitor.code)
    assert (monitor.label, monitor.monitor.monitor_kind) == ("CM-9", "contamination")
    assert place(monitor, FEBRUARY) == ("", "Counting room")
    assert state(monitor) == "never_done"


def test_a_new_monitor_is_written_once_however_often_it_is_sent(site, rps):
    entry = arrival(site)
    assert [rps.post(address("monitor-new"), entry).status_code for _ in "12"] == [302, 302]
    assert Item.objects.filter(kind="monitor").count() == 1


@pytest.mark.parametrize("wrong", [{"tag": ""}, {"to": ""}, {"on": "2026-03-03"}, {"on": ""}])
def test_a_new_monitor_is_not_saved_when_something_is_wrong(site, rps, wrong):
    said = refusal(rps, address("monitor-new"), arrival(site, **wrong))
    assert "Nothing was recorded" in said


def test_a_new_monitor_is_for_the_supervisor_alone(site, technician):
    assert technician.get(address("monitor-new")).status_code == 403
    assert technician.post(address("monitor-new"), arrival(site)).status_code == 403


def test_a_repeated_tag_is_named_and_does_not_stop(site, rps, monitor):
    response = rps.post(address("monitor-new"), arrival(site, tag=monitor.label), follow=True)
    assert f"code {monitor.code}" in Page(response).text


# --- calibrations -------------------------------------------------------------------------------


def test_a_calibration_accepted_in_the_same_act_is_in_force(rps, monitor):
    record_at(rps, monitor, certificate(CAESIUM, accept="on"))
    found = in_force(monitor, TODAY)
    assert (found.unfit_because, found.efficiencies["Cs-137"].efficiency) == ("", 0.31)


def test_rows_in_which_nothing_is_written_are_no_rows(rps, monitor):
    strontium = {"nuclide": "Sr-90", "efficiency": "0.4", "basis": "per_2pi_emission"}
    strontium["source_efficiency"] = "0.5"
    record = record_at(rps, monitor, certificate(CAESIUM, {"nuclide": " "}, strontium))
    points = json.loads(record.body)["points"]
    assert [(one["nuclide"], one["source_efficiency"]) for one in points] == [
        ("Cs-137", None),
        ("Sr-90", "0.5"),
    ]


def test_a_technicians_calibration_counts_once_the_supervisor_accepts_it(rps, technician, monitor):
    record = record_at(technician, monitor, certificate(CAESIUM, accept="on"))
    assert (record.accepted_by, state(monitor, TODAY)) == (None, "never_done")
    accept = address("record-accept", record.seq)
    assert accept not in Page(technician.get(address("record", record.seq))).links()
    assert accept in Page(rps.get(address("record", record.seq))).links()
    rps.post(accept, sent(reason=""))
    assert state(monitor, TODAY) == "good"
    assert accept not in Page(rps.get(address("record", record.seq))).links()


def test_a_calibration_is_written_once_however_often_it_is_sent(rps, monitor):
    entry = certificate(CAESIUM)
    assert record_at(rps, monitor, entry) == record_at(rps, monitor, entry)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"nuclide": "Cs-173", "efficiency": "0.3"}, "nearest name there is Cs-137"),
        ({"nuclide": "Cs-137", "efficiency": "31"}, "one decay gives at most"),
        ({"nuclide": "Cs-137"}, "Give the efficiency"),
        ({"efficiency": "0.3"}, "Say for which nuclide"),
        ({"nuclide": "Co-60", "efficiency": "-1"}, "must be above 0"),
        ({"nuclide": "caesium 137", "efficiency": "0.2"}, "stands twice"),
    ],
)
def test_a_row_that_cannot_be_is_named_and_nothing_is_saved(rps, monitor, row, said):
    text = refusal(rps, address("calibration-new", monitor.code), certificate(CAESIUM, row))
    assert said in text
    assert "Efficiencies, row 2" in text


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"valid_until": "2026-02-01"}, "would end before the calibration"),
        ({"on": "2026-03-03"}, "lies in the future"),
        ({"verdict": ""}, "Result"),
    ],
)
def test_a_certificate_that_cannot_be_is_not_saved(rps, monitor, wrong, said):
    assert said in refusal(rps, address("calibration-new", monitor.code), certificate(**wrong))


def test_what_others_recorded_meanwhile_is_told_first(rps, monitor):
    calibrate(monitor, JANUARY)
    text = refusal(rps, address("calibration-new", monitor.code), certificate(seen="1"))
    assert "Meanwhile somebody else recorded" in text


def test_only_monitors_are_calibrated(site, rps):
    source = make_source(site)
    assert rps.get(address("calibration-new", source.code)).status_code == 404


def test_a_manager_calibrates_nothing(site, monitor):
    manager = browser(staff(site, Role.MANAGER))
    assert manager.get(address("calibration-new", monitor.code)).status_code == 403


def test_a_correction_starts_with_what_was_entered(rps, monitor):
    wrong = calibrate(monitor, JANUARY, certificate="C-1")
    page = Page(rps.get(address("record-correct", wrong.seq)))
    values = {one.get("name"): one.get("value") for one in page.all("input")}
    assert (values["certificate"], values["on"]) == ("C-1", "2026-01-02")
    assert values["efficiencies-0-nuclide"] == "Cs-137"
    assert page.faults == []


def test_a_correction_stands_in_its_place_with_its_reason(rps, monitor):
    wrong = calibrate(monitor, JANUARY)
    where = address("record-correct", wrong.seq)
    entry = certificate(CAESIUM | {"efficiency": "0.2"}, accept="on", monitor=monitor.code)
    assert "required" in refusal(rps, where, entry)
    entry |= {"reason": "Misread."}
    assert [rps.post(where, entry).status_code for _ in "12"] == [302, 302]
    assert in_force(monitor, TODAY).efficiencies["Cs-137"].efficiency == 0.2
    assert wrong.replaced_by.reason == "Misread."


def test_a_correction_may_take_it_to_the_right_monitor(site, rps, monitor):
    other, wrong = make_monitor(site, calibrated_on=None), calibrate(monitor, JANUARY)
    entry = certificate(accept="on", monitor=other.code, reason="Wrong monitor.")
    rps.post(address("record-correct", wrong.seq), entry)
    assert (state(monitor, TODAY), state(other, TODAY)) == ("never_done", "good")
    assert "of another monitor" in Page(rps.get(address("item", monitor.code))).text


def test_the_description_of_a_monitor_can_be_corrected(rps, monitor):
    entry = sent(how="correction", reason="Read the plate.", tag="CM-2", monitor_kind="dose_rate")
    rps.post(address("item-describe", monitor.code), entry)
    monitor.refresh_from_db()
    assert (monitor.label, monitor.monitor.monitor_kind) == ("CM-2", "dose_rate")
