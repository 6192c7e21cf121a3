"""What lies ahead on paper and for programs: the same as the page, complete."""

from __future__ import annotations

import csv
import io
from datetime import date
from io import BytesIO
from typing import Any

import pytest
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from inventory.shutdowns.actions import Plan, plan
from reports import pdf
from reports.ahead.asked import Asked
from reports.ahead.document import build
from reports.registers.base import cells
from tests import factories
from tests.pages import NOW, TODAY, browser, stop_clock

from .layout import assert_laid_out, assert_sound

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def hall(site):
    return factories.make_location(site, "Hall")


@pytest.fixture
def world(site, counter, hall):
    """A source due on 15 June 2026, one never tested, a shutdown twelve days too late."""
    factories.calibrate(counter, date(2024, 1, 1))
    source = factories.make_source(site, to=factories.make_gauge(site, "G-7", at=hall), serial="K")
    factories.record_wipe(source, counter, date(2024, 6, 15))
    factories.make_source(site, to=hall, serial="N")
    what = Plan("Summer stop", hall, date(2026, 6, 27), date(2026, 7, 3))
    plan(site, what, by=factories.rps_of(site), at=factories.tick())
    return site


def made(site, **asked: Any):
    return build(
        Asked(site=site, on=TODAY, today=TODAY, **asked),
        made_by=factories.rps_of(site),
        made_at=NOW,
    )


def file(site, ending: str, **asked: str) -> Any:
    address = reverse("ahead-file", args=[site.slug, ending])
    return browser(factories.rps_of(site)).get(address, asked)


def rows(site, **asked: str) -> list[dict[str, str]]:
    text = file(site, "csv", **asked).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


# ---------------------------------------------------------------- for programs


def test_each_thing_is_one_row_of_its_part(world):
    found = [(row["Part"], row["Subject"], row["How it stands"]) for row in rows(world)]
    assert found == [
        ("months", "Cs-137 N", "never done"),
        ("months", "", "nothing that is known falls due"),
        ("months", "Cs-137 K", "due on 15 Jun 2026"),
        ("months", "", "nothing that is known falls due"),
        ("months", "WC-1", "due on 1 Sep 2026"),
        ("months", "", "nothing that is known falls due"),
        ("shutdowns", "Cs-137 K", "falls short by 12 days"),
        ("shutdowns", "Cs-137 N", "never done: no date to hold against it"),
        *(("monitor_cover", "", "2 Sep 2026 to 1 Mar 2027: nothing in date can count wipes"),),
    ]


def test_days_and_numbers_are_whole_for_programs(world):
    due = next(row for row in rows(world) if row["Subject"] == "Cs-137 K")
    assert (due["First day"], due["How many"], due["Where"]) == ("2026-06-15", "1", "G-7, Hall")
    gap = rows(world)[-1]
    assert (gap["First day"], gap["Last day"]) == ("2026-09-02", "2027-03-01")


def test_it_is_narrowed_down_like_the_page_and_its_number_says_so(world, hall):
    answer = file(world, "csv", place=hall.code, kind="leak_test")
    assert f"thornmere-ahead-{hall.code}-leak_test-20260302-" in answer["Content-Disposition"]
    assert "WC-1" not in answer.content.decode()
    register = made(world, place=hall.pk, place_code=hall.code, place_name="Hall",
                    requirement="leak_test")  # fmt: skip
    assert register.totals[0] == "Only: Hall, leak test."


def test_a_workbook_has_the_same_rows(world):
    book = load_workbook(BytesIO(file(world, "xlsx").content))
    assert book.worksheets[0].max_row == len(rows(world)) + 1


def test_an_ending_that_is_none_is_not_found(world):
    assert file(world, "docx").status_code == 404


def test_on_a_bare_site_it_says_that_nothing_is_known(bare):
    found = [row["How it stands"] for row in rows(bare)]
    assert set(found) == {"nothing that is known falls due"}
    assert len(found) == 2  # now, and the whole year in one


# ---------------------------------------------------------------- on paper


def text_of(data: bytes) -> str:
    pages = PdfReader(BytesIO(data)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612, 792))])
def test_the_paper_says_what_the_page_says(world, paper, size, tmp_path):
    answer = file(world, "pdf", paper=paper)
    assert answer["Content-Type"] == "application/pdf"
    text = text_of(answer.content)
    for said in (
        "What lies ahead",
        "The coming year: June 2026 (1 falls due)",
        "The coming year: March to May 2026",
        "Planned shutdowns: Summer stop, 27 Jun to 3 Jul 2026, Hall (1 falls short; 1 has no date)",
        "falls short by 12 days",
        "Monitor cover: count wipes",
        "2 Sep 2026 to 1 Mar 2027: nothing in date can count wipes",
        "Needed now: 1; due until 1 Mar 2027: 2, and 0 projected.",
        "The schedule is a draft: nobody has adopted it.",
        "A booked calibration does not extend that.",
        "nothing may be disposed of for it",
    ):
        assert said in text, said
    box = PdfReader(BytesIO(answer.content)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.1)
    assert_sound(answer.content, tmp_path)
    assert_laid_out(answer.content, tmp_path)


def test_a_heading_stands_once_over_the_rows_that_share_it(world):
    register = made(world)
    html = pdf.document_html(register, list(cells(register)))
    assert html.count("Planned shutdowns: Summer stop") == 1
    assert html.count('<tr class="over"><th scope="rowgroup" colspan="5">') == 8


def test_every_row_of_the_paper_is_a_row_of_the_file(world):
    register = made(world)
    assert len(register.rows) == len(rows(world))
    assert [column.key for column in register.columns_for("people")] == [
        *("heading", "when", "subject_where", "work", "state", "booked"),
    ]
