"""The form of a wipe: what it shows, what it records, and that a bad input saves nothing."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record, RecordLink
from inventory.ledger.write import last_seq
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
NEW = "/thornmere/wipes/new/"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, serial="K-1")


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


@pytest.fixture
def counts(site, source, counter):
    """A clean wipe, counted here."""
    return common(site, source) | {
        **{"way": "counts", "counter": counter.code, "counted_on": "2026-02-20"},
        **{"gross_counts": "431", "gross_seconds": "600"},
        **{"background_counts": "389", "background_seconds": "600"},
    }


@pytest.fixture
def reported(site, source):
    return common(site, source) | {
        **{"way": "reported", "laboratory": "Invented Laboratory", "reported": "3.2 Bq"},
        **{"uncertainty": "1 Bq", "coverage_factor": "2"},
    }


@pytest.fixture
def declared(site, source):
    return common(site, source) | {
        **{"way": "declared", "declared": "passed", "declared_by": "the maker's engineer"},
    }


def common(site: Any, source: Any) -> dict[str, Any]:
    return {
        **{"request_key": str(uuid.uuid4()), "seen": str(last_seq(site) + 3)},
        **{"sources": [source.code], "wiped_on": "2026-02-20", "sampled_by": "B. Sampler"},
        **{"why": "routine"},
    }


def wipes() -> int:
    return Record.objects.filter(kind="leak_test").count()


def newest() -> Record:
    return Record.objects.filter(kind="leak_test").latest("seq")


# ---------------------------------------------------------------- good entries


def test_working_it_out_shows_the_verdict_and_saves_nothing(rps, counts):
    before = rows_of_every_table()
    page = Page(rps.post(NEW, counts | {"do": "preview"}))
    assert "Worked out, not recorded yet" in page.text
    assert "Passes: not detected" in page.text
    assert rows_of_every_table() == before


def test_what_was_worked_out_is_what_is_recorded(rps, counts):
    said = rps.post(NEW, counts | {"do": "preview"}).context["preview"]
    recorded = Page(rps.post(NEW, counts, follow=True))
    shown = [said["headline"].split(": ", 1)[1], *(figure for _name, figure in said["figures"])]
    assert all(" ".join(text.split()) in recorded.text for text in shown)


def test_recording_leads_to_the_record(rps, counts):
    response = rps.post(NEW, counts)
    record = newest()
    assert response["Location"] == reverse("record", args=["thornmere", record.seq])
    assert (record.effective_on, record.performed_by) == (date(2026, 2, 20), "B. Sampler")
    assert record.accepted_by is None


@pytest.mark.parametrize("way", ["counts", "reported", "declared"])
def test_each_way_of_a_result_is_recorded(rps, request, way):
    rps.post(NEW, request.getfixturevalue(way))
    assert newest().leaktest.way == way


def test_the_supervisor_accepts_in_the_same_act(rps, counts):
    rps.post(NEW, counts | {"accept": "on"})
    assert newest().accepted_by is not None


def test_one_wipe_covers_several_sources(rps, site, counts, source):
    other = factories.make_source(site)
    rps.post(NEW, counts | {"sources": [source.code, other.code]})
    assert newest().about.count() == 2


def test_a_missing_background_is_not_evaluable_and_not_refused(rps, counts):
    rps.post(NEW, counts | {"background_counts": "", "background_seconds": ""})
    assert newest().about.get().outcome == "not_evaluable"


def test_a_leak_is_recorded_and_opens_a_follow_up_at_once(technician, counts, source):
    technician.post(NEW, counts | {"gross_counts": "90000"})
    assert FollowUp.objects.still_open().get().item == source


def test_the_form_starts_with_the_source_it_was_opened_for(rps, source, counter):
    form = rps.get(f"{NEW}?source={source.code.lower()}").context["form"]
    assert form["sources"].value() == [source.code]
    assert form["counter"].value() == counter.code


# ---------------------------------------------------------------- bad entries


BAD_COUNTS: dict[str, tuple[dict[str, str], str, str]] = {
    "text as counts": ({"gross_counts": "many"}, "gross_counts", "not a count"),
    "negative counts": ({"gross_counts": "-431"}, "gross_counts", "not a count"),
    "half a count": ({"gross_counts": "431.5"}, "gross_counts", "not a count"),
    "a thousands comma": ({"gross_counts": "5,000"}, "gross_counts", "not a count"),
    "a thousands point": ({"gross_counts": "5.000"}, "gross_counts", "not a count"),
    "a thousands space": ({"gross_counts": "5 000"}, "gross_counts", "not a count"),
    "digits of another script": ({"gross_counts": "１２"}, "gross_counts", "not a count"),
    "a time in two ways": ({"gross_seconds": "1,200"}, "gross_seconds", "not a time"),
    "counts without end": ({"gross_counts": "inf"}, "gross_counts", ""),
    "negative background": ({"background_counts": "-1"}, "background_counts", "not a count"),
    "no time at all": ({"gross_seconds": "0"}, "gross_seconds", "above 0"),
    "negative time": ({"background_seconds": "-600"}, "background_seconds", "not a time"),
    "times that do not fit": ({"gross_seconds": "600 + 600"}, "gross_seconds", "do not fit"),
    "no counter": ({"counter": ""}, "counter", "which counter"),
    "a counter that is not here": ({"counter": "22222222"}, "counter", "valid choice"),
    "no source": ({"sources": []}, "sources", "required"),
    "wiped in the future": ({"wiped_on": "2026-03-03"}, "wiped_on", "future"),
    "wiped before everything": ({"wiped_on": "1999-01-01"}, "wiped_on", "earlier than everything"),
    "wiped on no day": ({"wiped_on": "2026-02-30"}, "wiped_on", "not a date"),
    "wiped in some month": ({"wiped_on": "Feb 2026"}, "wiped_on", "not a whole day"),
    "counted before wiped": ({"counted_on": "2026-02-19"}, "counted_on", "before it was wiped"),
    "counted in the future": ({"counted_on": "2026-03-03"}, "counted_on", "future"),
    "nobody who wiped": ({"sampled_by": " "}, "sampled_by", "required"),
    "no reason of the choice": ({"why": "whim"}, "why", "valid choice"),
    "no way": ({"way": ""}, "way", "required"),
}
BAD_REPORTS: dict[str, tuple[dict[str, str], str, str]] = {
    "no laboratory": ({"laboratory": ""}, "laboratory", "which laboratory"),
    "no unit": ({"reported": "3.2"}, "reported", "no unit"),
    "a unit that is none": ({"reported": "3.2 Sv"}, "reported", "not a unit"),
    "no figure": ({"reported": "", "uncertainty": ""}, "reported", "Give the activity"),
    "value and less than": ({"less_than": "5 Bq"}, "less_than", "not both"),
    "less than nothing": ({"reported": "", "less_than": "0 Bq"}, "less_than", "above 0"),
    "negative uncertainty": ({"uncertainty": "-1 Bq"}, "uncertainty", ""),
    "coverage factor zero": ({"coverage_factor": "0"}, "coverage_factor", "above 0"),
    "coverage factor nan": ({"coverage_factor": "nan"}, "coverage_factor", ""),
}
BAD_STATEMENTS: dict[str, tuple[dict[str, str], str, str]] = {
    "nobody who says so": ({"declared_by": ""}, "declared_by", "who declared"),
    "neither passed nor failed": ({"declared": ""}, "declared", "passed or failed"),
    "accepted without a reason": ({"accept": "on"}, "accept_because", "reason"),
}


def assert_refused(client: Any, sent: dict[str, Any], field: str, said: str) -> None:
    """One sentence beside its field, both when worked out and when recorded; nothing saved."""
    before = rows_of_every_table()
    response = client.post(NEW, sent)
    assert response.status_code == 200
    errors = response.context["form"].errors
    assert list(errors) == [field], errors
    assert len(errors[field]) == 1
    sentence = errors[field][0]
    assert said in sentence
    assert "%(" not in sentence
    assert "[no sentence" not in sentence
    assert rows_of_every_table() == before
    page = Page(response)
    assert sentence in page.text
    assert any(field in attrs.get("aria-describedby", "") for _tag, attrs in page.tags)


@pytest.mark.parametrize("bad", BAD_COUNTS)
def test_a_bad_count_is_one_sentence_beside_its_field(rps, counts, bad):
    change, field, said = BAD_COUNTS[bad]
    assert_refused(rps, counts | change, field, said)


@pytest.mark.parametrize("bad", BAD_REPORTS)
def test_a_bad_report_is_one_sentence_beside_its_field(rps, reported, bad):
    change, field, said = BAD_REPORTS[bad]
    assert_refused(rps, reported | change, field, said)


@pytest.mark.parametrize("bad", BAD_STATEMENTS)
def test_a_bad_statement_is_one_sentence_beside_its_field(rps, declared, bad):
    change, field, said = BAD_STATEMENTS[bad]
    assert_refused(rps, declared | change, field, said)


def test_a_control_character_is_named_and_nothing_saved(rps, counts):
    before = rows_of_every_table()
    page = Page(rps.post(NEW, counts | {"remark": "a\x07b"}))
    assert "holds a control character" in page.text
    assert rows_of_every_table() == before


@pytest.mark.parametrize("field", ["sources", "counter"])
def test_what_belongs_to_another_site_is_no_choice(rps, counts, field):
    elsewhere = factories.make_site("elsewhere")
    foreign = factories.make_source(elsewhere)
    if field == "counter":
        foreign = factories.make_monitor(elsewhere)
    assert_refused(rps, counts | {field: foreign.code}, field, "")


@pytest.mark.parametrize("do", ["preview", "record"])
def test_a_lost_hidden_field_is_told_and_not_a_fault(rps, counts, do):
    before = wipes()
    sent = counts | {"do": do, "request_key": "x", "seen": ""}
    response = rps.post(NEW, sent)
    assert response.status_code == 200
    assert wipes() == before


def test_everything_that_was_written_stays_in_the_form(rps, counts):
    page = rps.post(NEW, counts | {"gross_counts": "many", "remark": "by hand"})
    form = page.context["form"]
    assert (form["gross_counts"].value(), form["remark"].value()) == ("many", "by hand")


# ---------------------------------------------------------------- twice, and two people


def test_a_double_click_writes_once(rps, counts):
    first, second = rps.post(NEW, counts), rps.post(NEW, counts)
    assert first["Location"] == second["Location"]
    assert wipes() == 1


def test_a_double_click_on_a_correction_writes_once_and_shows_it(rps, counts):
    rps.post(NEW, counts)
    old = Record.objects.filter(kind="leak_test").get()
    correct = reverse("record-correct", args=["thornmere", old.seq])
    sent = counts | {"gross_counts": "425", "because": "misread", "seen": str(old.seq)}
    first, second = rps.post(correct, sent), rps.post(correct, sent)
    assert (first.status_code, first["Location"]) == (302, second["Location"])
    assert first["Location"] != reverse("record", args=["thornmere", old.seq])
    assert wipes() == 2


def test_a_form_gone_back_to_and_changed_is_a_new_act(rps, site, counts):
    """A leak must never be taken for the clean wipe that the same form recorded before."""
    other = factories.make_source(site)
    first = rps.post(NEW, counts)
    again = rps.post(NEW, counts | {"sources": [other.code], "gross_counts": "90000"})
    assert again["Location"] != first["Location"]
    assert wipes() == 2
    assert FollowUp.objects.get().item == other


def test_a_form_that_was_overtaken_is_told_what_happened_and_then_works(
    rps, site, counts, source, counter
):
    opened = Page(rps.get(NEW))
    seen = next(one["value"] for one in opened.all("input") if one.get("name") == "seen")
    other = factories.record_wipe(
        source, counter, date(2026, 1, 4), by=staff(site, Role.TECHNICIAN), act={"accepted": False}
    )
    response = rps.post(NEW, counts | {"seen": seen})
    page = Page(response)
    assert f"record {other.seq}, leak test of 4 Jan 2026" in page.text
    assert wipes() == 1
    again = next(one["value"] for one in page.all("input") if one.get("name") == "seen")
    assert rps.post(NEW, counts | {"seen": again}).status_code == 302
    assert wipes() == 2


# ---------------------------------------------------------------- who may what


def test_a_technician_has_no_field_to_accept_with_and_forging_one_changes_nothing(
    technician, counts
):
    form = technician.get(NEW).context["form"]
    assert not {"accept", "accept_because"} & set(form.fields)
    technician.post(NEW, counts | {"accept": "on", "accept_because": "forged"})
    assert newest().accepted_by is None
    assert "forged" not in newest().body
    assert not RecordLink.objects.filter(role="accepts").exists()


def test_a_stated_pass_is_accepted_with_a_reason(rps, declared):
    rps.post(NEW, declared | {"accept": "on", "accept_because": "known engineer"})
    assert newest().accepted_by is not None


@pytest.fixture
def entered(site, source, counter):
    technician = staff(site, Role.TECHNICIAN)
    return factories.record_wipe(
        source, counter, date(2025, 11, 1), by=technician, act={"accepted": False}
    )


def accept_at(record: Record) -> str:
    return reverse("record-accept", args=["thornmere", record.seq])


def hidden() -> dict[str, str]:
    return {"request_key": str(uuid.uuid4()), "seen": "9999"}


def test_a_later_acceptance_names_who_and_when(rps, entered):
    page = Page(rps.post(accept_at(entered), hidden() | {"reason": ""}, follow=True))
    assert "on 2 Mar 2026" in page.text
    assert accept_at(entered) not in page.links()


def test_a_stated_pass_is_not_accepted_without_a_reason(rps, technician, declared):
    technician.post(NEW, declared)
    response = rps.post(accept_at(newest()), hidden() | {"reason": " "})
    assert list(response.context["form"].errors) == ["reason"]
    assert not RecordLink.objects.filter(role="accepts").exists()


def test_accepting_twice_is_told_and_a_double_click_is_not(rps, entered):
    sent = hidden()
    assert rps.post(accept_at(entered), sent).status_code == 302
    assert rps.post(accept_at(entered), sent).status_code == 302
    response = rps.post(accept_at(entered), hidden())
    assert "has been accepted already" in Page(response).text
    assert RecordLink.objects.filter(role="accepts").count() == 1


# ---------------------------------------------------------------- corrections


def correct_at(record: Record) -> str:
    return reverse("record-correct", args=["thornmere", record.seq])


def test_a_correction_starts_with_what_was_entered(rps, entered, source, counter):
    form = rps.get(correct_at(entered)).context["form"]
    started = {name: form[name].value() for name in ("sources", "counter", "gross_counts")}
    assert started == {"sources": [source.code], "counter": counter.code, "gross_counts": "431"}
    assert (form["gross_seconds"].value(), form["sampled_by"].value()) == ("600", "B. Sampler")


def test_a_correction_is_a_new_record_with_its_reason(rps, entered, counts):
    rps.post(correct_at(entered), counts | {"because": "digits swapped"})
    assert (newest().replaces, newest().reason) == (entered, "digits swapped")
    page = Page(rps.get(reverse("record", args=["thornmere", entered.seq])))
    assert "This record was replaced." in page.text
    assert "digits swapped" in page.text


def test_a_correction_without_a_reason_is_refused(rps, entered, counts):
    response = rps.post(correct_at(entered), counts | {"because": " "})
    assert list(response.context["form"].errors) == ["because"]
    assert wipes() == 1


def test_what_was_corrected_is_corrected_at_the_newer_record(rps, entered, counts):
    rps.post(correct_at(entered), counts | {"because": "digits swapped"})
    again = counts | {"because": "again", "request_key": str(uuid.uuid4())}
    page = Page(rps.post(correct_at(entered), again, follow=True))
    assert "cannot be corrected here" in page.text
    assert wipes() == 2


def test_a_reported_result_comes_back_as_it_was_written(rps, reported):
    rps.post(NEW, reported | {"reported": "0.4 nCi", "uncertainty": "0.1 nCi"})
    form = rps.get(correct_at(newest())).context["form"]
    values = [form[name].value() for name in ("reported", "uncertainty", "coverage_factor")]
    assert values == ["0.4 nCi", "0.1 nCi", "2.0"]
