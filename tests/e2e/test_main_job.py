"""The main job once, as a person does it: record a wipe, correct it, take the register along."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
REASON = "second digit was misread"


def open_wipe(page: Page, serial: str) -> None:
    """From the list of sources to the form of a wipe."""
    page.goto(f"/thornmere/sources/?q={serial}")
    page.get_by_role("link", name=re.compile(serial)).first.click()
    page.get_by_role("link", name="Record a wipe").last.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Record a wipe")


def fill_counts(page: Page, gross: str, seconds: str = "600") -> None:
    page.get_by_label("Gross counts").fill(gross)
    page.get_by_label("Counting time (s)").fill(seconds)
    page.get_by_label("Background counts").fill("389")
    page.get_by_label("Background time (s)").fill("600")


def record(page: Page) -> None:
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Leak test")


def register_text(page: Page) -> str:
    """The text of the source register as it is downloaded today."""
    page.goto("/thornmere/registers/source/")
    with page.expect_download() as download:
        page.get_by_role("link", name="PDF, A4").click()
    pages = PdfReader(io.BytesIO(Path(download.value.path()).read_bytes())).pages
    return " ".join(" ".join(one.extract_text().split()) for one in pages)


@every_screen
def test_a_wipe_is_worked_out_recorded_corrected_and_in_the_register(page, login, screenshot):
    login(page, "supervisor")
    open_wipe(page, "TBM-0202")
    fill_counts(page, "439")
    page.get_by_role("button", name="Work out, do not record yet").click()
    expect(page.get_by_role("heading", name="Worked out, not recorded yet")).to_be_visible()
    screenshot(page, "worked out")
    page.get_by_label("I accept this result").check()
    record(page)
    expect(page.locator(".finding")).to_contain_text("Passes")
    wrong = page.url

    page.get_by_role("link", name="Correct").click()
    fill_counts(page, "431 + 425", "600 + 600")
    page.get_by_label("Why the earlier record is corrected").fill(REASON)
    page.get_by_label("I accept this result").check()
    record(page)
    screenshot(page, "corrected")
    expect(page.locator("main")).to_contain_text(REASON)
    expect(page.locator("main")).to_contain_text("431 in 600 s; 425 in 600 s")
    right = page.url
    page.goto(wrong)
    expect(page.locator("main")).to_contain_text("This record was replaced")

    text = register_text(page)
    numbers = [re.search(r"records/(\d+)/", url).group(1) for url in (wrong, right)]
    assert "TBM-0202" in text
    assert f"(record {numbers[1]})" in text
    assert f"Record {numbers[1]} corrects record {numbers[0]}: {REASON}" in text


def test_a_leaking_source_warns_until_the_supervisor_closes_its_follow_up(page, login, screenshot):
    login(page, "supervisor")
    open_wipe(page, "TBM-0202")
    fill_counts(page, "99000")
    record(page)
    expect(page.locator(".finding")).to_contain_text("Act as on a leak")
    page.goto("/thornmere/sources/?q=TBM-0202")
    page.get_by_role("link", name=re.compile("TBM-0202")).first.click()
    expect(page.get_by_role("alert")).to_contain_text("Keep people away")
    screenshot(page, "leaking source")
    page.get_by_role("link", name="Close this follow-up").click()
    page.get_by_label("Why it can be closed").fill(
        "Wiped again by the adviser, contamination only."
    )
    page.get_by_role("button", name="Close this follow-up").click()
    expect(page.get_by_role("alert")).to_have_count(0)


def test_a_technician_enters_and_the_supervisor_accepts(page, login):
    login(page, "technician")
    open_wipe(page, "TBM-0110")
    fill_counts(page, "400")
    expect(page.get_by_label("I accept this result")).to_have_count(0)
    record(page)
    expect(page.get_by_role("link", name="Accept")).to_have_count(0)
    recorded = page.url
    page.get_by_role("button", name="Log out").click()
    login(page, "supervisor")
    page.goto(recorded)
    page.get_by_role("link", name="Accept").click()
    page.get_by_role("button", name="Accept").click()
    expect(page.locator("main")).to_contain_text("by Rowan Ashdown on")
