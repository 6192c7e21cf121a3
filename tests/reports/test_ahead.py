"""The page of what lies ahead: months, shutdowns, monitor cover, ten years, narrowed down."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.custody.actions import Movement, move
from inventory.requirements.booking import Appointment, Line, book
from inventory.schedule.settings import Wanted, make_setting
from inventory.shutdowns.actions import Plan, plan, take_back
from reports.ahead.asked import Asked
from reports.ahead.monitors import abilities
from reports.ahead.read import look_ahead
from tests import factories
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
AHEAD = "/thornmere/ahead/"
#: Two years later it is due: on 15 June 2026.
WIPED = date(2024, 6, 15)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def hall(site):
    return factories.make_location(site, "Hall")


@pytest.fixture
def counter(site):
    """Calibrated on 1 January 2024 and on 1 September 2025: in date until 1 September 2026."""
    counter = factories.make_monitor(site, tag="WC-1")
    factories.calibrate(counter, date(2024, 1, 1))
    return counter


@pytest.fixture
def source(site, hall, counter):
    """In a gauge in the hall, due on 15 June 2026."""
    source = factories.make_source(site, to=factories.make_gauge(site, "G-7", at=hall), serial="K")
    factories.record_wipe(source, counter, WIPED)
    return source


def stop(site, place, begins: date, ends: date, name: str = "Summer stop"):
    what = Plan(name, place, begins, ends)
    return plan(site, what, by=factories.rps_of(site), at=factories.tick())


def read(site, role: Role = Role.INSPECTOR, **asked: str) -> Any:
    return browser(staff(site, role)).get(AHEAD, asked)


def months(answer) -> dict[str, list[str]]:
    """What stands under each month: work, place and lines."""
    return {
        month["title"]: [
            f"{one['work']}, {one['where']}: "
            + "; ".join(f"{line['label']} {line['said']}" for line in one["lines"])
            for one in month["rounds"]
        ]
        for month in answer.context["months"]
        if month["rounds"]
    }


# ---------------------------------------------------------------- months


def test_what_falls_due_stands_under_its_month_with_its_place(site, source):
    assert months(read(site))["June 2026"] == ["leak test, Hall: Cs-137 K due on 15 Jun 2026"]


def test_what_is_late_or_was_never_done_stands_under_now(site, source, hall):
    factories.make_source(site, to=hall, serial="N")
    factories.make_source(site, to=hall, nuclide="Kr-85", serial="U")
    assert months(read(site, on="2026-06-20"))["Now"] == [
        "leak test, Hall: Cs-137 K 5 days late; Cs-137 N never done; Kr-85 U interval not decided"
    ]


def test_months_in_which_nothing_falls_due_are_one_line(site, source):
    titles = [month["title"] for month in read(site).context["months"]]
    assert titles == [
        *("Now", "March to May 2026", "June 2026", "July to August 2026", "September 2026"),
        "October 2026 to March 2027",
    ]


def test_a_booking_stands_beside_its_line(site, source):
    what = Appointment(date(2026, 6, 12), "J. Marsh")
    book([Line(source, "leak_test")], what, by=factories.rps_of(site), at=factories.tick())
    answer = read(site)
    (june,) = [month for month in answer.context["months"] if month["title"] == "June 2026"]
    assert june["rounds"][0]["lines"][0]["booked"] == "booked for 12 Jun 2026 with J. Marsh"
    assert "booked for 12 Jun 2026 with J. Marsh" in Page(answer).text


def test_what_comes_again_is_counted_and_called_projected(site, source, hall):
    """Monthly on the word of the adviser, never done since 2024: now, then eleven times."""
    data = {
        **{"result": "interval", "months": 1, "mode": "replaces"},
        **{"document": "Letter", "clause": "of the adviser", "known_by": "own"},
    }
    by, at = factories.rps_of(site), factories.tick()
    make_setting(source, Wanted("leak_test", data, "adviser", date(2026, 1, 4)), by=by, at=at)
    found = read(site).context["months"]
    assert [line["said"] for one in found[0]["rounds"] for line in one["lines"]] == [
        "595 days late"
    ]
    again = [(one["count"], one["places"]) for month in found for one in month["projected"]]
    assert again == [("1 projected", "Hall: 1")] * 11
    assert "Projected: comes again at its interval" in Page(read(site)).text


# ---------------------------------------------------------------- narrowed down


def test_a_place_shows_what_is_there_and_inside_it(site, source, hall, counter):
    pit = factories.make_location(site, "Pit", within=hall.code)
    inner = factories.make_source(site, to=pit, serial="P")
    factories.record_wipe(inner, counter, WIPED + timedelta(1))
    outer = factories.make_source(site, serial="O")
    factories.record_wipe(outer, counter, WIPED)

    def names(place: str) -> set[str]:
        found = read(site, place=place).context["months"]
        return {line["label"] for month in found for one in month["rounds"]
                for line in one["lines"]}  # fmt: skip

    assert names(pit.code) == {"Cs-137 P"}
    assert names(hall.code) == {"Cs-137 K", "Cs-137 P"}
    assert names("") >= {"Cs-137 O", "WC-1"}


def test_a_kind_of_work_shows_that_alone(site, source):
    assert set(months(read(site, kind="calibration"))) == {"September 2026"}
    assert set(months(read(site, kind="leak_test"))) == {"June 2026"}


@pytest.mark.parametrize("asked", [{"place": "ZZZZZZZZ"}, {"kind": "nothing"}, {"on": "soon"}])
def test_what_cannot_be_read_is_said_and_no_file_is_offered(site, source, asked):
    answer = read(site, **asked)
    assert answer.status_code == 200
    assert answer.context["form_on"].errors
    assert list(answer.context["downloads"]) == []
    address = reverse("ahead-file", args=["thornmere", "csv"])
    assert browser(factories.rps_of(site)).get(address, asked).status_code == 400


def test_a_place_of_another_site_is_no_choice(site):
    elsewhere = factories.make_location(factories.make_site(), "Their hall")
    assert "Their hall" not in Page(read(site, place=elsewhere.code)).text


def test_it_says_how_fresh_the_knowledge_is(site, hall):
    factories.make_source(site, to=hall, nuclide="Kr-85")
    text = Page(read(site)).text
    assert "The schedule is a draft: nobody has adopted it." in text
    assert "1 interval is not decided: nothing of it can be foreseen." in text


# ---------------------------------------------------------------- any day


def test_a_past_day_does_not_learn_what_happened_since(site, source, counter):
    before = months(read(site, on="2026-02-01"))
    assert "June 2026" in before
    factories.record_wipe(source, counter, date(2026, 2, 20), act={"at": TODAY_AT})
    assert months(read(site, on="2026-02-01")) == before
    assert "June 2026" not in months(read(site))


TODAY_AT = factories.START + timedelta(days=50)


def test_a_day_to_come_is_asked_like_any_other(site, source):
    answer = read(site, on="2026-06-16")
    assert months(answer)["Now"] == ["leak test, Hall: Cs-137 K 1 day late"]


# ---------------------------------------------------------------- shutdowns


def against(answer) -> list[str]:
    return [f"{line['label']} {line['said']}" for one in answer.context["stops"]
            for line in one["lines"]]  # fmt: skip


@pytest.mark.parametrize(
    ("begins", "ends", "said"),
    [
        (date(2026, 6, 27), date(2026, 7, 3), "Cs-137 K falls short by 12 days"),
        (date(2026, 6, 15), date(2026, 7, 3), "Cs-137 K reaches it: due on day 1 of it"),
        (date(2026, 6, 1), date(2026, 6, 15), "Cs-137 K reaches it: due on day 15 of it"),
        (date(2026, 6, 1), date(2026, 6, 14), "Cs-137 K can be taken along: due 1 day after it"),
    ],
)
def test_a_shutdown_says_how_what_is_there_stands_to_it(site, source, hall, begins, ends, said):
    stop(site, hall, begins, ends)
    assert against(read(site)) == [said]


def test_how_long_after_it_counts_is_chosen_on_the_page(site, source, hall):
    stop(site, hall, date(2026, 3, 9), date(2026, 3, 14))
    assert against(read(site)) == []
    assert against(read(site, months="4")) == ["Cs-137 K can be taken along: due 93 days after it"]
    assert "due up to 4 months after its end" in Page(read(site, months="4")).text


def test_what_has_no_date_is_said_and_counted(site, source, hall):
    factories.make_source(site, to=hall, serial="N")
    stop(site, hall, date(2026, 6, 27), date(2026, 7, 3))
    answer = read(site)
    assert "Cs-137 N never done: no date to hold against it" in against(answer)
    assert "1 falls short; 1 has no date." in Page(answer).text


def test_what_is_late_already_says_so(site, source, hall):
    stop(site, hall, date(2026, 6, 27), date(2026, 7, 3))
    assert against(read(site, on="2026-06-20")) == [
        "Cs-137 K falls short by 12 days; 5 days late already"
    ]


def test_overlaps_are_said_at_both(site, hall):
    stop(site, hall, date(2026, 8, 3), date(2026, 8, 24))
    stop(site, None, date(2026, 8, 24), date(2026, 8, 30), "Holiday")
    text = Page(read(site)).text
    assert "days are also those of: Holiday, 24 to 30 Aug 2026, whole site." in text
    assert "days are also those of: Summer stop, 3 to 24 Aug 2026, Hall." in text


def test_what_is_over_or_was_taken_back_is_not_shown(site, hall):
    stop(site, hall, date(2026, 3, 2), date(2026, 3, 2), "Today only")
    off = stop(site, hall, date(2026, 8, 3), date(2026, 8, 24))
    take_back(off, by=factories.rps_of(site), at=factories.tick(), reason="off")
    assert [one["name"] for one in read(site).context["stops"]] == ["Today only"]
    assert read(site, on="2026-03-03").context["stops"] == []
    assert "No shutdown is planned." in Page(read(site, on="2026-03-03")).text


def test_a_place_shows_the_shutdowns_that_touch_it(site, hall):
    pit = factories.make_location(site, "Pit", within=hall.code)
    other = factories.make_location(site, "Other hall")
    for place, name in ((hall, "of the hall"), (other, "elsewhere"), (None, "of all")):
        stop(site, place, date(2026, 8, 3), date(2026, 8, 24), name)
    found = read(site, place=pit.code).context["stops"]
    assert [one["name"] for one in found] == ["of the hall", "of all"]


def test_only_who_enters_is_offered_to_plan_and_to_change(site, hall):
    record = stop(site, hall, date(2026, 8, 3), date(2026, 8, 24))
    offered = {
        reverse("shutdown-new", args=["thornmere"]),
        reverse("shutdown-change", args=["thornmere", record.seq]),
        reverse("shutdown-take-back", args=["thornmere", record.seq]),
    }
    assert offered <= set(Page(read(site, Role.TECHNICIAN)).links())
    assert not offered & set(Page(read(site, Role.MANAGER)).links())


# ---------------------------------------------------------------- monitor cover


def cover(answer) -> dict[str, list[str]]:
    return {one["what"]: one["gaps"] for one in answer.context["cover"]}


def test_the_counter_leaves_a_gap_after_its_due_date(site, counter):
    assert cover(read(site)) == {
        "count wipes": ["2 Sep 2026 to 1 Mar 2027: nothing in date can count wipes"]
    }


def test_a_second_monitor_of_the_same_ability_closes_it_another_does_not(site, counter):
    factories.make_monitor(site, tag="WC-2", calibrated_on=date(2026, 1, 3))
    factories.make_monitor(
        site,
        **{"tag": "CM-1", "monitor_kind": "contamination", "radiation": "beta"},
        calibrated_on=date(2025, 3, 24),
    )
    assert cover(read(site)) == {
        "count wipes": ["4 Jan to 1 Mar 2027: nothing in date can count wipes"],
        "measure beta contamination": [
            "25 Mar 2026 to 1 Mar 2027: nothing in date can measure beta contamination"
        ],
    }


def test_a_booked_calibration_is_shown_and_extends_nothing(site, counter):
    what = Appointment(date(2026, 8, 20), "calibration laboratory")
    book([Line(counter, "calibration")], what, by=factories.rps_of(site), at=factories.tick())
    answer = read(site)
    assert "2 Sep 2026 to 1 Mar 2027" in cover(answer)["count wipes"][0]
    (shown,) = answer.context["cover"][0]["monitors"]
    assert (shown["said"], shown["booked"]) == (
        *("in date until 1 Sep 2026", "booked for 20 Aug 2026 with calibration laboratory"),
    )


def test_a_monitor_that_is_away_or_failed_covers_nothing(site, counter):
    away = factories.make_monitor(
        site, tag="DR-1", monitor_kind="dose_rate", calibrated_on=date(2026, 1, 3)
    )
    failed = factories.make_monitor(
        site, tag="DR-2", monitor_kind="dose_rate", calibrated_on=date(2026, 1, 2)
    )
    factories.calibrate(failed, date(2026, 1, 3), passed=False)
    sent = Movement("sent_away", away, None, date(2026, 1, 4), away_to="Workshop")
    move(sent, by=factories.rps_of(site), at=factories.tick())
    assert cover(read(site))["measure dose rates"] == [
        "2 Mar 2026 to 1 Mar 2027: nothing in date can measure dose rates"
    ]


def test_what_a_monitor_can_do_is_its_kind_and_its_radiation():
    assert abilities({"monitor_kind": "wipe_counter", "radiation": "beta"}) == {"wipe_counter"}
    assert abilities({"monitor_kind": "contamination"}) == {"contamination:"}
    measures = {"monitor_kind": "contamination", "radiation": "beta"}
    assert abilities(measures) == {"contamination:beta"}
    assert abilities({**measures, "presence_only": True}) == frozenset()


# ---------------------------------------------------------------- ten years


def endings(answer) -> list[str]:
    return [f"{one['title']}: {line['label']} {line['day']} {line['said']}"
            for one in answer.context["years"] for line in one["lines"]]  # fmt: skip


def test_decay_crosses_a_level_in_its_year(site, hall):
    """600 MBq of Co-60: below 300 MBq, 0.01 D, a half-life of 1925.3 d later."""
    factories.make_source(
        site,
        to=hall,
        **{"nuclide": "Co-60", "serial": "C", "activity_text": "600 MBq"},
        **{"activity_bq": Decimal("6e8"), "reference_on": date(2025, 3, 2)},
    )
    (said,) = endings(read(site))
    assert said.startswith("2030: Co-60 C ")
    assert said.endswith("falls below 0.01 D, category 5 (300\u00a0MBq)")
    assert "nothing may be disposed of for it" in Page(read(site)).text


def test_a_stated_working_life_and_certificate_end_in_their_years(site, hall):
    factories.make_source(
        site,
        to=hall,
        serial="W",
        working_life_until=date(2033, 5, 1),
        special_form_until=date(2026, 2, 1),
    )
    assert endings(read(site)) == [
        "Ended before 2 Mar 2026: Cs-137 W 1 Feb 2026 special-form certificate ends",
        "2033: Cs-137 W 1 May 2033 working life ends",
    ]


def test_a_source_of_unknown_activity_is_not_passed_over_in_silence(site, hall):
    factories.make_source(site, to=hall, activity_text="", activity_bq=None)
    assert "1 source is not in it" in Page(read(site)).text


def test_the_authorisation_of_a_laboratory_ends_too(site):
    factories.make_laboratory(site, valid_until=date(2027, 4, 1))
    (said,) = endings(read(site))
    assert said.startswith("2027: Hill Laboratory 1 Apr 2027 authorisation")


def test_asked_for_directly_it_answers_without_a_request(site, source, hall):
    record = stop(site, hall, date(2026, 6, 27), date(2026, 7, 3))
    found = look_ahead(Asked(site=site, on=TODAY, today=TODAY))
    assert [(one.shutdown.record, len(one.verdicts)) for one in found.stops] == [(record, 1)]
