"""A counting session at the bench: eight wipes, one of them failing, answered as one types."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.faults import looks_right

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
NEW = "/thornmere/sessions/new/"
#: What was wiped and its counts; the fourth one leaks.
WIPES = (
    *(("TBM-0301", "412"), ("TBM-0302", "431 + 425"), ("LG-402", "402"), ("TBM-0501", "99000")),
    *(("BW-202", "398"), ("BW-110", "377"), ("TBM-0902", "391"), ("TBM-0901", "405")),
)


def fill_head(page: Page) -> None:
    page.get_by_label("Counter", exact=True).select_option(label="WC-1")
    page.get_by_label("Background counts").fill("389")
    page.get_by_label("Background time (s)").fill("600")
    page.get_by_label("Counting time of a wipe (s)").fill("600")


def cell(page: Page, number: int, label: str):
    return page.get_by_role("group", name=f"Wipe {number}", exact=True).get_by_label(label)


def result(page: Page, number: int):
    return page.locator(f"#wipe-{number}-result")


@every_screen
def test_eight_wipes_are_answered_as_typed_and_recorded(page, login, screenshot):
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    login(page, "supervisor")
    page.goto(NEW)
    fill_head(page)
    for number, (what, counts) in enumerate(WIPES, 1):
        cell(page, number, "Gauge or source").fill(what)
        cell(page, number, "Gross counts").press_sequentially(counts)
    expect(result(page, 1)).to_contain_text("Passes: not detected")
    expect(result(page, 3).locator(".verdict")).to_have_count(2)
    expect(result(page, 4)).to_contain_text("Fails:")
    expect(result(page, 4)).to_contain_text("Act as on a leak")
    expect(result(page, 8)).to_contain_text("Detection limit")
    expect(page.locator("#batch")).to_contain_text("The background suits the batch")
    looks_right(page)
    screenshot(page, "typed")

    # A background that does not belong to the batch is told at once, without a click.
    page.get_by_label("Background counts").fill("250")
    expect(page.locator("#batch")).to_contain_text("The batch reads high: repeat the background")
    page.get_by_label("Background counts").fill("389")
    expect(page.locator("#batch")).to_contain_text("The background suits the batch")

    page.get_by_role("button", name="Record the session").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Counting session")
    expect(page.get_by_role("alert")).to_contain_text("TBM-0501: failed or suspected leak")
    looks_right(page)
    screenshot(page, "recorded")
    page.get_by_role("link", name="Accept these wipes").click()
    looks_right(page)
    page.get_by_role("button", name="Accept all of these").click()
    expect(page.get_by_role("status")).to_contain_text("8 wipes are accepted.")
    page.get_by_role("link", name="See the follow-up").click()
    expect(page.get_by_role("alert")).to_contain_text("out of use")
    assert said == []


def test_a_wrong_row_is_told_and_nothing_is_lost(page, login):
    login(page, "technician")
    page.goto(NEW)
    fill_head(page)
    cell(page, 1, "Gauge or source").fill("TBM-0301")
    cell(page, 1, "Gross counts").fill("5,000")
    page.get_by_role("button", name="Record the session").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing was recorded")
    expect(result(page, 1)).to_contain_text("not a count")
    expect(cell(page, 1, "Gross counts")).to_have_value("5,000")
    cell(page, 1, "Gross counts").fill("412")
    page.get_by_role("button", name="Record the session").click()
    expect(page).to_have_url(re.compile(r"/sessions/\d+/"))
    expect(page.locator("main")).to_contain_text("only once the supervisor has accepted it")


def test_enter_works_out_and_never_records(page, login):
    login(page, "technician")
    page.goto(NEW)
    fill_head(page)
    cell(page, 1, "Gauge or source").fill("TBM-0301")
    cell(page, 1, "Gross counts").fill("412")
    cell(page, 1, "Gross counts").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Count wipes")
    expect(page).to_have_url(re.compile("#wipes"))
    expect(result(page, 1)).to_contain_text("Passes")


def test_without_scripts_the_button_works_everything_out(browser, site, login):
    context = browser.new_context(base_url=site.url, java_script_enabled=False)
    page = context.new_page()
    page.goto("/login/")
    page.locator("input[name=username]").fill("technician")
    page.locator("input[name=password]").fill("sealbook-demo")
    page.locator("form:has(input[name=password]) button").click()
    page.goto(NEW)
    fill_head(page)
    cell(page, 1, "Gauge or source").fill("LG-402")
    cell(page, 1, "Gross counts").fill("402")
    page.get_by_role("button", name="Work out, do not record yet").click()
    expect(result(page, 1).locator(".verdict")).to_have_count(2)
    context.close()


@every_screen
def test_counters_say_what_they_can_do(page, login, screenshot):
    login(page, "manager")
    page.goto("/thornmere/counters/")
    expect(page.locator("main")).to_contain_text("a gas does not stay on a wipe")
    looks_right(page)
    screenshot(page, "counters")
