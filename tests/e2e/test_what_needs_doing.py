"""What needs doing as people use it: book a round, say why not, follow up, what a manager sees."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.faults import looks_right

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)


def late_lines(page: Page):
    return page.locator("li.work").filter(has=page.locator(".state-late"))


@every_screen
def test_a_technician_books_ticked_lines_and_says_why_another_was_not_done(page, login, screenshot):
    login(page, "technician")
    page.goto("/thornmere/?state=late")
    whole = page.locator(".lead-sentence").inner_text()
    expect(page.locator(".showing")).to_contain_text("Showing")
    expect(page.locator(".showing")).to_contain_text("Not shown here")
    count = late_lines(page).count()
    assert count >= 2
    for place in range(2):
        late_lines(page).nth(place).get_by_role("checkbox").check()
    page.get_by_role("button", name="Book what is ticked").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Book: 2 lines")
    looks_right(page)
    screenshot(page, "book")
    day = date.today() + timedelta(days=400)
    page.get_by_label("Booked for").fill(day.isoformat())
    page.get_by_label("With whom").fill("J. Marsh")
    page.get_by_label("Work order").fill("WO 4711")
    page.get_by_role("button", name="Book", exact=True).click()
    expect(page).to_have_url(re.compile(r"/thornmere/\?state=late$"))
    booked = late_lines(page).filter(has_text="J. Marsh, WO 4711")
    expect(booked).to_have_count(2)
    assert page.locator(".lead-sentence").inner_text() != whole
    screenshot(page, "booked")

    booked.first.get_by_role("link", name="Not done, because").click()
    page.get_by_label("Not done, because").fill("furnace running")
    page.get_by_label("What is done meanwhile").fill("area closed off")
    looks_right(page)
    page.get_by_role("button", name="Record").click()
    expect(
        late_lines(page).filter(has_text="furnace running; meanwhile: area closed off")
    ).to_have_count(1)

    booked.first.get_by_role("link", name="No longer booked").click()
    page.get_by_label("Why it is no longer booked").fill("firm fell ill")
    page.get_by_role("button", name="Take the booking back").click()
    expect(late_lines(page).filter(has_text="J. Marsh, WO 4711")).to_have_count(1)


@every_screen
def test_the_list_is_searched_narrowed_down_and_walked_as_a_round(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/thornmere/")
    page.get_by_text("Search, filter, another order or day").click()
    page.get_by_label("In the order of").select_option("round")
    page.get_by_label("How far ahead").select_option("90")
    page.get_by_role("button", name="Show", exact=True).click()
    heads = page.locator(".work-list h2").all_inner_texts()
    assert any(": leak test" in head for head in heads)
    looks_right(page)
    screenshot(page, "rounds")
    page.get_by_label("Search").fill("TBM-04")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator(".showing")).to_contain_text("“TBM-04”")
    names = page.locator("li.work h3").all_inner_texts()
    assert names
    assert all("TBM-04" in name for name in names)


@every_screen
def test_the_steps_of_a_follow_up_lead_to_its_closing(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/thornmere/follow-ups/")
    looks_right(page)
    screenshot(page, "follow-ups")
    page.locator("li.follow-up h3 a").first.click()
    looks_right(page)
    if page.get_by_role("button", name="Take over what is ticked").count():  # looks_right unfolds
        page.get_by_role("button", name="Take over what is ticked").click()
    page.get_by_label("What is to be done").fill("Ask the maker for a new housing.")
    page.get_by_role("button", name="Add the step").click()
    expect(page.locator("main")).to_contain_text("Ask the maker for a new housing.")
    expect(page.locator("main")).to_contain_text("still open: they must be done or withdrawn first")
    screenshot(page, "steps")
    done = page.get_by_role("link", name=re.compile("^Done"))
    for _ in range(done.count()):
        done.first.click()
        page.get_by_label("What came of it").fill("seen to")
        page.get_by_role("button", name="Record").click()
    page.get_by_role("link", name="Close this follow-up").click()
    looks_right(page)
    page.get_by_label("Why it can be closed").fill("Everything is done.")
    page.get_by_role("button", name="Close this follow-up").click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Close a follow-up")


@every_screen
def test_a_manager_reads_what_is_overdue_what_failed_and_what_is_coming(page, login, screenshot):
    login(page, "manager")
    page.goto("/")
    expect(page.locator("main")).to_contain_text("late")
    looks_right(page)
    page.goto("/thornmere/")
    heads = page.locator(".for-manager h2").all_inner_texts()
    assert heads[0] == "What is overdue"
    assert heads[1] == "What failed, and what is being done about it"
    assert heads[2].startswith("What is coming until")
    assert page.locator(".for-manager").first.locator("li").count() >= 1
    expect(page.locator(".for-manager").nth(1)).to_contain_text("step")
    looks_right(page)
    screenshot(page, "manager")
    expect(page.get_by_role("link", name=re.compile("^Book"))).to_have_count(0)
    page.locator(".for-manager").nth(1).get_by_role("link").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Follow-up")
    looks_right(page)
    expect(page.get_by_role("link", name="Close this follow-up")).to_have_count(0)
