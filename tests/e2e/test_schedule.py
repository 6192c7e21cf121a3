"""A schedule is gone through row by row on a phone and adopted; rows, settings, two rule sets."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.faults import looks_right

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
on_a_phone = pytest.mark.parametrize("screen", ["phone"], indirect=True)
#: More rows than any rule set has.
MOST_ROWS = 100


def open_draft(page: Page, site: str = "thornmere", button: str = "Open a draft") -> None:
    page.goto(f"/{site}/schedule/draft/")
    looks_right(page)
    page.get_by_role("button", name=button).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Draft of the schedule")


@on_a_phone
def test_a_schedule_is_gone_through_row_by_row_and_adopted(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/garnet-bluff/schedule/")
    expect(page.locator("footer")).to_contain_text("Draft schedule:")
    looks_right(page)
    screenshot(page, "schedule")
    page.get_by_role("link", name="Go through it and adopt it").click()
    page.get_by_role("button", name="Review: every row again").click()
    looks_right(page)
    screenshot(page, "draft")

    tighten(page)
    page.goto("/garnet-bluff/schedule/draft/")
    page.get_by_role("link", name="Go through the next row").click()
    expect(page.locator(".review-step")).to_contain_text("Nobody has gone through it yet.")
    looks_right(page)
    screenshot(page, "row")
    rows = go_through(page)
    assert rows > 20
    expect(page.locator(".lead-sentence")).to_have_text("Every row has been gone through.")

    page.get_by_role("link", name="Adopt it").click()
    looks_right(page)
    screenshot(page, "adopt")
    page.get_by_label("Adopted by").fill("A. Adviser and S. Keeper")
    review = date.today() + timedelta(days=730)
    page.get_by_label("To be looked at again by").fill(review.isoformat())
    page.get_by_role("button", name="Adopt it").click()
    expect(page.get_by_role("alert").first).to_contain_text("Limit, whom to tell")
    page.get_by_label("Everything above, which is no row, was gone through too").check()
    page.get_by_role("button", name="Adopt it").click()
    expect(page.get_by_role("status")).to_have_text("The schedule is adopted.")
    expect(page.locator(".lead-sentence")).to_contain_text("by A. Adviser and S. Keeper")
    expect(page.locator("#row-leak\\.default")).to_contain_text("Every 12 months.")
    looks_right(page)
    screenshot(page, "adopted")
    page.goto("/garnet-bluff/")
    expect(page.locator("footer")).not_to_contain_text("Draft schedule")


def tighten(page: Page) -> None:
    """What nobody had decided about leak tests becomes twelve months."""
    page.goto("/garnet-bluff/schedule/draft/rows/leak.default/change/")
    page.get_by_label("a test at intervals").check()
    page.get_by_label("Every so many months").fill("12")
    expect(page.get_by_label("Which date")).to_be_hidden()
    page.get_by_label("On whose word").select_option("adviser")
    page.get_by_label("Document").fill("Letter of the adviser")
    page.get_by_label("Clause, line or number in it").fill("item 3")
    page.get_by_label("How it is known").select_option("own")
    looks_right(page)
    page.get_by_role("button", name="Record").click()
    expect(page.get_by_role("status")).to_contain_text("counts as gone through")
    expect(page.locator("main")).to_contain_text("Beside the rule set: stricter")


def go_through(page: Page) -> int:
    """Every row that is left: by keyboard and by touch in turn. How many there were."""
    for number in range(MOST_ROWS):
        if not page.url.rstrip("/").rpartition("/rows/")[1]:
            return number
        before = page.url
        if number % 2:
            page.get_by_role("button", name="Gone through, next").tap()
        else:
            page.get_by_label("Gone through by").press("Enter")
        page.wait_for_url(lambda url, before=before: url != before)
    raise AssertionError("there is no end of rows")


@every_screen
def test_a_draft_gets_rows_kinds_and_another_rule_set(page, login, screenshot):
    login(page, "supervisor")
    open_draft(page)
    page.get_by_role("link", name="A requirement of our own").click()
    page.get_by_label("What it is called").fill("Warning lamp")
    page.get_by_label("What it is about").select_option("gauge")
    looks_right(page)
    page.get_by_role("button", name="Record").click()
    expect(page.get_by_label("Requirement")).to_have_value("own-warning-lamp")
    page.get_by_label("Short name of the row").fill("site.lamp")
    page.get_by_label("or every so many days").fill("7")
    page.get_by_label("Document").fill("Local rules")
    page.get_by_label("Clause, line or number in it").fill("4.2")
    looks_right(page)
    screenshot(page, "new row")
    page.get_by_role("button", name="Record").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Warning lamp")
    expect(page.locator("main")).to_contain_text("Every 7 days.")

    page.get_by_role("link", name="Leave it out").click()
    looks_right(page)
    page.goto("/thornmere/schedule/differences/?of=draft")
    expect(page.locator("main")).to_contain_text("The site's own row: stricter.")
    looks_right(page)
    screenshot(page, "differences")

    page.goto("/thornmere/schedule/rule-sets/")
    page.get_by_label("Main rule set").select_option(label="Canada, version 1")
    page.get_by_role("button", name="Show what would change on that day").click()
    expect(page.locator("#preview")).to_contain_text("rows would be left to go through")
    expect(page.locator("#preview")).to_contain_text("another state or another day")
    looks_right(page)
    screenshot(page, "rule sets")
    page.get_by_role("button", name="Take it into the draft").click()
    page.get_by_role("link", name="What it would change").click()
    looks_right(page)
    screenshot(page, "effects")
    expect(page.locator("footer")).to_contain_text("Great Britain")


@every_screen
def test_a_label_is_set_for_one_source_and_taken_back(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/thornmere/sources/?q=TBM-0202")
    page.get_by_role("link", name=re.compile("TBM-0202")).first.click()
    page.get_by_role("link", name="Settings", exact=True).click()
    looks_right(page)
    page.get_by_role("link", name="Make a setting").click()
    page.get_by_label("Every so many months").fill("6")
    page.get_by_label("How it stands to the others").select_option("adds")
    page.get_by_label("Document").fill("Label on the housing")
    page.get_by_label("Clause, line or number in it").fill("line 4")
    looks_right(page)
    screenshot(page, "make a setting")
    page.get_by_role("button", name="Record").click()
    expect(page.locator("main")).to_contain_text("Label: Label on the housing, line 4")
    looks_right(page)
    screenshot(page, "settings")
    page.get_by_role("link", name=re.compile("Take it back")).click()
    looks_right(page)
    page.get_by_label("Why").fill("Read on the wrong housing.")
    page.get_by_role("button", name="Take it back").click()
    expect(page.locator("main")).to_contain_text("taken back the same day")


@every_screen
def test_what_another_country_would_ask_and_a_change_by_decay(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/garnet-bluff/sources/?q=GBP-309")
    page.get_by_role("link", name=re.compile("GBP-309")).first.click()
    item = page.url
    page.get_by_role("link", name="What another rule set would ask").click()
    page.get_by_label("Beside").select_option(label="Great Britain, version 2")
    page.get_by_role("button", name="Compare").click()
    expect(page.locator("main")).to_contain_text("Great Britain, version 2 would ask")
    expect(page.locator(".sides").first).to_contain_text("s.18(1)")
    looks_right(page)
    screenshot(page, "two rule sets")

    page.goto(item)
    page.get_by_role("link", name=re.compile("Look at it and confirm")).click()
    expect(page.locator("main")).to_contain_text("ends no permit and allows no disposal")
    looks_right(page)
    screenshot(page, "confirm")
    page.get_by_label("Why", exact=True).fill("Activity and date checked on the certificate.")
    page.get_by_role("button", name="Confirm the change").click()
    expect(page.get_by_role("status")).to_have_text("The change is confirmed.")
    expect(page.locator("main")).not_to_contain_text("Look at it and confirm")
