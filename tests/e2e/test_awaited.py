"""A wipe goes to a laboratory, its result is awaited, the report comes and is judged."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.faults import faults_of

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
SERIAL = "TBM-0202"


def describe_laboratory(page: Page) -> None:
    page.goto("/thornmere/laboratories/new/")
    page.get_by_label("Name").fill("Hollow Lane Laboratory")
    page.get_by_label("Unit it reports in").select_option("Bq")
    page.get_by_label("Nuclide, row 1", exact=True).fill("Cs-137")
    page.get_by_label("Detection limit, with its unit, row 1", exact=True).fill("5 Bq")
    page.get_by_label("Described from").fill("2025-01-01")
    page.get_by_role("button", name="Record", exact=True).click()
    page.get_by_role("link", name="Its limits, wipes and results").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Hollow Lane Laboratory")


def send(page: Page) -> None:
    page.goto("/thornmere/wipes/send/")
    page.get_by_label("Laboratory", exact=True).select_option(label="Hollow Lane Laboratory")
    page.get_by_label("Source, row 1", exact=True).fill(SERIAL)
    page.get_by_label("On the envelope, row 1", exact=True).fill("envelope 1")
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Wipes that are away")


@every_screen
def test_a_wipe_is_sent_awaited_and_judged_when_its_result_arrives(page, login, screenshot):
    login(page, "supervisor")
    faults = []
    describe_laboratory(page)
    faults += faults_of(page)
    screenshot(page, "laboratory")
    send(page)
    faults += faults_of(page)
    row = page.get_by_role("row").filter(has_text=SERIAL)
    expect(row).to_contain_text("envelope 1")
    screenshot(page, "awaited")

    page.goto(f"/thornmere/sources/?q={SERIAL}")
    page.get_by_role("link", name=re.compile(SERIAL)).first.click()
    item = page.url
    expect(page.locator("main")).to_contain_text("result awaited since")
    page.goto("/thornmere/?state=awaited")
    chase = (datetime.now(tz=UTC) + timedelta(days=21)).strftime("%b %Y")
    line = page.get_by_role("listitem").filter(has_text=SERIAL).first
    expect(line).to_contain_text("ask for the result from")
    expect(line).to_contain_text(chase)
    screenshot(page, "what needs doing")

    page.goto("/thornmere/wipes/awaited/")
    page.get_by_role("row").filter(has_text=SERIAL).get_by_role(
        "link", name=re.compile("Enter the report")
    ).click()
    page.get_by_label("Report number").fill("HL-001")
    page.get_by_label(re.compile("^It says")).select_option(label="less than")
    page.get_by_label(re.compile("^Figure")).fill("3.1")
    page.get_by_role("button", name="Work out, do not record yet").click()
    expect(page.locator(".finding")).to_contain_text("Passes")
    faults += faults_of(page)
    screenshot(page, "report")
    page.get_by_label("I accept these results").check()
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.locator(".finding")).to_contain_text("Passes")
    expect(page.locator("main")).to_contain_text("Result of the wipe sent in")
    faults += faults_of(page)
    page.goto(item)
    expect(page.locator("main")).not_to_contain_text("result awaited since")
    assert faults == []


def test_a_wipe_that_was_lost_is_given_up(page, login, screenshot):
    login(page, "supervisor")
    describe_laboratory(page)
    send(page)
    page.get_by_role("row").filter(has_text=SERIAL).get_by_role(
        "link", name=re.compile("Give it up")
    ).click()
    assert faults_of(page) == []
    screenshot(page, "give up")
    page.get_by_label("Why no result will come").fill("Lost in the post.")
    page.get_by_role("button", name="Give it up").click()
    expect(page.get_by_role("row").filter(has_text=SERIAL)).to_have_count(0)
