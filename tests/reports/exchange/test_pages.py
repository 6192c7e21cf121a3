"""The pages on which a file is loaded: brought in, asked about, put right, confirmed once."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config.accounts.models import Role
from inventory.ledger.models import Attachment, Item, Record
from reports.exchange import pending
from reports.exchange.models import PendingFile
from tests import factories, loading
from tests.loading import line
from tests.pages import NOW, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def bring(client: Client, content: bytes, name: str = "list.csv", **more: Any) -> Any:
    sent = {"file": SimpleUploadedFile(name, content)}
    return client.post(reverse("load-new", args=["thornmere"]), sent, **more)


def address(waiting: PendingFile, query: str = "") -> str:
    return reverse("load-file", args=["thornmere", waiting.pk]) + query


def see(client: Client, waiting: PendingFile, query: str = "") -> Page:
    page = Page(client.get(address(waiting, query)))
    assert page.faults == []
    return page


def do(client: Client, waiting: PendingFile, what: str, **sent: Any) -> Any:
    return client.post(address(waiting), {"do": what} | sent)


def confirm(client: Client, waiting: PendingFile) -> Any:
    """Press the button that the page shows now."""
    html = client.get(address(waiting)).content.decode()
    shown = re.search(r'name="shown" value="(\w+)"', html)
    assert shown is not None
    return do(client, waiting, "confirm", shown=shown[1], sha256=waiting.sha256)


# ---------------------------------------------------------------- a file comes in


def test_a_file_is_kept_and_shown_and_nothing_is_recorded(rps, site):
    before = Record.objects.count()
    response = bring(rps, loading.content(line("L-1")))
    waiting = PendingFile.objects.get()
    assert response["Location"] == address(waiting)
    assert "L-1" in see(rps, waiting).text
    assert Record.objects.count() == before


def test_the_same_file_brought_again_opens_the_one_that_waits(rps, site):
    first = bring(rps, loading.content(line("L-1")))
    again = bring(rps, loading.content(line("L-1")), name="renamed.csv")
    assert first["Location"] == again["Location"]
    assert PendingFile.objects.count() == 1


def test_a_file_that_nobody_came_back_to_goes_after_a_week(rps, site):
    old = loading.waiting_file(site, line("old"), at=NOW - timedelta(days=7, minutes=1))
    young = loading.waiting_file(site, line("young"), at=NOW - timedelta(days=6))
    bring(rps, loading.content(line("L-1")))
    left = PendingFile.objects.values_list("pk", flat=True)
    assert old.pk not in left
    assert young.pk in left


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"%PDF-1.7 something", "PDF"),
        (b"PK\x03\x04 not a zip at all", "damaged"),
        (b"one,two\nthree,four\n", ""),
    ],
)
def test_a_file_that_cannot_be_loaded_is_refused_in_a_sentence(rps, site, content, said):
    response = bring(rps, content)
    page = Page(response)
    assert response.status_code == 200
    assert "This file cannot be loaded" in page.text
    assert said.casefold() in page.text.casefold()
    assert "no sentence" not in page.text
    assert PendingFile.objects.count() == 0


class Endless(io.RawIOBase):
    """What a browser sends, counted as it is read."""

    def __init__(self, size: int) -> None:
        self.left, self.largest = size, 0

    def read(self, size: int = -1) -> bytes:
        assert size > 0, "read all at once"
        self.largest = max(self.largest, size)
        given = min(size, self.left)
        self.left -= given
        return b"x" * given


def test_an_upload_of_200_megabytes_is_refused_in_small_pieces_and_kept_nowhere(rps, site):
    size = 200 * 1024 * 1024
    body = Endless(size)
    response = rps.generic(
        "POST",
        reverse("load-new", args=["thornmere"]),
        content_type="multipart/form-data; boundary=x",
        **{"wsgi.input": body, "CONTENT_LENGTH": str(size)},
    )
    assert response.status_code == 413
    assert "larger than 10 MB" in Page(response).text
    assert body.largest <= 64 * 1024
    assert PendingFile.objects.count() == 0


def test_a_file_a_little_over_the_limit_is_refused_too(rps, site):
    assert "at most 10 MB are read" in Page(bring(rps, b"x" * (10 * 1024 * 1024 + 1))).text


def test_without_a_file_the_form_says_so(rps, site):
    response = rps.post(reverse("load-new", args=["thornmere"]))
    assert "Choose a file." in Page(response).text


def test_a_file_without_its_token_is_refused(site):
    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.rps_of(site))
    assert bring(client, loading.content(line("L-1"))).status_code == 403
    assert PendingFile.objects.count() == 0


def test_the_empty_list_has_the_heads_that_are_understood(rps, site):
    response = rps.get(reverse("load-template", args=["thornmere"]))
    heads = response.content.decode().strip()
    assert bring(rps, f"{heads}\nCs-137,1 GBq,2020-01-01,M,X,T-1,,Store\n".encode()).url
    assert "T-1" in see(rps, PendingFile.objects.get()).text


# ---------------------------------------------------------------- who sees it


def test_the_supervisor_of_another_site_does_not_see_it(site):
    waiting = loading.waiting_file(site)
    elsewhere = factories.make_site("elsewhere")
    other = staff(elsewhere, Role.RPS)
    assert browser(other).get(address(waiting)).status_code == 404
    theirs = reverse("load-file", args=["elsewhere", waiting.pk])
    assert browser(other).get(theirs).status_code == 404
    assert "list.csv" not in Page(browser(other).get("/elsewhere/load/")).text


def test_it_is_offered_to_the_supervisor_alone(site, rps):
    new = reverse("load-new", args=["thornmere"])
    assert new in Page(rps.get("/thornmere/")).links()
    technician = browser(staff(site, Role.TECHNICIAN))
    assert new not in Page(technician.get("/thornmere/")).links()


# ---------------------------------------------------------------- questions


@pytest.fixture
def ambiguous(site):
    return loading.waiting_file(site, line("L-1", reference_date="03/04/2015"))


def test_what_is_ambiguous_is_asked_once_with_an_example_and_keeps_it_from_loading(rps, ambiguous):
    page = see(rps, ambiguous)
    assert "03/04/2015" in page.text
    assert "1 question has no answer." in page.text
    (button,) = [one for one in page.all("button") if one.get("value") == "confirm"]
    assert "disabled" in button


def test_an_answer_is_kept_and_the_file_read_with_it(rps, ambiguous):
    do(rps, ambiguous, "answer", **{"question-1": "date_order", "answer-1": "dmy"})
    page = see(rps, ambiguous)
    assert "3 Apr 2015" in page.text
    assert "no answer" not in page.text
    do(rps, ambiguous, "answer", **{"question-1": "date_order", "answer-1": "mdy"})
    assert "4 Mar 2015" in see(rps, ambiguous).text


def test_no_answer_is_guessed(rps, ambiguous):
    do(rps, ambiguous, "answer", **{"question-1": "date_order", "answer-1": "whatever"})
    assert "1 question has no answer." in see(rps, ambiguous).text


def test_an_unused_column_is_named_and_can_be_used(rps, site):
    heads = loading.HEADS.replace("Maker", "Colour")
    waiting = pending.keep(
        site, "x.csv", loading.content(line("L-1"), heads=heads), by=factories.rps_of(site), at=NOW
    )
    assert "Not used: D (Colour)." in see(rps, waiting).text
    sheet = pending.understood_of(waiting).sheets[0].name
    do(rps, waiting, "columns", sheet=sheet, **{"column:D": "maker", "kind": "sources"})
    waiting.refresh_from_db()
    assert waiting.decisions["answers"] == {f"column:{sheet}!D": "maker"}
    assert "Not used" not in see(rps, waiting).text


# ---------------------------------------------------------------- rows


@pytest.fixture
def wrong(site):
    return loading.waiting_file(site, line("L-1"), line("L-2", nuclide="Unobtainium"))


def sheet_of(waiting: PendingFile) -> str:
    return pending.understood_of(waiting).sheets[0].name


def test_a_wrong_row_says_why_and_keeps_the_file_from_loading(rps, wrong):
    page = see(rps, wrong)
    assert "“Unobtainium” is not in the nuclide table" in page.text
    assert "1 row is wrong as it stands: correct it or leave it out." in page.text
    response = confirm(rps, wrong)
    assert response["Location"] == address(wrong)
    assert Item.objects.filter(kind="source").count() == 0


def test_a_cell_is_corrected_in_place_and_what_the_file_has_stays_beside_it(rps, wrong):
    key = f"{sheet_of(wrong)}!3"
    form = see(rps, wrong, f"?edit={key}")
    assert [one["value"] for one in form.all("input") if one.get("name") == "cell:A3"] == [
        "Unobtainium"
    ]
    response = do(rps, wrong, "row", key=key, anchor="row-1-3", show="all", **{"cell:A3": "Co-60"})
    assert response["Location"] == address(wrong, "?show=all#row-1-3")
    page = see(rps, wrong, "?show=all")
    assert "Co-60 corrected, in the file “Unobtainium”" in page.text
    assert "wrong as it stands" not in page.text


def test_a_cell_written_as_the_file_has_it_is_no_correction(rps, wrong):
    key = f"{sheet_of(wrong)}!3"
    do(rps, wrong, "row", key=key, **{"cell:A3": "Co-60"})
    do(rps, wrong, "row", key=key, **{"cell:A3": "Unobtainium"})
    wrong.refresh_from_db()
    assert wrong.decisions["cells"] == {}


def test_cells_of_another_row_cannot_be_sent_along(rps, wrong):
    do(rps, wrong, "row", key=f"{sheet_of(wrong)}!3", **{"cell:A2": "Co-60", "cell:A3": "Co-60"})
    wrong.refresh_from_db()
    assert list(wrong.decisions["cells"]) == [f"{sheet_of(wrong)}!A3"]


def test_a_script_gets_the_row_alone_with_what_changed_beside_it(rps, wrong):
    sent = {"do": "row", "key": f"{sheet_of(wrong)}!3", "cell:A3": "Co-60", "show": "all"}
    response = rps.post(address(wrong), sent, headers={"HX-Request": "true"})
    html = response.content.decode()
    assert html.count('id="row-1-3"') == 1
    assert 'id="row-1-2"' not in html
    assert "<html" not in html
    for place in ("file-summary", "file-filters", "confirm"):
        assert f'id="{place}"' in html
    assert html.count('hx-swap-oob="true"') == 3
    assert "Load 2 sources" in html


def test_a_row_is_left_out_and_taken_back(rps, wrong):
    key = f"{sheet_of(wrong)}!3"
    do(rps, wrong, "leave", key=key)
    page = see(rps, wrong, "?show=all")
    assert "left out" in page.text
    assert "Load 1 source, 1 place; 1 row left out" in page.text
    do(rps, wrong, "take", key=key)
    assert "1 row is wrong" in see(rps, wrong).text


def test_all_wrong_rows_are_left_out_at_once(rps, wrong):
    do(rps, wrong, "leave-wrong")
    wrong.refresh_from_db()
    assert wrong.decisions["left_out"] == [f"{sheet_of(wrong)}!3"]


@pytest.mark.parametrize("what", ["row", "leave", "take", "columns", "nonsense"])
def test_a_button_for_what_is_not_there_says_so(rps, wrong, what):
    response = rps.post(address(wrong), {"do": what, "key": "x!9", "sheet": "x"}, follow=True)
    assert response.status_code == 200
    assert "please l" in Page(response).text  # look again, or load the page anew


@pytest.mark.parametrize(
    "sent",
    [
        {"do": "answer", "question-1": "dates", "answer-1": "a\x01b"},
        {"do": "answer", "question-1": "a\x01b", "answer-1": "x"},
        {"do": "row", "key": "list!3", "cell:A3": "Co\x0160"},
    ],
)
def test_signs_that_no_record_keeps_are_refused_before_they_are_decided(rps, wrong, sent):
    page = Page(rps.post(address(wrong), sent, follow=True))
    assert "holds signs that cannot be seen" in page.text
    wrong.refresh_from_db()
    assert not any(wrong.decisions.values())


def test_what_was_passed_over_is_named_with_the_reason(rps, site):
    waiting = loading.waiting_file(site, line("L-1"), "Total,37 GBq,,,,,,,,")
    page = see(rps, waiting)
    assert "1 row was passed over" in page.text
    assert "Total" in page.text


def test_only_what_needs_the_eye_is_shown_first(rps, site):
    many = [line(f"L-{n}") for n in range(5)]
    waiting = loading.waiting_file(site, *many, line("", nuclide="Co-60"))
    page = see(rps, waiting)
    assert "what needs my eye 1" in page.text
    assert "L-3" not in page.text
    assert "Open point: The serial is not known" in page.text
    assert "L-3" in see(rps, waiting, "?show=all").text


def test_what_is_said_of_every_row_calls_for_no_eye(rps, site):
    """None of these rows has a day of arrival."""
    waiting = loading.waiting_file(site, *[line(f"L-{n}") for n in range(6)])
    page = see(rps, waiting)
    assert "None needs your eye." in page.text
    assert "The day of arrival is not known" in page.text


def test_a_thousand_rows_are_never_on_one_page(rps, site):
    waiting = loading.waiting_file(site, *loading.serials(range(120)))
    page = see(rps, waiting, "?show=all&page=3")
    assert len([one for one in page.all("li") if "file-row" in one.get("class", "")]) == 20
    assert "Page 3 of 3" in page.text
    assert "Load 120 sources, 120 gauges, 1 place" in page.text


# ---------------------------------------------------------------- loading


def test_confirming_writes_what_was_shown_and_forgets_the_file(rps, site):
    wiped = line("L-1", gauge="G-7", last_wipe="2025-11-03", wipe_result="< 5 Bq")
    waiting = loading.waiting_file(site, wiped)
    response = confirm(rps, waiting)
    record = Record.objects.get(kind="file_loaded")
    assert response["Location"] == reverse("load-done", args=["thornmere", record.seq])
    page = Page(rps.get(response["Location"]))
    assert "1 source, 1 gauge, 1 place, 1 wipe" in page.text
    assert reverse("register", args=["thornmere", "audit"]) in page.links()
    assert reverse("register", args=["thornmere", "source"]) in page.links()
    assert PendingFile.objects.count() == 0
    assert Item.objects.get(kind="source").label == "Cs-137 L-1"
    assert Attachment.objects.get(record=record).sha256 == waiting.sha256


def test_a_second_click_leads_to_what_the_first_one_wrote(rps, site):
    waiting = loading.waiting_file(site)
    first = confirm(rps, waiting)
    count = Record.objects.count()
    again = do(rps, waiting, "confirm", shown="x", sha256=waiting.sha256)
    assert again["Location"] == first["Location"]
    assert Record.objects.count() == count


def test_a_page_that_was_overtaken_writes_nothing_and_says_what_happened(rps, site):
    waiting = loading.waiting_file(site, line("L-1"))
    html = rps.get(address(waiting)).content.decode()
    shown = re.search(r'name="shown" value="(\w+)"', html)[1]
    store = factories.make_location(site, "Store")
    factories.make_source(site, to=store, serial="L-1")
    count = Record.objects.count()
    do(rps, waiting, "confirm", shown=shown, sha256=waiting.sha256)
    assert Record.objects.count() == count
    assert PendingFile.objects.count() == 1


def test_the_same_file_loaded_again_changes_nothing(rps, site):
    waiting = loading.waiting_file(site)
    content = bytes(waiting.content)
    confirm(rps, waiting)
    count = Record.objects.count()
    bring(rps, content)
    again = PendingFile.objects.get()
    page = see(rps, again)
    assert "Everything in this file is here already." in page.text
    assert "1 row is here already." in page.text
    confirm(rps, again)
    assert Record.objects.count() == count


def test_discarding_forgets_the_file(rps, site):
    waiting = loading.waiting_file(site)
    count = Record.objects.count()
    response = do(rps, waiting, "discard")
    assert "Nothing of it was loaded." in Page(rps.get(response["Location"])).text
    assert PendingFile.objects.count() == 0
    assert Record.objects.count() == count
    assert rps.get(address(waiting)).status_code == 404


@pytest.mark.parametrize("what", ["row", "leave", "answer", "confirm"])
def test_a_file_that_goes_while_somebody_decides_about_it_is_said_to_be_gone(
    rps, wrong, monkeypatch, what
):
    understood_of = pending.understood_of

    def meanwhile(waiting):
        PendingFile.objects.all().delete()
        return understood_of(waiting)

    monkeypatch.setattr(pending, "_books", pending.Recent(2))
    monkeypatch.setattr(pending, "_understood", pending.Recent(4))
    monkeypatch.setattr(pending, "understood_of", meanwhile)
    if what == "answer":
        monkeypatch.setattr(pending, "answered", lambda answers: meanwhile(wrong) and None)
    sent = {"do": what, "key": "list!3", "cell:A3": "Co-60"}
    response = rps.post(address(wrong), sent, follow=True)
    assert "This file does not wait any more" in Page(response).text


def test_two_browsers_that_decide_at_once_lose_nothing(site):
    one = loading.waiting_file(site, line("L-1"), line("L-2"))
    other = PendingFile.objects.get(pk=one.pk)
    pending.decide(one, pending.left_out("list!2"))
    pending.decide(other, pending.left_out("list!3"))
    one.refresh_from_db()
    assert one.decisions["left_out"] == ["list!2", "list!3"]


def test_only_the_last_few_files_are_kept_in_memory():
    recent: pending.Recent[int] = pending.Recent(2)
    made: list[int] = []

    def make(number: int) -> int:
        made.append(number)
        return number

    for number in (1, 2, 1, 3, 1, 2):
        recent.get(number, lambda n=number: make(n), lambda _n: True)
    assert made == [1, 2, 3, 2]
