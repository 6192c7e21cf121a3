"""Bookings and attempts: who has it, why it was not done; neither moves a due date."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from typing import Any

import pytest

from inventory import derive
from inventory.followups.actions import close_follow_up
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, Overtaken, last_seq, writing
from inventory.requirements.actions import accept
from inventory.requirements.booking import Appointment, Line, book, no_longer_booked, not_done
from inventory.requirements.headlines import headlines
from inventory.requirements.listing import due_rows
from inventory.requirements.models import BOOKED_KIND, NOT_DONE_KIND
from inventory.requirements.plans import people_with_bookings, plans_of, with_booking
from inventory.requirements.wording import attempt_text, booking_text
from inventory.timeline import RequirementSpan
from tests.factories import (
    make_monitor,
    make_site,
    make_source,
    make_user,
    record_wipe,
    rps_of,
    tick,
)
from tests.inventory.asking import NOW, due_on, open_points, refuses, state

pytestmark = pytest.mark.django_db
JUNE = date(2026, 6, 12)
FAILING = [(60_000, 600.0)]


@pytest.fixture
def today(site) -> date:
    """The day of the tests' world: every write is a minute later than the one before."""
    return site.day(tick())


@pytest.fixture
def source(site):
    return make_source(site)


def line_of(item: Item) -> Line:
    return Line(item, "calibration" if item.kind == "monitor" else "leak_test")


def booked(item: Item, on: date = NOW) -> date | None:
    """The day for which it is booked, as lists filter it and as lines say it: the same."""
    rows = RequirementSpan.objects.on(on).filter(item=item)
    (span,) = with_booking(rows, on)
    booking = plans_of([span], on).bookings.get(span.pk)
    assert span.booked_for == (booking.booked_for if booking else None)
    return span.booked_for


def tried(item: Item, on: date = NOW) -> str:
    (span,) = RequirementSpan.objects.on(on).filter(item=item)
    attempt = plans_of([span], on).attempts.get(span.pk)
    return attempt_text(attempt) if attempt else ""


def do_book(item: Item, day: date = JUNE, **more: Any) -> Record:
    texts = {name: more.pop(name) for name in ("with_whom", "work_order", "note") if name in more}
    act = {"by": rps_of(item.site), "at": tick()} | more
    return book([line_of(item)], Appointment(day, **texts), **act)[0]


def take_back(item: Item, **more: Any) -> Record:
    act = {"by": rps_of(item.site), "at": tick(), "reason": "firm fell ill"} | more
    return no_longer_booked([line_of(item)], **act)[0]


def fail_to_do(item: Item, on: date, **more: Any) -> Record:
    act = {"by": rps_of(item.site), "at": tick(), "because": "furnace running"} | more
    return not_done(line_of(item), on=on, **act)


# ---------------------------------------------------------------- booking


def test_it_says_who_has_it_and_when(source):
    do_book(source, with_whom="J. Marsh", work_order="WO 4711", note="Needs a lift.")
    (span,) = RequirementSpan.objects.on(NOW).filter(item=source)
    booking = plans_of([span], NOW).bookings[span.pk]
    assert booking_text(booking, NOW) == (
        "booked for 12 Jun 2026 with J. Marsh, WO 4711. Needs a lift."
    )
    assert "that day has gone by" in booking_text(booking, JUNE + timedelta(1))


def test_it_never_moves_the_due_date(source, counter):
    record_wipe(source, counter, date(2025, 10, 1))
    before = due_on(source), state(source)
    do_book(source, date(2029, 1, 1))
    fail_to_do(source, date(2026, 1, 4))
    assert (due_on(source), state(source)) == before
    assert list(derive.rebuild(write=False)) == []


def test_the_newest_one_holds(source):
    do_book(source)
    do_book(source, JUNE + timedelta(7))
    assert booked(source) == JUNE + timedelta(7)
    do_book(source, JUNE)
    assert booked(source) == JUNE


def test_one_that_was_taken_back_does_not_bring_the_older_one_back(source):
    do_book(source, JUNE + timedelta(7))
    do_book(source)
    take_back(source)
    assert booked(source) is None
    do_book(source, JUNE)
    assert booked(source) == JUNE


def test_one_that_was_replaced_does_not_hold(source):
    first = do_book(source)
    with writing(source.site, by=rps_of(source.site), at=tick()) as ledger:
        detail = {"requirement": "leak_test", "booked_for": None, "with_whom": "", "work_order": ""}
        draft = Draft(BOOKED_KIND, ledger.today, [About(source)], detail=detail, replaces=first,
                      reason="Another source.")  # fmt: skip
        ledger.append(draft)
    assert booked(source) is None


def test_it_is_spent_once_a_pass_counts(source, counter, today):
    do_book(source)
    record_wipe(source, counter, today)
    assert booked(source) is None


def test_a_pass_from_before_it_was_booked_does_not_spend_it(source, counter, today):
    do_book(source)
    record_wipe(source, counter, today - timedelta(1))
    assert booked(source) == JUNE


@pytest.mark.parametrize("how", ["not accepted", "inconclusive", "failing"])
def test_what_does_not_clear_does_not_spend_it(source, counter, today, how):
    do_book(source)
    fields: dict[str, Any] = {
        "not accepted": {"act": {"accepted": False}},
        "inconclusive": {"gross": [(0, 0.01)], "background": [(0, 0.01)]},
        "failing": {"gross": FAILING},
    }[how]
    record_wipe(source, counter, today, **fields)
    assert booked(source) == JUNE


def test_an_acceptance_spends_it_from_its_own_day_on(source, counter, today):
    do_book(source)
    entered = record_wipe(source, counter, today, act={"accepted": False})
    accept(entered, by=rps_of(source.site), at=tick())
    assert booked(source) is None


def test_one_that_was_spent_stays_spent_when_a_later_wipe_fails(source, counter, today):
    do_book(source)
    record_wipe(source, counter, today)
    later = tick() + timedelta(20)
    on = source.site.day(later)
    record_wipe(source, counter, on, gross=FAILING, act={"at": later})
    assert state(source) == "failed"
    assert booked(source) is None
    (point,) = open_points(source)
    close_follow_up(point, by=rps_of(source.site), at=later, on=on, reason="Sent back.")
    assert (state(source), booked(source)) == ("never_done", None)


def test_it_can_be_booked_anew_after_it_was_done(source, counter, today):
    do_book(source)
    record_wipe(source, counter, today)
    do_book(source, date(2027, 12, 1))
    assert booked(source) == date(2027, 12, 1)


def test_before_the_day_of_booking_nobody_had_it(source, today):
    do_book(source)
    assert booked(source, today - timedelta(1)) is None
    assert booked(source, today) == JUNE


def test_each_requirement_has_its_own(source, counter):
    do_book(counter)
    assert (booked(counter), booked(source)) == (JUNE, None)


def test_several_lines_are_booked_in_one_act(site, source):
    other, monitor = make_source(site), make_monitor(site)
    key = uuid.uuid4()
    lines = [line_of(one) for one in (source, other, monitor)]
    act = {"by": rps_of(site), "request_key": key}
    for _ in range(2):  # a double click books once
        book(lines, Appointment(JUNE, "J. Marsh"), at=tick(), **act)
    assert Record.objects.filter(kind=BOOKED_KIND).count() == 3
    assert [booked(one) for one in (source, other, monitor)] == [JUNE] * 3
    assert people_with_bookings(site, NOW) == ["J. Marsh"]


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"day": date(2025, 12, 31)}, "booked_in_past", "booked_for"),
        ({"with_whom": "x" * 201}, "text_too_long", "with_whom"),
    ],
)
def test_it_refuses_a_booking_that_cannot_be(source, change, code, field):
    with refuses(code, field):
        do_book(source, **change)


def test_it_refuses_what_is_not_required_of_such_a_thing(source):
    by, what = rps_of(source.site), Appointment(JUNE)
    with refuses("requirement_not_of_item"):
        book([Line(source, "calibration")], what, by=by, at=tick())
    with refuses("nothing_chosen"):
        book([], what, by=by, at=tick())


def test_all_lines_are_booked_or_none(source):
    stranger = make_source(make_site())
    lines = [line_of(source), line_of(stranger)]
    with refuses("item_of_another_site"):
        book(lines, Appointment(JUNE), by=rps_of(source.site), at=tick())


def test_taking_back_needs_a_booking_and_a_reason(source):
    with refuses("not_booked"):
        take_back(source)
    do_book(source)
    with refuses("unbooking_needs_reason", "reason"):
        take_back(source, reason=" ")
    take_back(source)
    with refuses("not_booked"):
        take_back(source)


def test_the_second_of_two_people_is_told_of_the_first(source):
    seen = last_seq(source.site)
    do_book(source, with_whom="First", seen=seen)
    with pytest.raises(Overtaken):
        do_book(source, with_whom="Second", by=make_user(), seen=seen)
    assert people_with_bookings(source.site, NOW) == ["First"]


# ---------------------------------------------------------------- attempts


def test_it_says_why_it_was_not_done_until_it_is_done(source, counter, today):
    fail_to_do(source, today, meanwhile="area closed off.")
    said = tried(source)
    assert said.endswith(": furnace running; meanwhile: area closed off")
    assert said.startswith("not done on ")
    record_wipe(source, counter, today)
    assert tried(source) == ""


def test_the_last_attempt_is_the_one_that_is_said(source, today):
    fail_to_do(source, today - timedelta(9))
    fail_to_do(source, today, because="no permit")
    assert "no permit" in tried(source)


def test_an_attempt_that_is_entered_late_is_not_news_after_the_wipe(source, counter, today):
    record_wipe(source, counter, today)
    fail_to_do(source, today - timedelta(2))
    assert tried(source) == ""


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"because": "  "}, "not_done_needs_why", "because"),
        ({"on": date(2060, 1, 1)}, "effective_in_future", "on"),
    ],
)
def test_it_refuses_an_attempt_that_cannot_be(source, today, change, code, field):
    with refuses(code, field):
        fail_to_do(source, **({"on": today} | change))


def test_the_same_request_records_one_attempt(source, today):
    key = uuid.uuid4()
    acts = [fail_to_do(source, today, request_key=key) for _ in range(2)]
    assert acts[0] == acts[1]
    assert Record.objects.filter(kind=NOT_DONE_KIND).count() == 1


# ---------------------------------------------------------------- the sentence of a site


def make_late(site: Any, counter: Item, n: int) -> list[Item]:
    """Sources whose leak test was due on 5 Jan 2026 (24 months: rule set gb-1)."""
    sources = [make_source(site) for _ in range(n)]
    record_wipe(sources, counter, date(2024, 1, 5))
    return sources


@pytest.fixture
def late_counter(site):
    return make_monitor(site, calibrated_on=date(2023, 12, 1))


def sentence(site: Any, on: date = NOW) -> str:
    return headlines({site.pk: on})[site.pk].sentence


def test_the_headline_says_how_many_late_ones_are_booked_and_how_many_are_with_nobody(
    site, late_counter
):
    one, two, three, _four = make_late(site, late_counter, 4)
    assert sentence(site).startswith("5 late: with nobody")  # the counter's calibration too
    do_book(one)
    assert sentence(site).startswith("5 late: 1 booked for 12 Jun 2026, 4 with nobody")
    do_book(two)
    assert sentence(site).startswith("5 late: 2 booked for 12 Jun 2026, 3 with nobody")
    do_book(two, date(2026, 7, 3))
    said = "5 late: 2 booked between 12 Jun 2026 and 3 Jul 2026, 3 with nobody"
    assert sentence(site).startswith(said)
    do_book(three, date(2026, 2, 3))
    assert "1 booked for a day that has gone by, 2 with nobody" in sentence(site)


def test_one_sort_of_late_needs_no_number_twice(site, late_counter):
    (one,) = make_late(site, late_counter, 1)
    do_book(one)
    do_book(late_counter)
    assert sentence(site).startswith("2 late: booked for 12 Jun 2026")


def test_the_command_says_for_when_it_is_booked(site, late_counter):
    one, _other = make_late(site, late_counter, 2)
    do_book(one)
    found = {row["code"]: row["booked_for"] for row in due_rows(site, NOW)}
    assert found == {one.code: "2026-06-12", _other.code: None, late_counter.code: None}


def test_a_booking_is_no_news_of_the_site(site, late_counter):
    before = headlines({site.pk: NOW})[site.pk].last_on
    do_book(late_counter)
    assert headlines({site.pk: NOW})[site.pk].last_on == before


def test_it_says_when_the_schedule_is_a_draft(site):
    assert "The schedule is a draft" in headlines({site.pk: NOW})[site.pk].freshness
    bare = make_site(schedule=False)
    assert "No schedule has been set" in headlines({bare.pk: NOW})[bare.pk].freshness
