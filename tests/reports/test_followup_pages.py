"""Follow-ups on pages: the list, the steps, who may do what."""

from __future__ import annotations

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.custody.actions import Movement, move
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.reporting import to_report
from inventory.followups.suggestions import suggested
from inventory.requirements.actions import set_schedule
from inventory.rules.reports import Deadline
from tests import factories
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
LOUD = [(90_000, 600.0)]
NOVEMBER, DECEMBER = date(2025, 11, 1), date(2025, 12, 1)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, serial="K-1")


@pytest.fixture
def point(source, counter):
    record = factories.record_wipe(source, counter, DECEMBER, gross=LOUD)
    return FollowUp.objects.get(opened_by=record)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def address(point: FollowUp, name: str = "followup", *more: Any) -> str:
    return reverse(name, args=["thornmere", point.item.code, point.opened_by.seq, *more])


def see(client: Any, url: str) -> Page:
    page = Page(client.get(url))
    assert page.faults == []
    return page


def sent(**fields: Any) -> dict[str, Any]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999"} | fields


def steps() -> list[FollowUpStep]:
    return list(FollowUpStep.objects.order_by("added_by"))


def take_over(client: Any, point: FollowUp, *places: int) -> Any:
    form = sent(steps=[str(place) for place in places])
    return client.post(address(point, "followup-steps"), form)


def test_the_supervisor_takes_the_usual_steps_over_in_one_click(rps, point):
    form = rps.get(address(point)).context["suggested_form"]
    ticked = form["steps"].value()
    assert len(ticked) == len(suggested("leak_test"))
    take_over(rps, point, *ticked)
    assert [step.text for step in steps()] == suggested("leak_test")
    page = see(rps, address(point))
    assert "Take over what is ticked" not in page.text
    assert "0 of 5 steps done" in page.text


def test_what_is_there_already_is_not_offered_again(rps, point):
    take_over(rps, point, 1)
    form = rps.get(address(point)).context["suggested_form"]
    assert form["steps"].value() == ["0", "2", "3", "4"]
    take_over(rps, point, 0, 1)
    assert len(steps()) == 2


def test_whether_it_is_reportable_is_a_question_to_the_adviser(rps, point):
    text = see(rps, address(point)).text
    assert "Ask the adviser now: is this reportable" in text
    assert "Common practice, not law." in text


def test_a_technician_adds_and_marks_steps_but_does_not_close(site, point):
    client = browser(staff(site, Role.TECHNICIAN))
    form = sent(text="Lock the shutter.", who="A. Keeper", by_on="2026-03-01")
    assert client.post(address(point, "followup-step-new"), form)["Location"] == address(point)
    (step,) = steps()
    page = see(client, address(point))
    assert "Lock the shutter." in page.text
    assert "1 day late, was due on 1 Mar 2026" in page.text
    assert not any(link.endswith(("/close/", "/withdraw/")) for link in page.links())
    done = sent(on="2026-03-02", note="tag 12")
    client.post(address(point, "followup-step-done", step.added_by.seq), done)
    assert steps()[0].done_on == date(2026, 3, 2)
    assert "1 of 1 step done" in see(client, address(point)).text


def test_closing_while_a_step_is_open_is_refused_on_the_page(rps, point):
    take_over(rps, point, 0)
    assert "1 step is still open" in see(rps, address(point)).text
    assert not any(link.endswith("/close/") for link in see(rps, address(point)).links())
    form = sent(on="2026-03-01", reason="Sent back.")
    response = rps.post(address(point, "followup-close"), form)
    assert "cannot be closed before every step is done or withdrawn" in Page(response).text
    (step,) = steps()
    rps.post(address(point, "followup-step-done", step.added_by.seq), sent(on="2026-02-20"))
    assert rps.post(address(point, "followup-close"), form | sent()).status_code == 302
    page = see(rps, address(point))
    assert "Closed." in page.text
    assert not page.all("form")[1:]  # only the one that logs out


def test_withdrawing_twice_by_a_double_click_is_answered_by_the_follow_up(rps, point):
    take_over(rps, point, 0)
    (step,) = steps()
    form = sent(reason="entered twice")
    for _ in range(2):
        answer = rps.post(address(point, "followup-step-withdraw", step.added_by.seq), form)
        assert answer["Location"] == address(point)
    assert steps() == []


def test_a_step_that_was_not_done_after_all_is_open_again(rps, point):
    take_over(rps, point, 0)
    (step,) = steps()
    rps.post(address(point, "followup-step-done", step.added_by.seq), sent(on="2026-02-20"))
    url = address(point, "followup-step-reopen", step.added_by.seq)
    rps.post(url, sent(reason="the wrong gauge was locked"))
    assert steps()[0].done_on is None
    history = see(rps, reverse("item", args=["thornmere", point.item.code])).text
    assert "Not done after all: Isolate the source" in history
    assert "the wrong gauge was locked" in history


@pytest.mark.parametrize("step", [1, 999])
@pytest.mark.parametrize("name", ["followup-step-done", "followup-step-reopen"])
def test_a_step_that_is_not_there_does_not_exist(rps, point, name, step):
    assert rps.get(address(point, name, step)).status_code == 404


def test_the_list_begins_with_what_is_open_longest(site, counter, rps, point):
    older = factories.make_source(site, serial="K-0")
    factories.record_wipe(older, counter, NOVEMBER, gross=LOUD)
    take_over(rps, point, 0, 1)
    text = see(rps, reverse("followups", args=["thornmere"])).text
    assert text.index("K-0") < text.index("K-1")
    assert "open for 121 days" in text
    assert "0 of 2 steps done" in text
    assert "Next: Isolate the source" in text
    assert "nobody named" in text


def test_closed_ones_are_listed_after_the_open_ones(site, counter, rps, point):
    factories.record_wipe(factories.make_source(site, serial="K-2"), counter, NOVEMBER, gross=LOUD)
    rps.post(address(point, "followup-close"), sent(on="2026-03-01", reason="Sent back."))
    text = see(rps, reverse("followups", args=["thornmere"])).text
    assert text.index("K-2") < text.index("Closed") < text.index("K-1")
    assert "Closed on 1 Mar 2026. Sent back." in text


def test_a_site_where_nothing_failed_says_so(rps, source):
    text = see(rps, reverse("followups", args=["thornmere"])).text
    assert "Nothing has failed or accused so far." in text


def test_a_failed_calibration_has_steps_of_its_own(site, counter, rps):
    factories.calibrate(counter, NOVEMBER, passed=False)
    (point,) = FollowUp.objects.filter(item=counter)
    assert "Take the monitor out of use and mark it." in see(rps, address(point)).text


# ---------------------------------------------------------------- whom to tell


@pytest.fixture
def abroad(db):
    """A source that leaked on 1 December under the rules of a site."""

    def leak(rule_set: str, version: int, **fields: Any) -> FollowUp:
        site = factories.make_site("abroad", schedule=False)
        values = {"rule_set": rule_set, "version": version, "from_on": date(2018, 1, 1)}
        set_schedule(site, **values, by=factories.rps_of(site), at=factories.tick())
        record = factories.record_wipe(
            factories.make_source(site, **fields),
            factories.make_monitor(site),
            DECEMBER,
            gross=LOUD,
        )
        return FollowUp.objects.get(opened_by=record)

    return leak


def told_of(point: FollowUp) -> Page:
    client = browser(factories.rps_of(point.site))
    return see(client, reverse("followup", args=["abroad", point.item.code, point.opened_by.seq]))


def test_a_failed_wipe_in_the_us_is_reported_in_writing_within_thirty_days(abroad):
    # 10 CFR 31.5(c)(5): a report within 30 days of 1 December.
    point = abroad("us_general", 1)
    (found,) = to_report(point)
    assert found.by.value == Deadline(date(2025, 12, 31))
    assert (found.over_on(date(2025, 12, 31)), found.over_on(date(2026, 1, 1))) == (False, True)
    text = told_of(point).text
    assert "Regulator, in writing: by 31 Dec 2025: that day has gone by" in text
    assert "10 CFR 31.5(c)(5)" in text


def test_a_failed_wipe_in_canada_is_told_at_once_by_telephone(abroad):
    # SOR/2000-207 s.18(3)
    text = told_of(abroad("ca", 1)).text
    assert "Nuclear regulator, by telephone: at once" in text
    assert "s.18(3)" in text


def test_a_leak_in_great_britain_may_be_a_release_that_is_told_at_once(abroad):
    # IRR17 reg 31(1),(3): a release or spill above Schedule 7 Part 1 column 5.
    point = abroad("gb", 2)
    assert [one.row.id for one in to_report(point)] == ["report.spill"]
    text = told_of(point).text
    said = "If anything was let out: regulator for radiation at work, by telephone: at once"
    assert said in text
    assert "reg 31(1),(3)" in text


def test_a_schedule_without_a_word_about_reporting_is_no_answer(rps, point):
    text = see(rps, address(point)).text
    assert "The schedule says nothing about reporting this." in text


def test_what_is_missing_is_reported_by_what_held_on_the_day(site):
    """A high-activity source is asked for twice, another once; of one whose activity nobody knows
    both count."""
    schedules = [("3.7 GBq", "3.7e9", 1), ("3.7 TBq", "3.7e12", 2), ("", None, 2)]
    bare = factories.make_site("third", schedule=False)
    values = {"rule_set": "gb", "version": 2, "from_on": date(2018, 1, 1)}
    set_schedule(bare, **values, by=factories.rps_of(bare), at=factories.tick())
    for text, bq, expected in schedules:
        activity = None if bq is None else Decimal(bq)
        source = factories.make_source(bare, activity_text=text, activity_bq=activity)
        gone = Movement("missing", source, None, DECEMBER)
        record = move(gone, by=factories.rps_of(bare), at=factories.tick())
        found = to_report(FollowUp.objects.get(opened_by=record))
        assert [one.row.id for one in found][:1] == ["report.missing"]
        assert len(found) == expected, text


def test_a_calibration_that_fails_asks_for_no_report(site, rps):
    monitor = factories.make_monitor(site)
    failed = factories.calibrate(monitor, DECEMBER, passed=False, efficiencies=())
    point = FollowUp.objects.get(opened_by=failed)
    assert to_report(point) == []
    assert "Whom to tell" not in see(rps, address(point)).text
