"""A site's own messy spreadsheet, from the upload to the register, as its owner goes through it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.faults import looks_right

every_screen = pytest.mark.parametrize("screen", ["phone", "desk"], indirect=True)
MESSY = Path(__file__).resolve().parents[2] / "fixtures" / "messy" / "sources-as-kept.xlsx"
#: What is said once about the whole file: part of the question, the answer chosen.
ANSWERS = (
    ("What does the comma mean", "the decimal mark"),
    ("Kiln!53 seems to name 2 sources", "a source each, every one"),
    ("Kiln!54 seems to name 2 sources", "that of all together"),
    ("Raw mill!6 seems to name 2 sources", "a source each, every one"),
    ("Rows are struck through", "gone: leave them out"),
    ("Which comes first in dates", "the day"),
    ("What does a cross", "failed"),
    ("rows that they are gone", "gone: leave them out"),
    ("What are the efficiencies counted per", "per decay"),
    ("per cent or fractions", "fractions"),
    ("What does the monitor", "dose rate"),
    ("In which unit are the times", "minutes"),
)
UNITS = (("numbers below “Act.”", "MBq"), ("numbers below “Result”", "Bq"))


def upload(page: Page, file: Path) -> None:
    page.goto("/garnet-bluff/")
    page.get_by_role("link", name="Load a spreadsheet").click()
    page.get_by_label("Spreadsheet").set_input_files(file)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(file.name)


def answer_everything(page: Page) -> None:
    for question, answer in ANSWERS:
        asked = page.get_by_role("group", name=re.compile(re.escape(question)))
        asked.get_by_label(re.compile(re.escape(answer))).check()
    for question, unit in UNITS:
        asked = page.get_by_role("group", name=re.compile(re.escape(question)))
        asked.get_by_role("combobox").select_option(label=unit)
    page.get_by_role("button", name="Read the file with these answers").click()
    expect(page.locator("#file-summary")).not_to_contain_text("no answer")


def load_button(page: Page):
    return page.locator("#confirm").get_by_role("button")


@every_screen
def test_a_messy_file_is_asked_about_corrected_in_place_and_loaded(page, login, screenshot):
    login(page, "supervisor")
    page.goto("/garnet-bluff/load/")
    looks_right(page)
    screenshot(page, "1 upload")
    upload(page, MESSY)
    expect(load_button(page)).to_be_disabled()
    looks_right(page)
    screenshot(page, "2 questions")

    answer_everything(page)
    expect(load_button(page)).to_be_disabled()
    page.get_by_role("link", name=re.compile("wrong as it stands")).click()
    looks_right(page)
    screenshot(page, "3 wrong rows")

    wrong = page.locator("li.file-row", has_text="Cs-173").first
    place = wrong.get_attribute("id")
    wrong.get_by_role("link", name="Correct").click()
    row = page.locator(f"#{place}")
    expect(row.get_by_label("Nuclide")).to_be_focused()
    looks_right(page)
    screenshot(page, "4 a row is corrected")
    row.get_by_label("Nuclide").fill("Cs-137")
    row.get_by_role("button", name="Read this row again").click()
    expect(row).to_contain_text("corrected, in the file “Cs-173”")
    expect(row.locator(".file-status")).to_contain_text("new")

    page.get_by_role("button", name=re.compile("Leave out the . rows that are wrong")).click()
    expect(load_button(page)).to_be_enabled()
    expect(load_button(page)).to_contain_text(re.compile(r"Load \d+ sources.*rows left out"))
    looks_right(page)
    screenshot(page, "5 ready")
    load_button(page).dblclick()
    expect(page.get_by_role("heading", level=1)).to_have_text("Loaded")
    looks_right(page)
    screenshot(page, "6 loaded")

    page.get_by_role("link", name="History audit").click()
    expect(page.locator("main")).to_contain_text("wipes on record")
    looks_right(page)
    screenshot(page, "7 audit")
    page.goto("/garnet-bluff/load/")
    expect(page.locator("main")).not_to_contain_text(MESSY.name)
    upload(page, MESSY)


def test_everything_works_without_a_script(browser, site, login, tmp_path):
    """The same steps as plain forms."""
    file = tmp_path / "list.csv"
    file.write_text(
        "Nuclide,Activity,Reference date,Maker,S/N,Location\n"
        "Cs-137,370 MBq,03/04/2015,Maker,N-1,Store\n"
        "Cs-173,370 MBq,13/04/2015,Maker,N-2,Store\n",
        encoding="utf-8",
    )
    context = browser.new_context(java_script_enabled=False, base_url=site.url)
    page = context.new_page()
    login(page, "supervisor")
    upload(page, file)
    row = page.locator("li.file-row", has_text="Cs-173")
    row.get_by_role("link", name="Correct").click()
    row = page.locator("#row-1-3")
    row.get_by_label("Nuclide").fill("Co-60")
    row.get_by_role("button", name="Read this row again").click()
    page.goto(f"{page.url.split('?')[0]}?show=all")
    row = page.locator("#row-1-3")
    expect(row).to_contain_text("corrected, in the file “Cs-173”")
    row.get_by_role("button", name="Leave it out").click()
    expect(page.locator("#row-1-3")).to_contain_text("left out")
    page.locator("#row-1-3").get_by_role("button", name="Take it back").click()
    load_button(page).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Loaded")
    expect(page.locator("main")).to_contain_text("2 sources")
    context.close()


def test_a_file_of_200_megabytes_is_refused_in_a_sentence(page, login, tmp_path):
    file = tmp_path / "huge.csv"
    with file.open("wb") as written:
        written.truncate(200 * 1024 * 1024)
    login(page, "supervisor")
    page.goto("/garnet-bluff/load/")
    page.get_by_label("Spreadsheet").set_input_files(file)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("alert")).to_contain_text("larger than 10 MB")
