"""What lies ahead as people use it: a shutdown entered on the phone, what falls short of it, and
the paper of the same."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.e2e.faults import looks_right

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)


def stop_of(page: Page, name: str) -> Locator:
    """The part of the page about one shutdown; others may name it where they overlap."""
    return page.locator(".stop").filter(has=page.get_by_role("heading", name=name, exact=True))


def enter(page: Page, name: str, place: str, begins: date, ends: date) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Where").select_option(label=place)
    page.get_by_label("First day").fill(begins.isoformat())
    page.get_by_label("Last day").fill(ends.isoformat())


@every_screen
def test_a_technician_plans_a_shutdown_and_sees_what_falls_short(page, login, screenshot):
    login(page, "technician")
    page.get_by_role("link", name="Thornmere Board Mill").first.click()
    page.get_by_role("link", name="Ahead", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Ahead")
    heads = page.locator("main h2").all_inner_texts()
    assert heads == ["The coming year", "Planned shutdowns", "Monitor cover", "Ten years"]
    looks_right(page)
    screenshot(page, "ahead")

    page.get_by_role("link", name="Plan a shutdown").click()
    looks_right(page)
    begins = date.today() + timedelta(days=700)
    enter(page, "Boiler repair", "Boiler house", begins, begins - timedelta(days=1))
    page.get_by_role("button", name="Plan it").click()
    expect(page.get_by_role("alert")).to_contain_text("It would end on")
    looks_right(page)
    screenshot(page, "refused")
    page.get_by_label("Last day").fill((begins + timedelta(days=20)).isoformat())
    page.get_by_role("button", name="Plan it").click()

    expect(page).to_have_url(re.compile(r"/thornmere/ahead/#shutdowns$"))
    expect(page.get_by_role("status")).to_contain_text("The plan is recorded.")
    stop = stop_of(page, "Boiler repair")
    expect(stop).to_have_count(1)
    expect(stop).to_contain_text(re.compile(r"\d+ falls? short"))
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    expect(stop.locator(".state-falls_short").first).to_contain_text(
        re.compile(r"Falls short by \d+ days", re.IGNORECASE)
    )
    looks_right(page)
    screenshot(page, "planned")


@every_screen
def test_a_plan_is_changed_overlaps_are_said_and_it_is_taken_back(page, login, screenshot):
    login(page, "supervisor")
    begins = date.today() + timedelta(days=200)
    for name, place in (("Boiler repair", "Boiler house"), ("Works holiday", "the whole site")):
        page.goto("/thornmere/shutdowns/new/")
        enter(page, name, place, begins, begins + timedelta(days=9))
        page.get_by_role("button", name="Plan it").click()
    expect(page.locator(".notice").filter(has_text="days are also those of").first).to_be_visible()
    stop = stop_of(page, "Boiler repair")

    stop.get_by_role("link", name="Change it").click()
    looks_right(page)
    page.get_by_label("Last day").fill((begins + timedelta(days=30)).isoformat())
    page.get_by_label("Why the plan changes").fill("parts are late")
    page.get_by_role("button", name="Change it").click()
    expect(page.get_by_role("status").first).to_contain_text("The plan is recorded.")

    stop.get_by_role("link", name="It does not take place").click()
    looks_right(page)
    screenshot(page, "take-back")
    page.get_by_label("Why it does not take place").fill("the order book is full")
    page.get_by_role("button", name="Take it back").click()
    expect(stop).to_have_count(0)
    expect(stop_of(page, "Works holiday")).to_have_count(1)


@every_screen
def test_the_page_is_narrowed_down_and_comes_as_paper(page, login, screenshot):
    login(page, "manager")
    page.goto("/thornmere/ahead/")
    page.get_by_label("Where").select_option(label="Boiler house")
    page.get_by_label("Which work").select_option(label="leak test")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#months")).not_to_contain_text("Counting room")
    looks_right(page)
    expect(page.get_by_role("link", name="Plan a shutdown")).to_have_count(0)
    address = page.get_by_role("link", name="PDF, A4").get_attribute("href")
    assert "place=" in address and "kind=leak_test" in address
    answer = page.request.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.body().startswith(b"%PDF-")
    screenshot(page, "narrowed")
