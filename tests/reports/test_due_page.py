"""What needs doing: narrowed down, searched, grouped, booked; and what a manager sees first."""

from __future__ import annotations

import re
import uuid
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.calc import due
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done
from inventory.ledger.models import Item
from inventory.requirements.booking import Appointment, Line, book, not_done
from inventory.requirements.models import Attempt, Booking
from reports.pages.due_filter import begins_with
from tests import factories
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
LOUD = [(90_000, 600.0)]
JUNE = date(2026, 6, 12)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def places(site):
    """The boiler house with its pit inside, and the store."""
    house = factories.make_location(site, "Boiler house")
    pit = factories.make_location(site, "Pit", within=house.code)
    return {"house": house, "pit": pit, "store": factories.make_location(site, "Store")}


@pytest.fixture(scope="module")
def made(site, counter, places):
    """Late in a gauge in the pit, late in the store, never done, due soon, good, leaking."""
    gauge = factories.make_gauge(site, "LG-7", at=places["pit"])
    to = {"late": gauge, "other": places["store"], "never": places["house"]}
    made = {
        name: factories.make_source(site, serial=f"S-{name}", to=to.get(name, places["store"]))
        for name in ("late", "other", "never", "soon", "good", "leaking")
    }
    wiped = {"late": date(2022, 6, 1), "other": date(2022, 6, 2), "soon": date(2024, 4, 2)}
    for name, on in wiped.items():
        factories.calibrate(counter, on)
        factories.record_wipe(made[name], counter, on)
    factories.calibrate(counter, date(2025, 10, 30))
    factories.record_wipe(made["good"], counter, date(2025, 11, 1))
    factories.record_wipe(made["leaking"], counter, date(2025, 12, 1), gross=LOUD)
    return made


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def see(
    client: Any, query: str = "", name: str = "due", *args: Any, slug: str = "thornmere"
) -> Page:
    page = Page(client.get(reverse(name, args=[slug, *args]) + query))
    assert page.faults == []
    return page


def shown(client: Any, query: str) -> set[str]:
    """The names of the sources in the list; the sentences above it do not count."""
    text = see(client, query).text
    return set(re.findall(r"S-([a-z]+)", text[text.index("Only these states") :]))


def do_book(source: Item, day: date = JUNE, whom: str = "J. Marsh") -> None:
    what = Appointment(day, whom, "WO 4711")
    by = factories.rps_of(source.site)
    book([Line(source, "leak_test")], what, by=by, at=factories.tick())


ALL = {"late", "other", "never", "soon", "leaking"}


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("", ALL),
        ("?state=late", {"late", "other"}),
        ("?state=late&state=failed", {"late", "other", "leaking"}),
        ("?state=good", {"good"}),
        ("?requirement=leak_test", ALL),
        ("?requirement=calibration", set()),
        ("?kind=monitor", set()),
        ("?q=s-la", {"late"}),
        ("?q=LG-7", {"late"}),
        ("?q=cs-137", ALL),
        ("?q=nothing-like-it", set()),
        ("?q=s-&state=never_done", {"never"}),
        ("?ahead=90", ALL),
    ],
)
def test_the_list_is_narrowed_down(rps, made, query, expected):
    assert shown(rps, query) == expected


def test_a_place_means_everything_inside_it(rps, made, places):
    assert shown(rps, f"?location={places['house'].code}") == {"late", "never"}
    assert shown(rps, f"?location={places['pit'].code}") == {"late"}


def test_it_looks_ahead(rps, site, counter, made):
    before = shown(rps, "?ahead=60")
    source = factories.make_source(site, serial="S-ahead")
    factories.calibrate(counter, date(2024, 5, 30))
    factories.record_wipe(source, counter, date(2024, 5, 30))  # due 30 May 2026, lead 60 days
    assert shown(rps, "?ahead=60") == before
    assert shown(rps, "?ahead=90") - shown(rps, "?ahead=60") == {"ahead"}


def test_it_finds_what_is_booked_with_whom_and_what_is_with_nobody(rps, made):
    do_book(made["late"])
    do_book(made["soon"], whom="K. Other")
    assert shown(rps, "?booked=%2B") == {"late", "soon"}
    assert shown(rps, "?booked=-") == ALL - {"late", "soon"}
    assert shown(rps, f"?booked={quote('=K. Other')}") == {"soon"}


def test_it_says_what_it_shows_and_of_how_many(rps, made, places):
    query = f"?state=late&location={places['house'].code}"
    assert "Showing 1 of 5: late, Boiler house." in see(rps, query).text
    assert "5 lines." in see(rps).text


def test_the_sentence_of_the_site_stays_whole_and_what_failed_stays_said(rps, made):
    whole = "1 failed and out of use; 2 late: with nobody; 1 never done; 1 due soon."
    for query in ("", "?state=late", "?q=nothing-like-it"):
        assert whole in see(rps, query).text
    assert "Not shown here: 1 that failed and is out of use." in see(rps, "?state=late").text
    assert "Not shown here" not in see(rps, "?state=failed").text


def test_the_choice_is_kept_on_the_next_page_and_on_the_way_back(rps, made, site, monkeypatch):
    monkeypatch.setattr("reports.pages.due.PAGE", 1)
    page = see(rps, "?state=late&state=failed&q=s-")
    (further,) = [link for link in page.links() if "page=2" in link]
    assert "state=late&state=failed" in further.replace("&amp;", "&")
    assert any("back=q%3Ds-" in link for link in page.links())


@pytest.mark.parametrize(
    ("query", "heads"),
    [
        ("", ["Failed, out of use", "Late", "Never done", "Due soon"]),
        ("?group=kind", ["Leak test"]),
        ("?group=round", ["Boiler house: leak test", "Pit: leak test", "Store: leak test"]),
    ],
)
def test_it_is_grouped_as_asked(rps, made, query, heads):
    response = rps.get(reverse("due", args=["thornmere"]) + query)
    titles = [
        group["title"][:1].upper() + group["title"][1:] for group in response.context["groups"]
    ]
    assert titles == heads


@pytest.mark.parametrize(
    "query",
    ["?state=nonsense", "?location=XXXXXXXX", "?booked=%3Dnobody", "?ahead=7", "?group=x", "?on=x"],
)
def test_what_cannot_be_asked_is_left_out_and_said(rps, made, query):
    response = rps.get(reverse("due", args=["thornmere"]) + query)
    assert response.status_code == 200
    name = query[1:].split("=")[0]
    assert list(response.context["form_on"].errors) == [name]
    assert response.context["page"].paginator.count == len(ALL)


def test_a_place_of_another_site_is_no_choice(rps, made):
    other = factories.make_location(factories.make_site("elsewhere"), "Elsewhere")
    page = see(rps, f"?location={other.code}")
    assert "Elsewhere" not in page.text


def test_a_line_says_who_has_it_and_what_was_tried(rps, made, site):
    do_book(made["late"])
    by = factories.rps_of(site)
    line = Line(made["late"], "leak_test")
    not_done(line, by=by, at=factories.tick(), on=TODAY - timedelta(60), because="furnace running",
             meanwhile="area closed off")  # fmt: skip
    text = see(rps).text
    assert "booked for 12 Jun 2026 with J. Marsh, WO 4711" in text
    assert "not done on 1 Jan 2026: furnace running; meanwhile: area closed off" in text
    assert "2 late: 1 booked for 12 Jun 2026, 1 with nobody" in text


def test_the_next_step_of_what_failed_is_its_follow_up(rps, made):
    assert any("/follow-ups/" in link and made["leaking"].code in link for link in see(rps).links())


@pytest.mark.parametrize("role", [Role.MANAGER, Role.INSPECTOR])
def test_who_only_reads_is_offered_no_booking(site, made, role):
    page = see(browser(staff(site, role)))
    assert not any("/book/" in link or "/not-done/" in link for link in page.links())
    assert not [one for one in page.all("input") if one.get("name") == "line"]


# ---------------------------------------------------------------- booking on pages


def sent(**fields: Any) -> dict[str, Any]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999"} | fields


def chosen(*sources: Item) -> list[str]:
    return [f"{source.code}:leak_test" for source in sources]


def test_ticked_lines_are_booked_together_and_the_list_comes_back_as_it_was(rps, made):
    lines = chosen(made["late"], made["soon"])
    query = "&".join(f"line={line}" for line in lines)
    page = see(rps, f"?{query}&back=state%3Dlate", "book")
    assert "S-late" in page.text
    assert "S-soon" in page.text
    form = sent(booked_for="2026-06-12", with_whom="J. Marsh", line=lines, back="state=late")
    response = rps.post(reverse("book", args=["thornmere"]), form)
    assert response["Location"] == "/thornmere/?state=late"
    assert Booking.objects.filter(booked_for=JUNE).count() == 2


def test_nothing_ticked_leads_back_with_a_word(rps, made):
    response = rps.get(reverse("book", args=["thornmere"]), {"back": "q=s-"}, follow=True)
    assert "Tick the lines that this is about first." in Page(response).text
    assert response.redirect_chain[0][0] == "/thornmere/?q=s-"


def test_a_way_back_never_leads_elsewhere(rps, made):
    form = sent(
        booked_for="2026-06-12", line=chosen(made["late"]), back="//example.invalid/\r\nX: y"
    )
    response = rps.post(reverse("book", args=["thornmere"]), form)
    assert response["Location"].startswith("/thornmere/?")
    assert "\n" not in response["Location"]


@pytest.mark.parametrize("name", ["book", "unbook"])
@pytest.mark.parametrize(
    "line", ["XXXXXXXX:leak_test", "nonsense", "{late}:calibration", "{late}:"]
)
def test_a_line_that_is_not_there_does_not_exist(rps, made, name, line):
    query = {"line": line.format(late=made["late"].code)}
    assert rps.get(reverse(name, args=["thornmere"]), query).status_code == 404


def test_a_day_that_has_gone_by_is_refused_beside_its_field(rps, made):
    form = sent(booked_for="2026-03-01", line=chosen(made["late"]))
    response = rps.post(reverse("book", args=["thornmere"]), form)
    assert response.context["form"].errors == {
        "booked_for": ["1 Mar 2026 has gone by: book a day that is still to come."]
    }
    assert not Booking.objects.exists()


def test_a_double_click_books_once(rps, made):
    form = sent(booked_for="2026-06-12", line=chosen(made["late"], made["soon"]))
    for _ in range(2):
        assert rps.post(reverse("book", args=["thornmere"]), form).status_code == 302
    assert Booking.objects.count() == 2


def test_a_booking_is_taken_back_with_a_reason(rps, made, site):
    do_book(made["late"])
    form = sent(reason="firm fell ill", line=chosen(made["late"]))
    assert rps.post(reverse("unbook", args=["thornmere"]), form).status_code == 302
    assert "2 late: with nobody" in see(rps).text
    page = see(rps, "", "item", made["late"].code)
    assert "Leak test: no longer booked. firm fell ill" in page.text
    assert "Leak test: booked for 12 Jun 2026 with J. Marsh, WO 4711." in page.text


def test_a_technician_says_on_a_phone_why_it_was_not_done(site, made):
    client = browser(staff(site, Role.TECHNICIAN))
    address = reverse("not-done", args=["thornmere", made["late"].code, "leak_test"])
    assert client.get(address).context["form"]["on"].value() == TODAY
    form = sent(on="2026-03-02", because="furnace running", meanwhile="area closed off")
    assert client.post(address, form)["Location"] == "/thornmere/"
    assert Attempt.objects.get().because == "furnace running"
    page = see(client, "", "item", made["late"].code)
    assert page.text.count("furnace running; meanwhile: area closed off") == 2  # state, history


def test_the_second_of_two_people_is_told_of_the_first(rps, site, made):
    seen = made["late"].mentions.latest("record__seq").record.seq
    do_book(made["late"], whom="First")
    form = sent(booked_for="2026-06-13", line=chosen(made["late"])) | {"seen": str(seen)}
    response = rps.post(reverse("book", args=["thornmere"]), form)
    assert "Meanwhile somebody else recorded about the same" in Page(response).text
    assert Booking.objects.count() == 1


# ---------------------------------------------------------------- searching


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("TBM-0", {"TBM-0401", "TBM-0402"}),
        ("tbm-04", {"TBM-0401", "TBM-0402"}),
        ("TBM-0401", {"TBM-0401"}),
        ("TBM-401", {"TBM-0401"}),
        ("12", {"12", "1234", "129", "123456789012"}),
        ("123", {"1234", "123456789012"}),
        ("A 1", {"A 15"}),
        ("401", set()),
        ("123456789012", {"123456789012"}),
        ("12345678901", {"123456789012"}),
    ],
)
def test_a_beginning_finds_numbers_that_are_still_being_typed(site, text, found):
    names = ("TBM-0401", "TBM-0402", "12", "1234", "129", "A 15", "A15", "123456789012")
    for name in names:
        factories.make_gauge(site, name)
    items = Item.objects.filter(site=site, kind="gauge").filter(begins_with(text))
    assert set(items.values_list("label", flat=True)) == found


def test_a_code_finds_one_thing(site, made):
    code = made["late"].code.lower()
    assert list(Item.objects.filter(begins_with(code))) == [made["late"]]


# ---------------------------------------------------------------- the manager


@pytest.fixture
def manager(site):
    return browser(staff(site, Role.MANAGER))


def overview(client: Any, slug: str = "thornmere") -> str:
    text = see(client, slug=slug).text
    return text[text.index("What is overdue") : text.index("The whole list")]


def test_a_manager_sees_what_is_overdue_and_who_has_it(manager, made):
    do_book(made["late"])
    said = overview(manager)
    assert "Leak test, LG-7, Pit 639 days late Booked for 12 Jun 2026 with J. Marsh" in said
    assert "638 days late With nobody." in said


def test_a_manager_sees_what_failed_and_what_is_being_done_about_it(manager, made, site):
    assert "no steps yet" in overview(manager).lower()
    by = factories.rps_of(site)
    (point,) = FollowUp.objects.filter(item=made["leaking"])
    tasks = [Task("Isolate it."), Task("Repeat the wipe.", "A. Keeper", date(2026, 2, 27))]
    add_steps(point, tasks, Act(by, factories.tick()))
    step = FollowUpStep.objects.get(text="Isolate it.")
    mark_done(step, Act(by, factories.tick()), on=date(2025, 12, 2))
    said = overview(manager)
    assert "leak test, open for 91 days 1 of 2 steps done." in said
    assert "Next: Repeat the wipe · A. Keeper · 3 days late, was due on 27 Feb 2026" in said


def test_a_manager_sees_what_is_coming_in_ninety_days(manager, made, counter):
    do_book(made["soon"], date(2026, 3, 30))
    said = overview(manager)
    assert "What is coming until 31 May 2026" in said
    assert "Leak test: 1, booked" in said
    assert "due on 2 Apr 2026 Booked for 30 Mar 2026 with J. Marsh" in said
    assert "S-good" not in said


def test_nothing_overdue_is_not_said_without_how_fresh_the_knowledge_is(bare):
    text = see(browser(staff(bare, Role.MANAGER)), slug="bare").text
    assert "Nothing that is known is overdue; how fresh that knowledge is stands above." in text
    assert "No accounting check is recorded." in text


@pytest.mark.parametrize("role", [Role.RPS, Role.TECHNICIAN, Role.INSPECTOR])
def test_those_who_do_the_work_see_the_list_at_once(site, made, role):
    assert "What is overdue" not in see(browser(staff(site, role))).text


def test_long_lists_of_a_manager_end_with_how_many_more_there_are(bare):
    counter = factories.make_monitor(bare, calibrated_on=date(2022, 6, 1))
    factories.calibrate(counter, date(2025, 9, 1))
    sources = [factories.make_source(bare) for _ in range(13)]
    factories.record_wipe(sources, counter, date(2022, 6, 1))
    manager = browser(staff(bare, Role.MANAGER))
    assert "And 3 more in the list below." in overview(manager, "bare")


# ---------------------------------------------------------------- every state


def test_every_state_has_a_place_a_word_and_a_shape(rps, made):
    """The shapes are in the style: a state without one would be told by its colour alone."""
    style = (Path(__file__).parents[2] / "config/static/css/sealbook.css").read_text()
    for state in due.URGENCY:
        assert f".state-{state}::before" in style
