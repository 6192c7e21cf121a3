"""Planned shutdowns: planned, changed, taken back; refused with a sentence; nothing follows."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any

import pytest

from inventory import derive
from inventory.calc.errors import DomainError
from inventory.items.models import Location
from inventory.ledger.models import Item, Record
from inventory.ledger.write import Overtaken, last_seq, read_body
from inventory.sentences import error_text
from inventory.shutdowns.actions import Plan, change, plan, take_back
from inventory.shutdowns.models import Shutdown
from inventory.shutdowns.overlaps import overlaps_with
from inventory.shutdowns.wording import days_text, overlap_text, shutdown_line, shutdown_text
from inventory.timeline import RequirementSpan, Stay
from tests.factories import (
    make_gauge,
    make_location,
    make_site,
    make_source,
    rps_of,
    tick,
)
from tests.inventory.asking import refuses

pytestmark = pytest.mark.django_db
BEGINS, ENDS = date(2026, 8, 3), date(2026, 8, 24)


@pytest.fixture(scope="module")
def hall(site) -> Item:
    return make_location(site, "Hall")


def what(place: Item | None = None, **fields: Any) -> Plan:
    values: dict[str, Any] = {"name": "Summer stop", "begins_on": BEGINS, "ends_on": ENDS}
    return Plan(place=place, **(values | fields))


def act(site, **more: Any) -> dict[str, Any]:
    return {"by": rps_of(site), "at": tick()} | more


def planned(site, place: Item | None = None, **fields: Any) -> Record:
    return plan(site, what(place, **fields), **act(site))


def standing(site, on: date = date(2026, 3, 2)) -> list[str]:
    return [shutdown_text(one) for one in Shutdown.objects.planned_on(site, on)]


# ---------------------------------------------------------------- planning


def test_a_shutdown_is_a_record_about_the_site_of_the_day_on_which_it_was_planned(site, hall):
    at = tick()
    record = plan(site, what(hall, remark="Scaffold ordered."), by=rps_of(site), at=at)
    assert (record.kind, record.effective_on) == ("shutdown_planned", site.day(at))
    assert [mention.item.kind for mention in record.about.all()] == ["site"]
    assert read_body(record)["detail"] == {
        **{"name": "Summer stop", "place": hall.code},
        **{"begins_on": "2026-08-03", "ends_on": "2026-08-24"},
    }
    assert record.shutdown.place == hall
    assert standing(site) == ["Summer stop, 3 to 24 Aug 2026, Hall"]


def test_a_shutdown_without_a_place_is_of_the_whole_site(site):
    planned(site)
    assert standing(site) == ["Summer stop, 3 to 24 Aug 2026, whole site"]


def test_one_day_is_a_shutdown_and_so_is_one_that_has_begun(site):
    today = site.day(tick())
    planned(site, begins_on=today, ends_on=today)
    planned(site, begins_on=date(2025, 12, 1), ends_on=today)
    assert len(standing(site)) == 2


def test_nothing_derived_follows_from_it(site, hall):
    make_source(site, to=make_gauge(site, at=hall))
    rows = [list(model.objects.order_by("pk").values_list()) for model in (RequirementSpan, Stay)]
    planned(site, hall)
    again = [list(model.objects.order_by("pk").values_list()) for model in (RequirementSpan, Stay)]
    assert again == rows
    assert list(derive.rebuild(write=False)) == []


def test_a_double_click_plans_once(site):
    key = uuid.uuid4()
    first = plan(site, what(), **act(site, request_key=key))
    assert plan(site, what(), **act(site, request_key=key)) == first
    assert len(standing(site)) == 1


def test_who_plans_learns_that_somebody_else_did_meanwhile(site):
    seen = last_seq(site)
    planned(site)
    with pytest.raises(Overtaken):
        plan(site, what(name="The same again"), **act(site, seen=seen))


# ---------------------------------------------------------------- refused


def test_it_cannot_end_before_it_begins(site):
    with refuses("shutdown_ends_before_it_begins", "ends_on"):
        planned(site, ends_on=BEGINS - timedelta(1))


def test_the_refusal_says_both_days(site):
    with pytest.raises(DomainError) as refusal:
        planned(site, ends_on=date(2026, 8, 2))
    said = "It would end on 2 Aug 2026, before it begins on 3 Aug 2026."
    assert error_text(refusal.value) == said


def test_it_cannot_be_of_a_place_of_another_site(site):
    elsewhere = make_location(make_site(), "Their hall")
    with refuses("item_of_another_site", "place"):
        planned(site, elsewhere)


def test_it_cannot_be_of_a_gauge(site, hall):
    gauge = make_gauge(site, at=hall)
    with refuses("shutdown_not_of_a_place", "place"):
        planned(site, gauge)


def test_it_needs_a_name(site):
    with refuses("shutdown_needs_name", "name"):
        planned(site, name="  ")


def test_what_would_be_over_cannot_be_planned(site):
    yesterday = site.day(tick()) - timedelta(1)
    with refuses("shutdown_is_over", "ends_on"):
        planned(site, begins_on=date(2025, 12, 1), ends_on=yesterday)


# ---------------------------------------------------------------- changing


def test_a_change_takes_the_place_of_the_plan_and_both_stay_readable(site, hall):
    old = planned(site, hall)
    new = change(old, what(hall, ends_on=date(2026, 9, 2)), **act(site, reason="parts are late"))
    assert (new.replaces, new.reason) == (old, "parts are late")
    assert standing(site) == ["Summer stop, 3 Aug to 2 Sep 2026, Hall"]
    assert Record.objects.filter(kind="shutdown_planned").count() == 2


def test_a_shutdown_that_ended_early_may_be_said_to_be_over(site):
    today = site.day(tick())
    old = planned(site, begins_on=today - timedelta(9), ends_on=today + timedelta(9))
    early = what(begins_on=today - timedelta(9), ends_on=today - timedelta(1))
    change(old, early, **act(site, reason="done sooner"))
    assert not Shutdown.objects.planned_on(site, today).not_over(today).exists()


@pytest.mark.parametrize(
    ("code", "field", "fields"),
    [
        ("shutdown_ends_before_it_begins", "ends_on", {"ends_on": BEGINS - timedelta(1)}),
        ("shutdown_needs_name", "name", {"name": ""}),
    ],
)
def test_a_change_is_refused_like_a_plan(site, code, field, fields):
    old = planned(site)
    with refuses(code, field):
        change(old, what(**fields), **act(site, reason="misread"))


def test_a_change_to_a_place_of_another_site_is_refused(site):
    old, elsewhere = planned(site), make_location(make_site())
    with refuses("item_of_another_site", "place"):
        change(old, what(elsewhere), **act(site, reason="misread"))


def test_a_change_and_a_taking_back_need_a_reason(site):
    old = planned(site)
    with refuses("shutdown_needs_reason", "reason"):
        change(old, what(), **act(site, reason=" "))
    with refuses("shutdown_needs_reason", "reason"):
        take_back(old, **act(site, reason=""))


def test_a_plan_that_was_changed_already_is_left_alone(site):
    old = planned(site)
    change(old, what(name="Other"), **act(site, reason="renamed"))
    with refuses("already_corrected"):
        change(old, what(name="Third"), **act(site, reason="renamed"))
    with refuses("already_corrected"):
        take_back(old, **act(site, reason="off"))


def test_only_a_shutdown_is_changed_like_one(site):
    other = Record.objects.filter(site=site).exclude(kind="shutdown_planned").first()
    with refuses("correction_of_another_kind"):
        change(other, what(), **act(site, reason="misread"))
    with refuses("correction_of_another_kind"):
        take_back(other, **act(site, reason="misread"))


# ---------------------------------------------------------------- taking back


def test_what_was_taken_back_does_not_stand_and_cannot_be_changed(site, hall):
    old = planned(site, hall)
    back = take_back(old, **act(site, reason="the order book is full"))
    assert standing(site) == []
    assert (back.shutdown.begins_on, back.shutdown.place, back.shutdown.name) == (
        *(None, hall, "Summer stop"),
    )
    with refuses("shutdown_taken_back"):
        change(back, what(), **act(site, reason="after all"))
    with refuses("shutdown_taken_back"):
        take_back(back, **act(site, reason="again"))


def test_a_double_click_takes_back_once(site):
    old, key = planned(site), uuid.uuid4()
    first = take_back(old, **act(site, reason="off", request_key=key))
    assert take_back(old, **act(site, reason="off", request_key=key)) == first


# ---------------------------------------------------------------- any day


def test_a_past_day_keeps_what_was_planned_on_it(site, hall):
    """Planned on the first day, changed on the second, taken back on the third."""
    first = tick()
    days = [site.day(first) + timedelta(number) for number in range(4)]
    old = plan(site, what(hall), by=rps_of(site), at=first)
    new = change(old, what(hall, name="Later stop"), by=rps_of(site), at=first + timedelta(1),
                 reason="parts are late")  # fmt: skip
    take_back(new, by=rps_of(site), at=first + timedelta(2), reason="off")
    assert standing(site, days[0] - timedelta(1)) == []
    assert standing(site, days[0]) == ["Summer stop, 3 to 24 Aug 2026, Hall"]
    assert standing(site, days[1]) == ["Later stop, 3 to 24 Aug 2026, Hall"]
    assert standing(site, days[2]) == standing(site, days[3]) == []


def test_those_of_another_site_are_not_among_them(site):
    planned(make_site())
    assert standing(site) == []


# ---------------------------------------------------------------- overlaps


def test_an_overlap_at_the_same_place_is_allowed_and_said(site, hall):
    planned(site, hall)
    second = planned(site, hall, name="Repair", begins_on=ENDS, ends_on=ENDS)
    others = overlaps_with(second.shutdown)
    assert overlap_text(others) == (
        "Some of its days are also those of: Summer stop, 3 to 24 Aug 2026, Hall."
    )


def test_a_place_inside_and_the_whole_site_overlap_too(site, hall):
    inner = make_location(site, "Pit", within=hall.code)
    assert Location.objects.get(item=inner).within == hall
    planned(site, hall)
    planned(site, name="Holiday")
    third = planned(site, inner, name="Pit stop")
    assert [one.name for one in overlaps_with(third.shutdown)] == ["Summer stop", "Holiday"]


def test_other_days_other_places_and_what_was_taken_back_do_not_overlap(site, hall):
    planned(site, make_location(site, "Other hall"))
    planned(site, hall, begins_on=ENDS + timedelta(1), ends_on=ENDS + timedelta(9))
    off = take_back(planned(site, hall), **act(site, reason="off"))
    assert overlaps_with(planned(site, hall).shutdown) == []
    assert overlaps_with(off.shutdown) == []


# ---------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2027, 3, 3), date(2027, 3, 24), "3 to 24 Mar 2027"),
        (date(2027, 2, 28), date(2027, 3, 3), "28 Feb to 3 Mar 2027"),
        (date(2026, 12, 28), date(2027, 1, 3), "28 Dec 2026 to 3 Jan 2027"),
        (date(2027, 3, 3), date(2027, 3, 3), "3 Mar 2027"),
    ],
)
def test_days_are_written_as_short_as_they_can_be_read(first, last, said):
    assert days_text(first, last) == said


def test_the_time_line_says_what_was_planned_and_what_was_taken_back(site, hall):
    record = planned(site, hall, remark="Scaffold ordered.")
    labels = {hall.code: "Hall"}
    assert shutdown_line(read_body(record), labels) == (
        "Summer stop, 3 to 24 Aug 2026, Hall. Scaffold ordered."
    )
    back = take_back(record, **act(site, reason="off"))
    assert shutdown_line(read_body(back), labels) == "Summer stop does not take place."
