"""Calibrations of monitors, and what a counter could do on a day."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest

from config.accounts.models import Role
from inventory.requirements.actions import accept
from surveys.monitors.actions import Certificate, record_calibration
from surveys.monitors.in_force import Efficiency, in_force
from tests.factories import (
    give_role,
    make_monitor,
    make_site,
    make_source,
    make_user,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import due_on, open_points, refuses, state

pytestmark = pytest.mark.django_db
SEPTEMBER, OCTOBER, NOVEMBER = date(2025, 9, 1), date(2025, 10, 1), date(2025, 11, 1)
TOO_MANY_EMISSIONS = "source_efficiency_above_ceiling"
CAESIUM = Efficiency("Cs-137", 0.31, 0.1)


@pytest.fixture(scope="module")
def monitor(site):
    return make_monitor(site, calibrated_on=None)


def calibrate(monitor, on=SEPTEMBER, *efficiencies, passed=True, valid_until=None, **act):
    values = {"by": rps_of(monitor.site), "at": tick(), "accepted": True} | act
    certificate = Certificate(on, passed, "C-1", "Hill Lab", valid_until, efficiencies)
    return record_calibration(monitor, certificate, **values)


def efficiency(monitor, on=OCTOBER, nuclide="Cs-137"):
    found = in_force(monitor, on).efficiencies.get(nuclide)
    return found.efficiency if found else None


def test_it_starts_the_interval(monitor):
    assert state(monitor) == "never_done"
    calibrate(monitor)
    assert due_on(monitor) == date(2026, 9, 1)


def test_a_certificate_that_ends_earlier_ends_it(monitor):
    calibrate(monitor, valid_until=date(2026, 1, 31))
    assert state(monitor, date(2026, 1, 31)) == "due_soon"
    assert state(monitor, date(2026, 2, 1)) == "late"
    assert in_force(monitor, date(2026, 1, 31)).unfit_because == ""
    assert in_force(monitor, date(2026, 2, 1)).unfit_because == "counter_calibration_late"


def test_one_that_failed_puts_the_monitor_out_of_use_until_closed(monitor):
    calibrate(monitor, SEPTEMBER, CAESIUM)
    calibrate(monitor, OCTOBER, passed=False, accepted=False)
    calibrate(monitor, NOVEMBER, CAESIUM)
    assert state(monitor, OCTOBER - timedelta(days=1)) == "good"
    assert state(monitor, OCTOBER) == state(monitor) == "failed"
    assert in_force(monitor, NOVEMBER).unfit_because == "counter_calibration_failed"
    assert len(open_points(monitor)) == 1


def test_a_failed_one_gives_no_efficiency(monitor):
    calibrate(monitor, SEPTEMBER, Efficiency("Cs-137", 0.9), passed=False)
    assert efficiency(monitor) is None


def test_the_efficiencies_are_those_of_the_day(monitor):
    calibrate(monitor, SEPTEMBER, CAESIUM)
    calibrate(monitor, NOVEMBER, Efficiency("Cs-137", 0.2))
    assert efficiency(monitor, SEPTEMBER - timedelta(days=1)) is None
    assert efficiency(monitor, NOVEMBER - timedelta(days=1)) == 0.31
    assert efficiency(monitor, NOVEMBER) == 0.2


def test_an_older_certificate_entered_later_does_not_take_over(monitor):
    calibrate(monitor, OCTOBER, CAESIUM)
    calibrate(monitor, SEPTEMBER, Efficiency("Cs-137", 0.9))
    assert efficiency(monitor, NOVEMBER) == 0.31


def test_an_efficiency_that_the_last_certificate_leaves_out_is_gone(monitor):
    calibrate(monitor, SEPTEMBER, CAESIUM)
    calibrate(monitor, OCTOBER, Efficiency("Co-60", 0.2))
    assert efficiency(monitor) is None


def test_a_correction_removes_the_wrong_efficiency_from_then_on(monitor):
    source = make_source(monitor.site)
    wrong = calibrate(monitor, SEPTEMBER, Efficiency("Cs-137", 1.5))
    before = record_wipe(source, monitor, OCTOBER)
    calibrate(monitor, SEPTEMBER, CAESIUM, replaces=wrong, reason="Misread.")
    assert efficiency(monitor) == 0.31
    assert (
        before.leakresults.get().activity_bq
        < record_wipe(source, monitor, OCTOBER).leakresults.get().activity_bq / 4
    )


def test_a_correction_to_another_monitor_takes_it_from_the_first(site, monitor):
    other = make_monitor(site, calibrated_on=None)
    wrong = calibrate(monitor, SEPTEMBER, CAESIUM)
    calibrate(other, SEPTEMBER, CAESIUM, replaces=wrong, reason="Wrong monitor.")
    assert (state(monitor), state(other)) == ("never_done", "good")
    assert (efficiency(monitor), efficiency(other)) == (None, 0.31)


def test_a_correction_to_a_later_day_leaves_the_days_between_open(monitor):
    wrong = calibrate(monitor, SEPTEMBER, CAESIUM)
    calibrate(monitor, NOVEMBER, CAESIUM, replaces=wrong, reason="Wrong day.")
    assert in_force(monitor, OCTOBER).unfit_because == "counter_calibration_never_done"


def test_a_correction_needs_a_reason_and_a_calibration(monitor):
    wrong = calibrate(monitor)
    received = monitor.mentions.get(kind="received").record
    with refuses("correction_needs_reason", "reason"):
        calibrate(monitor, replaces=wrong)
    with refuses("correction_of_another_kind"):
        calibrate(monitor, replaces=received, reason="Misread.")


def test_only_the_supervisor_accepts_one_in_the_same_act(site, monitor):
    technician = make_user()
    give_role(technician, site, Role.TECHNICIAN)
    for user in (technician, rps_of(make_site())):
        with refuses("only_rps_accepts"):
            calibrate(monitor, by=user)


def test_one_that_nobody_accepted_is_not_in_force(site, monitor):
    calibrate(monitor, SEPTEMBER, Efficiency("Cs-137", 0.2))
    entered = calibrate(monitor, OCTOBER, Efficiency("Cs-137", 1.5), accepted=False)
    assert efficiency(monitor, NOVEMBER) == 0.2
    accepted = accept(entered, by=rps_of(site), at=tick())
    assert efficiency(monitor, accepted.effective_on) == 1.5


def test_state_and_efficiency_rest_on_the_same_certificate(site, monitor):
    """Accepted later: on the days before, the certificate before is the one in force."""
    first = calibrate(monitor, SEPTEMBER, CAESIUM)
    entered = calibrate(monitor, OCTOBER, Efficiency("Cs-137", 1.5), accepted=False)
    accept(entered, by=rps_of(site), at=tick())
    found = in_force(monitor, NOVEMBER)
    assert (found.record, found.unfit_because) == (first, "")
    assert found.efficiencies["Cs-137"].efficiency == 0.31


@pytest.mark.parametrize(
    ("given", "code"),
    [
        (Efficiency("Cs-137", 1.95), "efficiency_above_ceiling"),
        (Efficiency("Am-241", 1.01), "efficiency_above_ceiling"),
        (Efficiency("Sr-90", 2.01), "efficiency_above_ceiling"),
        (Efficiency("Cs-137", 0.0), "efficiency_not_positive"),
        (Efficiency("Cs-137", -0.3), "efficiency_not_positive"),
        (Efficiency("Cs-137", float("nan")), "number_not_finite"),
        (Efficiency("Cs-137", 0.3, -0.1), "number_too_small"),
        (Efficiency("Cs-137", 31.0), "efficiency_above_ceiling"),  # written in per cent
        (Efficiency("Cs-137", 0.3, 0.1, "2pi"), "basis_unknown"),
        (Efficiency("Cs-137", 1.2, 0.1, "per_2pi_emission", 0.5), "emission_efficiency_above_one"),
        (Efficiency("Cs-137", 0.3, 0.1, "per_2pi_emission", 2.5), TOO_MANY_EMISSIONS),
        (
            Efficiency("Cs-137", 40.0, 0.3, "surface_response", None, 10.0),
            "efficiency_above_ceiling",
        ),
        (Efficiency("Cs-173", 0.3), "nuclide_unknown"),
    ],
)
def test_an_efficiency_that_cannot_be_is_refused(monitor, given, code):
    with refuses(code):
        calibrate(monitor, SEPTEMBER, given)


def test_the_most_that_one_decay_can_give_is_accepted(monitor):
    calibrate(monitor, SEPTEMBER, Efficiency("Sr-90", 2.0), Efficiency("Cs-137", 1.94))
    assert efficiency(monitor, nuclide="Sr-90") == 2.0


@pytest.mark.parametrize("name", ["Cs-137", "137Cs", "caesium 137", "Cs-137/Ba-137m"])
def test_one_nuclide_stands_once_however_it_is_written(monitor, name):
    with refuses("efficiency_twice", "efficiencies"):
        calibrate(monitor, SEPTEMBER, CAESIUM, Efficiency(name, 0.9))


def test_it_is_found_however_the_certificate_writes_the_nuclide(monitor):
    calibrate(monitor, SEPTEMBER, Efficiency("137Cs", 0.31, 0.1))
    assert efficiency(monitor) == 0.31


def test_it_refuses_what_cannot_be(site, monitor):
    source = make_source(site)
    with refuses("valid_until_before_calibration", "valid_until"):
        calibrate(monitor, valid_until=SEPTEMBER - timedelta(days=1))
    with refuses("effective_in_future", "on"):
        calibrate(monitor, date(2060, 1, 1))
    with refuses("not_a_monitor", "monitor"):
        calibrate(source)


def test_the_same_request_writes_once(monitor):
    key = uuid.uuid4()
    assert calibrate(monitor, request_key=key) == calibrate(monitor, request_key=key)
    assert monitor.mentions.filter(kind="calibration").count() == 1
