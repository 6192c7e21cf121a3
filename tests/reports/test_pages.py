"""What each page says, to whom, and that every page is whole."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp
from tests import factories
from tests.pages import NOW, TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
LOUD = [(90_000, 600.0)]


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, serial="K-1")


def see(client: Any, name: str, *args: Any, query: str = "") -> Page:
    return Page(client.get(reverse(name, args=["thornmere", *args]) + query))


def leak(source: Any, counter: Any, on: date = date(2025, 12, 1)) -> Any:
    return factories.record_wipe(source, counter, on, gross=LOUD)


# ---------------------------------------------------------------- what needs doing


@pytest.fixture
def busy(site, counter):
    """One source in each state that a person must look at, and one that is good."""
    names = ("late", "never", "gas", "soon", "good", "leaking")
    made = {
        name: factories.make_source(site, serial=f"S-{name}") for name in names if name != "gas"
    }
    made["gas"] = factories.make_source(site, serial="S-gas", nuclide="Kr-85")
    factories.calibrate(counter, date(2022, 1, 1))
    for name, on in (("late", date(2022, 6, 1)), ("soon", TODAY.replace(year=2024, month=4))):
        factories.calibrate(counter, on)
        factories.record_wipe(made[name], counter, on)
    factories.record_wipe(made["good"], counter, date(2025, 11, 1))
    leak(made["leaking"], counter)
    return made


def test_the_first_sentence_counts_every_state(rps, busy):
    page = see(rps, "due")
    assert (
        "1 failed and out of use; 1 late: with nobody; 1 never done; 1 interval not decided; "
        "1 due soon." in page.text
    )


def test_the_list_begins_with_what_is_most_urgent(rps, busy):
    text = see(rps, "due").text
    places = [text.index(f"S-{name}") for name in ("leaking", "late", "never", "gas", "soon")]
    assert places == sorted(places)
    assert "S-good" not in text


def test_each_line_says_what_where_since_when_and_why(rps, busy):
    text = see(rps, "due").text
    late = text[text.index("Cs-137 S-late") : text.index("Cs-137 S-never")]
    assert "leak test" in late
    assert "Area" in late
    assert "639 days late" in late
    assert "was due on 1 Jun 2024" in late
    assert "every 24 months" in late
    assert "ACOP to reg 28(3)" in late


@pytest.mark.parametrize(
    ("role", "offered"),
    [(Role.RPS, True), (Role.TECHNICIAN, True), (Role.MANAGER, False), (Role.INSPECTOR, False)],
)
def test_the_next_step_is_offered_to_those_who_may_take_it(site, busy, role, offered):
    page = see(browser(staff(site, role)), "due")
    assert any("/wipes/new/?source=" in link for link in page.links()) is offered


def test_an_undecided_interval_offers_no_wipe(rps, busy):
    assert not any(busy["gas"].code in link for link in see(rps, "due").links() if "wipes" in link)


def test_nothing_late_is_never_said_without_how_fresh_the_knowledge_is(site, rps, source, counter):
    factories.give_role(factories.rps_of(site), factories.make_site("second"), Role.RPS)
    for page in (see(rps, "due"), Page(rps.get("/"))):
        assert page.text.lower().count("nothing is late") >= 1
        assert page.text.lower().count("nothing is late") <= page.text.count("Last record of")
        assert "No accounting check is recorded. Open follow-ups: 0." in page.text


def test_a_draft_schedule_is_named_on_every_page_of_the_site(rps, source):
    pages = (("due",), ("sources",), ("register", "source"), ("wipe-new",))
    for name, *args in pages:
        assert "Draft schedule: Great Britain, version 1." in see(rps, name, *args).text


def test_another_day_is_asked_for_in_the_address(rps, busy):
    assert "was due on 1 Jun 2024" not in see(rps, "due", query="?on=2024-06-01").text
    assert "1 day late" in see(rps, "due", query="?on=2024-06-02").text


@pytest.mark.parametrize("name", ["due", "register source"])
@pytest.mark.parametrize("bad", ["yesterday", "2026-02-30", "Mar 2026", "9999999", "0000-01-01"])
def test_a_day_that_cannot_be_read_falls_back_to_today_and_says_so(rps, source, name, bad):
    name, *args = name.split()
    response = rps.get(reverse(name, args=["thornmere", *args]), {"on": bad})
    assert response.status_code == 200
    assert list(response.context["form_on"].errors) == ["on"]
    page = Page(response)
    assert response.context["form_on"].errors["on"][0] in page.text


@pytest.mark.parametrize("name", ["due", "register source", "register leak", "register due"])
@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", ""])
def test_the_first_and_the_last_day_can_be_asked_for(rps, busy, name, day):
    assert see(rps, *name.split(), query=f"?on={day}").faults == []


def test_a_page_that_does_not_exist_is_the_last_one(rps, busy):
    assert "S-leaking" in see(rps, "due", query="?page=99").text


# ---------------------------------------------------------------- home


def test_one_site_opens_at_once_and_several_are_listed(site, rps):
    assert rps.get("/")["Location"] == "/thornmere/"
    factories.give_role(factories.rps_of(site), factories.make_site("second"), Role.MANAGER)
    assert {"/thornmere/", "/second/"} <= set(Page(rps.get("/")).links())


def test_home_counts_a_role_by_the_day_of_its_site(monkeypatch, db):
    """At 20:00 in London it is tomorrow in Auckland."""
    monkeypatch.setattr("config.clock.now", lambda: NOW.replace(hour=20))
    user, site = factories.make_user(), factories.make_site("far", time_zone="Pacific/Auckland")
    role = factories.give_role(user, site, Role.RPS, from_on=TODAY + timedelta(1))
    assert browser(user).get("/")["Location"] == "/far/"
    role.from_on = role.until_on = TODAY
    role.save()
    assert browser(user).get("/").status_code == 200
    assert browser(user).get("/far/").status_code == 404


def test_somebody_without_a_role_is_told_who_gives_one(db):
    assert "You hold no role on any site" in Page(browser(factories.make_user()).get("/")).text


# ---------------------------------------------------------------- an item


def test_an_item_says_what_and_where_it_is_and_how_active(rps, site):
    gauge = factories.make_gauge(site, "G-7", at=factories.make_location(site, "Tank house"))
    source = factories.make_source(site, to=gauge, serial="K-9")
    text = see(rps, "item", source.code).text
    assert "G-7, Tank house" in text
    assert "3.27 GBq on 2 Mar 2026" in text
    assert "Maker" in text
    assert "half-life 30" in text


def test_a_warning_stands_on_an_item_until_its_follow_up_is_closed(rps, site, source, counter):
    leak(source, counter)
    page = see(rps, "item", source.code)
    assert page.text.index("Keep people away") < page.text.index("What and where")
    assert any(attrs.get("role") == "alert" for attrs in page.all("div"))
    close_follow_up(
        FollowUp.objects.get(),
        **{"by": factories.rps_of(site), "at": factories.tick(), "on": date(2026, 1, 2)},
        reason="wiped again, clean",
    )
    after = see(rps, "item", source.code).text
    assert "Keep people away" not in after
    assert "Closed on 2 Jan 2026. wiped again, clean" in after


def test_a_later_clean_wipe_does_not_take_the_warning_off(rps, source, counter):
    leak(source, counter)
    factories.record_wipe(source, counter, date(2026, 1, 3))
    assert "Keep people away" in see(rps, "item", source.code).text


@pytest.mark.parametrize("role", Role)
def test_closing_is_offered_to_the_supervisor_alone(site, source, counter, role):
    seq = leak(source, counter).seq
    page = see(browser(staff(site, role)), "item", source.code)
    close = reverse("followup-close", args=["thornmere", source.code, seq])
    assert (close in page.links()) is (role == Role.RPS)


def test_open_points_of_a_source_are_named(rps, site):
    source = factories.make_source(
        site,
        **{"serial": "", "serial_unknown_because": "plate unreadable"},
        **{"activity_text": "", "activity_bq": None},
    )
    text = see(rps, "item", source.code).text
    assert "The serial is not known: plate unreadable." in text
    assert "The activity is not known" in text


def test_a_replaced_record_is_marked_with_what_stands_in_its_place(rps, source, counter):
    old = factories.record_wipe(source, counter, date(2025, 11, 1))
    new = factories.record_wipe(
        source, counter, date(2025, 11, 2), act={"replaces": old, "because": "wrong day"}
    )
    page = see(rps, "item", source.code)
    assert f"Record {new.seq} stands in its place: wrong day" in page.text
    assert f"Corrects record {old.seq}: wrong day" in page.text
    assert [attrs for attrs in page.all("div") if attrs.get("class") == "replaced-record"]


def test_an_entry_made_later_than_its_day_is_marked(rps, source, counter):
    factories.record_wipe(source, counter, date(2025, 11, 1))
    assert "Entered on " in see(rps, "item", source.code).text


def test_a_code_is_found_in_small_letters_too(rps, source):
    assert see(rps, "item", source.code.lower()).text == see(rps, "item", source.code).text


# ---------------------------------------------------------------- sources


def test_sources_are_found_by_serial_nuclide_and_code(rps, site):
    wanted = factories.make_source(site, serial="AB-1234")
    factories.make_source(site, serial="XY-9", nuclide="Co-60")
    for text in ("AB-1234", "ab-12", " ab-1234 ", "Cs-137", "cs", wanted.code, wanted.code.lower()):
        found = see(rps, "sources", query=f"?q={text}").text
        assert "AB-1234" in found, text
        assert "XY-9" not in found, text
    assert "No source matches." in see(rps, "sources", query="?q=ZZ").text


@pytest.mark.parametrize(
    "query", ["?sort=-label", "?sort=code", "?sort=nonsense", "?page=x", "?q="]
)
def test_the_list_of_sources_bears_any_address(rps, source, query):
    assert "K-1" in see(rps, "sources", query=query).text


def test_search_takes_signs_as_they_are(rps, source):
    for text in ("%", "_", "'", "%22%3E%3Cscript%3E", "x" * 500):
        response = rps.get(reverse("sources", args=["thornmere"]), {"q": text})
        assert response.status_code == 200
        assert "<script" not in response.content.decode()


# ---------------------------------------------------------------- a record


@pytest.fixture
def entered(site, source, counter):
    technician = staff(site, Role.TECHNICIAN)
    return factories.record_wipe(
        source, counter, date(2025, 11, 1), by=technician, act={"accepted": False}
    )


def test_a_record_shows_its_verdict_its_basis_its_text_and_its_hash(rps, entered):
    page = see(rps, "record", entered.seq)
    assert "Passes: not detected" in page.text
    assert "Great Britain, version 1 (draft, not adopted)" in page.text
    assert "Calibration in force record" in page.text
    assert entered.hash in page.text
    assert " ".join(entered.body.split()) in page.text
    assert "431 in 600 s" in page.text


@pytest.mark.parametrize("role", Role)
def test_accepting_is_offered_to_the_supervisor_while_it_is_not_accepted(site, entered, role):
    client = browser(staff(site, role))
    accept = reverse("record-accept", args=["thornmere", entered.seq])
    assert (accept in see(client, "record", entered.seq).links()) is (role == Role.RPS)
    browser(factories.rps_of(site)).post(
        accept, {"request_key": "6b1f4d0e-4b0e-4a0e-9d8e-0c0d0e0f1011", "seen": "9999"}
    )
    assert accept not in see(client, "record", entered.seq).links()


def test_every_kind_of_record_has_a_page(rps, site, entered, source, counter):
    leak(source, counter)
    close_follow_up(
        FollowUp.objects.get(),
        **{"by": factories.rps_of(site), "at": factories.tick(), "on": date(2026, 1, 2)},
        reason="wiped again",
    )
    for record in site.record_set.all():
        page = see(rps, "record", record.seq)
        assert record.hash in page.text
        assert "[no sentence" not in page.text
        assert not re.search(r"\b[a-z]+_[a-z_]+\b", page.text.split("The text that is kept")[0])


# ---------------------------------------------------------------- the register


def test_the_register_shows_the_day_of_the_address(rps, source):
    then = see(rps, "register", "source", query="?on=2021-02-28")
    assert "28 Feb 2021" in then.text
    assert "K-1" not in then.text
    assert "K-1" in see(rps, "register", "source", query="?on=2021-03-01").text


def test_the_register_as_it_was_known_shows_no_later_entry(rps, source):
    assert "K-1" not in see(rps, "register", "source", query="?on=2026-01-01&known=2026-01-01").text


def test_the_files_of_a_register_are_those_of_its_day(rps, source):
    page = see(rps, "register", "source", query="?on=2025-05-05")
    files = [link for link in page.links() if "registers/source." in link]
    assert len(files) == 4
    assert all("on=2025-05-05" in link for link in files)
    response = rps.get(next(link for link in files if ".csv" in link))
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert re.search(
        r'filename="thornmere-source-20250505-\d+\.csv"', response["Content-Disposition"]
    )


# ---------------------------------------------------------------- every page


def test_healthz_answers_without_logging_in(db):
    response = browser().get("/healthz")
    assert (response.status_code, response.content) == (200, b"ok")


PAGES = [
    *("home", "login", "due", "sources", "things", "registers", "wipe-new", "item-leaking"),
    *("record", "record-correct", "record-accept", "followup-close", "gauge", "monitor", "missing"),
    *("register source", "register leak", "register monitor", "register due"),
]


def open_page(name: str, site: Any, counter: Any) -> Any:
    rps = factories.rps_of(site)
    if name == "login":
        return browser().get("/login/?next=/thornmere/")
    if name == "home":
        factories.give_role(rps, factories.make_site("second"), Role.RPS)
        return browser(rps).get("/")
    gauge = factories.make_gauge(site)
    source = factories.make_source(site, to=gauge, serial="<K>&1")
    technician = staff(site, Role.TECHNICIAN)
    entered = factories.record_wipe(
        source, counter, date(2025, 11, 1), by=technician, act={"accepted": False}
    )
    leaking = leak(source, counter)
    args: dict[str, Any] = {
        "item-leaking": ("item", source.code),
        "gauge": ("item", gauge.code),
        "monitor": ("item", counter.code),
        "missing": ("item", "22222222"),
        "followup-close": ("followup-close", source.code, leaking.seq),
        **{each: (each, entered.seq) for each in PAGES if each.startswith("record")},
    }
    view, *rest = args.get(name, name.split())
    return browser(rps).get(reverse(view, args=["thornmere", *rest]))


@pytest.mark.parametrize("name", PAGES)
def test_every_page_is_whole_and_carries_nothing_inline(site, counter, name):
    response = open_page(name, site, counter)
    page = Page(response)
    assert page.faults == []
    assert len(page.all("h1")) == 1
    assert page.all("html")[0]["lang"].startswith("en")
    assert page.html.count("<title>") == 1
    assert page.all("script") == page.all("style") == []
    assert not [attrs for _tag, attrs in page.tags if any(is_inline(each) for each in attrs)]
    ids = [attrs["id"] for _tag, attrs in page.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert not [attrs for _tag, attrs in page.tags if is_elsewhere(attrs)]


def is_inline(attribute: str) -> bool:
    return attribute == "style" or attribute.startswith("on")


def is_elsewhere(attrs: dict[str, Any]) -> bool:
    """Nothing is loaded from outside this server."""
    target = attrs.get("src") or attrs.get("href") or attrs.get("action") or ""
    return target.startswith(("http:", "https:", "//", "javascript:"))


@pytest.mark.parametrize("name", ["login", "due", "missing"])
def test_every_answer_carries_the_headers_that_protect_it(site, counter, name):
    response = open_page(name, site, counter)
    policy = response["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert response["X-Frame-Options"] == "DENY"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Referrer-Policy"] == "same-origin"


def test_a_form_without_its_token_writes_nothing(site, source):
    from django.test import Client

    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.rps_of(site))
    response = client.post(reverse("wipe-new", args=["thornmere"]), {})
    assert response.status_code == 403
    assert "nothing was recorded" in Page(response).text


def test_a_role_that_begins_tomorrow_opens_nothing_today(site):
    user = factories.make_user()
    factories.give_role(user, site, Role.RPS, from_on=NOW.date() + timedelta(1))
    assert browser(user).get("/thornmere/").status_code == 404
