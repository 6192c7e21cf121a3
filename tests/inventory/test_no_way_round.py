"""What must not loosen by a way round: corrections that nobody accepted, results that come late,
gauges that were lost and found, packed things, forms of matter, settings by the same name."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory import derive, knowledge
from inventory.calc.asof import AsOf
from inventory.custody.actions import Movement, move
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from inventory.items.actions import change, snapshot_of
from inventory.requirements.actions import set_schedule
from inventory.requirements.listing import due_rows
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting
from surveys.awaited.actions import Report, record_report
from surveys.calc.leak import Reported
from surveys.leak.wipe import DeclaredBy, FromLaboratory
from tests.factories import (
    make_gauge,
    make_laboratory,
    make_location,
    make_monitor,
    make_site,
    make_source,
    record_check,
    record_wipe,
    rps_of,
    send_wipe,
    tick,
)
from tests.inventory.asking import refuses
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
BEGAN = date(2024, 1, 2)


def under(rule_set: str, version: int = 1) -> Any:
    """A site that has adopted a rule set."""
    site = make_site(schedule=False)
    adopted = {"adopted_on": date(2010, 1, 1), "adopted_by": "A. Adviser"}
    set_schedule(
        site, by=rps_of(site), at=tick(), rule_set=rule_set, version=version,
        from_on=date(2010, 1, 1), **adopted,
    )  # fmt: skip
    return site


def said(item: Any, requirement: str, on: date) -> tuple[str, date | None]:
    """State and day; what is stored is what is worked out anew."""
    stored = knowledge.states([item.pk], AsOf(on))[item.pk, requirement]
    assert knowledge.decide_on(knowledge.load([item.pk])[item.pk], requirement, on).value == stored
    assert list(derive.rebuild(write=False)) == []
    return stored.state_on(on), stored.due_on


def go(verb: str, item: Any, to: Any, on: date, **more: Any) -> None:
    move(Movement(verb, item, to, on, **more), by=rps_of(item.site), at=tick())


def close(item: Any, on: date) -> None:
    for one in FollowUp.objects.still_open().filter(item=item):
        close_follow_up(one, by=rps_of(item.site), at=tick(), on=on, reason="Looked at.")


def report(laboratory: Any, sent: Any, result: Any, on: date) -> Any:
    """An accepted report of one result."""
    site = laboratory.site
    act = {"by": rps_of(site), "at": tick(), "accepted": True, "accept_because": "They know how."}
    return record_report(laboratory, Report(on), [(sent.seq, result)], **act)


@pytest.mark.parametrize("outcome", ["pass", "inconclusive"])
def test_a_correction_takes_no_failure_away_before_it_is_accepted(outcome):
    gauge = make_gauge(under("us_general"), on=BEGAN)
    record_check(gauge, "shutter_check", date(2025, 1, 3))
    failed = record_check(gauge, "shutter_check", date(2025, 3, 3), "fail", found="Stuck open")
    technician = staff(gauge.site, Role.TECHNICIAN)
    act = {"accepted": False, "replaces": failed, "because": "It was fine."}
    record_check(gauge, "shutter_check", date(2025, 3, 3), outcome, by=technician, act=act)
    close(gauge, date(2025, 3, 12))
    assert said(gauge, "shutter_check", date(2025, 3, 15)) == ("never_done", None)


def test_a_result_that_comes_late_stands_where_its_sample_was_taken():
    site = under("gb", 2)
    counter = make_monitor(site, calibrated_on=BEGAN, on=date(2024, 1, 1))
    laboratory, source = make_laboratory(site), make_source(site, on=BEGAN)
    sent = send_wipe(source, laboratory, date(2024, 5, 2))
    record_wipe(source, counter, date(2024, 5, 2), gross=[(99_999, 600.0)])
    report(laboratory, sent, DeclaredBy(True, "Hill", "R1"), date(2024, 5, 20))
    close(source, date(2024, 5, 22))
    assert said(source, "leak_test", date(2024, 5, 25)) == ("never_done", None)


@pytest.mark.parametrize("whole", [True, False])
def test_a_gauge_that_was_lost_and_found_was_lost_with_what_is_in_it(whole):
    site = under("gb", 2)
    place = make_location(site)
    gauge = make_gauge(site, at=place, on=BEGAN)
    source = make_source(site, to=gauge, on=BEGAN)
    record_check(source, "accounting_check", date(2025, 1, 15))
    lost = gauge if whole else source
    go("missing", lost, None, date(2025, 1, 20))
    assert said(source, "accounting_check", date(2025, 1, 21))[0] == "failed"
    go("found", lost, place, date(2025, 1, 25))
    close(lost, date(2025, 1, 25))
    assert said(source, "accounting_check", date(2025, 2, 1)) == ("never_done", None)
    record_check(source, "accounting_check", date(2025, 2, 2))
    assert said(source, "accounting_check", date(2025, 2, 3)) == ("good", date(2025, 3, 2))


@pytest.mark.parametrize("keeping", ["packed", "stored"])
def test_what_lay_packed_lay_in_storage(keeping):
    """NSRDR s.18(1)(a): immediately before use after storage of twelve months or more."""
    site = under("ca")
    laboratory, place = make_laboratory(site), make_location(site)
    gauge = make_gauge(site, at=place, on=date(2023, 1, 2))
    source = make_source(site, on=date(2023, 1, 10), use="gauge", received=False)
    go("received", source, place, date(2023, 1, 10), keeping=keeping)
    sent = send_wipe(source, laboratory, date(2023, 8, 1))
    report(laboratory, sent, DeclaredBy(True, "Hill", "R1"), date(2023, 8, 5))
    go("installed", source, gauge, date(2024, 6, 1))
    assert said(source, "leak_test", date(2024, 6, 2)) == ("late", date(2024, 6, 1))


@pytest.mark.parametrize(
    ("form", "state"), [("", "not_required"), ("gas", "not_required"), ("solid", "never_done")]
)
def test_tritium_in_a_solid_is_no_gas(form, state):
    """NSRDR s.18(2) exempts gaseous sources."""
    tritium = {
        **{"nuclide": "H-3", "activity_text": "370 GBq", "activity_bq": Decimal("3.7e11")},
        "physical_form": form,
    }
    source = make_source(under("ca"), on=BEGAN, use="gauge", **tritium)
    assert said(source, "leak_test", date(2025, 6, 2))[0] == state


def test_settings_of_one_authority_on_a_source_and_its_gauge_keep_apart():
    site = under("gb", 2)
    counter = make_monitor(site, calibrated_on=BEGAN, on=date(2024, 1, 1))
    gauge = make_gauge(site, on=BEGAN)
    source = make_source(site, to=gauge, on=BEGAN)
    record_wipe(source, counter, date(2024, 5, 1))
    decided = Decided("Agreed.", "A. Adviser", BEGAN)
    for item, months in ((source, 36), (gauge, 6)):
        row = {
            **{"document": f"About {item.kind}", "clause": "1", "known_by": "own"},
            **{"result": "interval", "months": months, "mode": "replaces"},
        }
        wanted = Wanted("leak_test", row, "adviser", BEGAN, decided=decided)
        make_setting(item, wanted, by=rps_of(site), at=tick())
    rows = [one for one in due_rows(site, date(2024, 12, 1)) if one["requirement"] == "leak_test"]
    (row,) = [one for one in rows if one["code"] == source.code]
    assert (row["due_date"], row["interval"]) == ("2024-11-01", "6 months")
    assert row["clause"] == "About gauge, 1, on the word of the adviser"


def test_the_quality_check_of_a_type_is_that_of_the_gauge():
    """StrlSchV s.25(4): ten years from the maker's quality control of the device."""
    site = under("de")
    gauge = make_gauge(site, on=BEGAN)
    described = snapshot_of(gauge.mentions.get(kind="described").record)
    typed = described | {"type_approved": True, "quality_on": "2015-03-10"}
    act = {"by": rps_of(site), "at": tick(), "on": BEGAN, "reason": "From its papers."}
    change(gauge, typed, **act)
    source = make_source(site, to=gauge, on=BEGAN, use="gauge")
    assert said(source, "leak_test", date(2025, 3, 11)) == ("late", date(2025, 3, 10))


@pytest.mark.parametrize(("chase_on", "taken"), [(date(2026, 6, 13), True), (date.max, False)])
def test_a_result_must_be_asked_for_within_a_year(chase_on, taken):
    site = under("gb", 2)
    laboratory, source = make_laboratory(site), make_source(site, on=BEGAN)
    if taken:
        send_wipe(source, laboratory, date(2025, 6, 12), chase_on=chase_on)
    else:
        with refuses("chased_too_late", "chase_on"):
            send_wipe(source, laboratory, date(2025, 6, 12), chase_on=chase_on)


def test_a_bare_figure_of_a_laboratory_is_accepted_with_a_reason():
    site = under("gb", 2)
    laboratory = make_laboratory(site, general_limit=None, limits=[])
    source = make_source(site, on=BEGAN)
    sent = send_wipe(source, laboratory, date(2025, 6, 12))
    bare = FromLaboratory("Hill", Reported(activity_bq=5.0))
    (record,) = report(laboratory, sent, bare, date(2025, 6, 20))
    assert record.about.get().outcome == "pass"


def test_damage_that_is_entered_late_concerns_what_was_inside_that_day(monkeypatch):
    stop_clock(monkeypatch)
    site = under("gb", 2)
    counter = make_monitor(site, calibrated_on=date(2025, 6, 2), on=date(2025, 6, 1))
    place = make_location(site)
    gauge = make_gauge(site, at=place, on=date(2025, 6, 2))
    inside = make_source(site, to=gauge, on=date(2025, 6, 2))
    other = make_source(site, to=place, on=date(2025, 6, 2))
    record_wipe([inside, other], counter, date(2025, 12, 10))
    go("removed", inside, place, date(2025, 12, 28))
    go("installed", other, gauge, date(2025, 12, 29))
    client, where = browser(rps_of(site)), reverse("happening-new", args=[site.slug, gauge.code])
    form = Page(client.get(where))
    hidden = {one["name"]: one.get("value", "") for one in form.all("input")
              if one.get("type") == "hidden"}  # fmt: skip
    what = {**hidden, "what": "damage", "on": "2025-12-20", "performed_by": "T. Brook"}
    refused = client.post(where, {**what, "also": [other.code]})
    assert f"Not inside on 20 Dec 2025: {other.label}." in Page(refused).text
    assert client.post(where, {**what, "also": [inside.code]}).status_code == 302
    assert said(inside, "leak_test", date(2026, 3, 2)) == ("late", date(2025, 12, 20))
    assert said(other, "leak_test", date(2026, 3, 2))[0] == "good"
