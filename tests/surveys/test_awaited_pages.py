"""The pages of wipes that are away: send, list, enter the report, give up."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from config.accounts.models import Role
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record
from inventory.ledger.write import read_body
from surveys.awaited.waiting import waiting
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
SEND, AWAITED = "/thornmere/wipes/send/", "/thornmere/wipes/awaited/"
TAKEN = date(2026, 2, 10)
#: The factories write before this day; the pages believe that it is 2 March 2026.
EARLIER = date(2025, 12, 1)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def sources(site):
    return [factories.make_source(site, serial=f"K-{n}") for n in range(1, 4)]


@pytest.fixture(scope="module")
def lab(site):
    return factories.make_laboratory(site)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


def parcel(lab: Any, *rows: dict[str, str], **fields: str) -> dict[str, str]:
    """What the form of a sending sends."""
    out = {
        **{"request_key": str(uuid.uuid4()), "seen": "9999", "laboratory": lab.code},
        **{"sent_on": "2026-02-12", "wiped_on": "2026-02-10", "wiped_by": "B. Sampler"},
        **{"why": "routine", "wipes-TOTAL_FORMS": str(len(rows)), "wipes-INITIAL_FORMS": "0"},
    }
    for number, row in enumerate(rows):
        out |= {f"wipes-{number}-{name}": value for name, value in row.items()}
    return out | fields


def report(*rows: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """What the form of a report sends."""
    out: dict[str, Any] = {
        **{"request_key": str(uuid.uuid4()), "seen": "9999", "reported_on": "2026-02-20"},
        **{"report": "R-77", "results-TOTAL_FORMS": str(len(rows))},
        **{"results-INITIAL_FORMS": str(len(rows))},
    }
    for number, row in enumerate(rows):
        out |= {f"results-{number}-{name}": value for name, value in row.items()}
    return out | fields


def address(lab: Any) -> str:
    return reverse("report-new", args=["thornmere", lab.code])


def saved_nothing(before: dict[str, Any]) -> bool:
    return {**rows_of_every_table(), "django_session": 0} == {**before, "django_session": 0}


# --- sending ---------------------------------------------------------------------------------


def test_several_wipes_are_sent_with_one_form(site, technician, sources, lab):
    rows = (
        {"sources": "K-1", "label": "env 1", "point_wiped": "shutter"},
        {"sources": f"{sources[1].code.lower()}; cs-137 K-3", "wiped_on": "2026-02-11"},
        {"sources": "", "wiped_on": "2026-02-11", "wiped_by": "nobody"},
    )
    response = technician.post(SEND, parcel(lab, *rows))
    assert (response.status_code, response["Location"]) == (302, AWAITED)
    first, second = waiting(site)
    assert (first.effective_on, second.effective_on) == (TAKEN, date(2026, 2, 11))
    assert {one.item.label for one in second.about.all()} == {"Cs-137 K-2", "Cs-137 K-3"}
    detail = read_body(first)["detail"]
    assert (detail["label"], detail["chase_on"]) == ("env 1", "2026-03-05")  # 21 days


def test_the_page_of_what_is_away_says_so(site, rps, sources, lab):
    rps.post(SEND, parcel(lab, {"sources": "K-1"}, {"sources": "K-2", "label": "env 2"},
                          chase_on="2026-02-20"))  # fmt: skip
    page = Page(rps.get(AWAITED))
    assert "2 wipes wait for their results." in page.text
    assert "chase it since 20 Feb 2026, 10 days over" in page.text
    assert "env 2" in page.text
    assert page.faults == []


def test_a_double_click_sends_them_once(site, rps, sources, lab):
    form = parcel(lab, {"sources": "K-1"}, {"sources": "K-2"})
    assert {rps.post(SEND, form).status_code for _ in range(2)} == {302}
    assert waiting(site).count() == 2


FAULTS = {
    "unknown": ({"sources": "K-9"}, {}, "No source here has the code or serial “K-9”"),
    "no source": ({"label": "env"}, {}, "row 1, Source: Say which source the wipe covers."),
    "twice": ({"sources": "K-1; K-1"}, {}, "is named twice"),
    "nothing": ({"sources": ""}, {}, "Write at least one wipe."),
    "future": ({"sources": "K-1"}, {"sent_on": "2026-04-01"}, "lies in the future"),
    "last day": ({"sources": "K-1"}, {"sent_on": "9999-12-31"}, "lies in the future"),
    "order": ({"sources": "K-1", "wiped_on": "2026-02-13"}, {}, "row 1: It was wiped on 13 Feb"),
    "chase": ({"sources": "K-1"}, {"chase_on": "2026-02-11"}, "cannot be asked for before"),
    "no lab": ({"sources": "K-1"}, {"laboratory": ""}, "Laboratory: This field is required."),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_what_is_wrong_with_a_sending_is_said_and_nothing_is_saved(rps, sources, lab, fault):
    row, fields, text = FAULTS[fault]
    before = rows_of_every_table()
    page = Page(rps.post(SEND, parcel(lab, row, **fields)))
    assert text in page.text
    assert saved_nothing(before)


def test_a_serial_that_two_sources_share_asks_for_the_code(site, rps, sources, lab):
    twin = factories.make_source(site, serial="K-1", nuclide="Co-60")
    page = Page(rps.post(SEND, parcel(lab, {"sources": "K-1"})))
    assert "could be any of these" in page.text
    assert rps.post(SEND, parcel(lab, {"sources": twin.code})).status_code == 302


def test_the_form_starts_with_the_sources_that_are_due(site, rps, sources, lab):
    values = {one.get("value") for one in Page(rps.get(SEND + "?due=1")).all("input")}
    assert {one.label for one in sources} <= values
    only = {
        one.get("value") for one in Page(rps.get(f"{SEND}?source={sources[0].code}")).all("input")
    }
    assert sources[0].label in only
    assert sources[1].label not in only
    twin = factories.make_source(site, serial="K-2")
    both = {one.get("value") for one in Page(rps.get(SEND + "?due=1")).all("input")}
    assert {twin.code, sources[1].code} <= both


def test_without_a_laboratory_it_says_what_comes_first(bare):
    factories.make_source(bare)
    rps, technician = browser(factories.rps_of(bare)), browser(staff(bare, Role.TECHNICIAN))
    send, describe = (reverse(name, args=["bare"]) for name in ("wipes-send", "laboratory-new"))
    page = Page(rps.get(send))
    assert "No laboratory is described yet" in page.text
    assert describe in page.links()
    assert describe not in Page(technician.get(send)).links()


def test_a_laboratory_whose_authorisation_ended_is_marked(site, rps, sources):
    factories.make_laboratory(site, valid_until=date(2026, 1, 31))
    assert "authorisation ended on 31 Jan 2026" in Page(rps.get(SEND)).text


# --- the report ------------------------------------------------------------------------------


@pytest.fixture
def away(sources, lab):
    return [factories.send_wipe(one, lab, EARLIER, label=f"env {one.label}") for one in sources]


def test_a_report_over_several_wipes_is_entered_at_once(site, rps, sources, lab, away):
    rows = (
        {"wipe": away[0].seq, "says": "less_than", "figure": "3 Bq"},
        {"wipe": away[1].seq, "says": "figure", "figure": "400 Bq", "uncertainty": "20 Bq",
         "coverage_factor": "2"},
        {"wipe": away[2].seq, "says": ""},
    )  # fmt: skip
    response = rps.post(address(lab), report(*rows, accept="on"))
    assert (response.status_code, response["Location"]) == (302, AWAITED)
    assert [one.seq for one in waiting(site)] == [away[2].seq]
    clean, loud = Record.objects.filter(site=site, kind="leak_test").order_by("seq")
    assert (clean.about.get().outcome, loud.about.get().outcome) == ("pass", "fail")
    assert read_body(loud)["detail"]["stated"] == {
        **{"reported": "400 Bq", "uncertainty": "20 Bq", "coverage_factor": "2.0"},
    }
    assert FollowUp.objects.still_open().get().item == sources[1]


def test_it_is_worked_out_before_anything_is_recorded(rps, lab, away):
    before = rows_of_every_table()
    rows = ({"wipe": away[0].seq, "says": "not_detected"},
            {"wipe": away[1].seq, "says": "figure", "figure": "400 Bq"})  # fmt: skip
    page = Page(rps.post(address(lab), report(*rows, do="preview")))
    assert "Cs-137 K-1: Passes: the laboratory states an activity below 5.00" in page.text
    assert "Cs-137 K-2: Fails: 400" in page.text
    assert saved_nothing(before)


def test_a_figure_without_a_unit_is_taken_in_the_unit_of_the_laboratory(site, rps, sources):
    lab = factories.make_laboratory(site, unit="nCi")
    one = factories.send_wipe(sources[0], lab, EARLIER)
    rps.post(address(lab), report({"wipe": one.seq, "says": "less_than", "figure": "0.1"}))
    result = Record.objects.get(kind="leak_test")
    assert read_body(result)["detail"]["stated"] == {"less_than": "0.1 nCi"}
    assert result.leakresults.get().upper_bound_bq == pytest.approx(3.7)


def test_without_a_described_unit_it_asks_for_one(rps, lab, away):
    row = {"wipe": away[0].seq, "says": "less_than", "figure": "0.1"}
    assert "“0.1” has no unit" in Page(rps.post(address(lab), report(row))).text


def test_the_report_itself_is_kept_with_each_result(rps, lab, away):
    file = SimpleUploadedFile("report.pdf", b"%PDF-1.7 invented", "application/pdf")
    row = {"wipe": away[0].seq, "says": "not_detected", "figure": "4 Bq"}
    response = rps.post(address(lab), report(row, file=file, accept="on"))
    result = Record.objects.get(kind="leak_test")
    assert response["Location"] == reverse("record", args=["thornmere", result.seq])
    assert [one.name for one in result.attachments.all()] == ["report.pdf"]
    page = Page(rps.get(response["Location"]))
    for text in (
        f"Result of the wipe sent in record {away[0].seq}",
        "Hill Laboratory",
        "Detection limit as reported 4 Bq",
        "Detection limit that it states, Cs-137 5 Bq",
    ):
        assert text in page.text
    assert page.faults == []


def test_a_double_click_enters_it_once(rps, lab, away):
    form = report({"wipe": away[0].seq, "says": "less_than", "figure": "3 Bq"})
    assert {rps.post(address(lab), form).status_code for _ in range(2)} == {302}
    assert Record.objects.filter(kind="leak_test").count() == 1


REPORT_FAULTS = {
    "no word": ({"figure": "3 Bq"}, {}, "Say what the report says of it."),
    "no figure": ({"says": "less_than"}, {}, "Give the figure with its unit."),
    "a figure too many": ({"says": "passed", "figure": "3 Bq"}, {}, "It has a figure"),
    "uncertainty of nothing": (
        {"says": "less_than", "figure": "3 Bq", "uncertainty": "1 Bq"},
        {},
        "Only an activity has an uncertainty.",
    ),
    "nothing": ({"says": ""}, {}, "Say of at least one wipe what the report says."),
    "future": ({"says": "not_detected"}, {"reported_on": "2026-03-03"}, "lies in the future"),
    "too early": ({"says": "not_detected"}, {"reported_on": "2025-12-01"}, "before that"),
    "a stated pass": ({"says": "passed"}, {"accept": "on"}, "needs your reason"),
    "not a file": (
        {"says": "not_detected"},
        {"file": SimpleUploadedFile("report.pdf", b"MZ\x90\x00\x03 program")},
        "The report as a file",
    ),
    "a percentage": (
        {"says": "figure", "figure": "3 Bq", "uncertainty": "1 Bq", "coverage_factor": "95"},
        {},
        "not a percentage",
    ),
}


@pytest.mark.parametrize("fault", REPORT_FAULTS)
def test_what_is_wrong_with_a_report_is_said_and_nothing_is_saved(rps, lab, away, fault):
    row, fields, text = REPORT_FAULTS[fault]
    before = rows_of_every_table()
    page = Page(rps.post(address(lab), report({"wipe": away[0].seq} | row, **fields)))
    assert text in page.text
    assert saved_nothing(before)
    assert page.faults == []


@pytest.mark.parametrize("do", ["preview", "record"])
def test_a_wipe_that_is_not_away_there_is_refused(site, rps, lab, away, sources, do):
    other = factories.make_laboratory(site, "Other Laboratory")
    there = factories.send_wipe(sources[0], other, EARLIER)
    before = rows_of_every_table()
    row = {"wipe": there.seq, "says": "less_than", "figure": "3 Bq"}
    page = Page(rps.post(address(lab), report(row, do=do)))
    assert "is not away any more" in page.text
    assert saved_nothing(before)


@pytest.mark.parametrize("number", ["9" * 20, "9" * 5000, "x", "-1"])
def test_a_number_that_is_no_wipe_shows_none(rps, lab, away, number):
    page = Page(rps.get(f"{address(lab)}?wipe={number}"))
    assert "Cs-137 K-1" not in page.text


def test_one_wipe_is_asked_for_by_its_number(rps, lab, away):
    page = Page(rps.get(f"{address(lab)}?wipe={away[1].seq}"))
    assert "Cs-137 K-2" in page.text
    assert "Cs-137 K-1" not in page.text
    assert "2 more wipes are away there" in page.text


def test_a_technician_has_no_field_to_accept_with(technician, lab, away):
    row = {"wipe": away[0].seq, "says": "less_than", "figure": "3 Bq"}
    assert "I accept these results" not in Page(technician.get(address(lab))).text
    technician.post(address(lab), report(row, accept="on"))
    assert Record.objects.get(kind="leak_test").accepted_by is None


# --- the rest --------------------------------------------------------------------------------


def test_a_wipe_is_given_up_with_a_reason(site, rps, away):
    address = reverse("wipe-give-up", args=["thornmere", away[0].seq])
    assert "Hill Laboratory" in Page(rps.get(address)).text
    form = {"request_key": str(uuid.uuid4()), "seen": "9999", "on": "2026-03-01"}
    assert "This field is required" in Page(rps.post(address, form | {"reason": ""})).text
    assert rps.post(address, form | {"reason": "lost in the post"}).status_code == 302
    assert waiting(site).count() == 2
    page = Page(rps.get(reverse("record", args=["thornmere", Record.objects.latest("seq").seq])))
    assert f"Completes record {away[0].seq}" in page.text
    assert "lost in the post" in page.text


def test_only_a_wipe_that_was_sent_is_given_up(rps, sources):
    described = sources[0].mentions.first().record
    address = reverse("wipe-give-up", args=["thornmere", described.seq])
    assert rps.get(address).status_code == 404


def test_its_record_says_where_it_went_and_what_comes_next(rps, lab, away):
    page = Page(rps.get(reverse("record", args=["thornmere", away[0].seq])))
    assert "Sent to Hill Laboratory on 2 Dec 2025" in page.text
    assert "asked for from 23 Dec 2025" in page.text
    assert f"{address(lab)}?wipe={away[0].seq}" in page.links()
    assert reverse("wipe-give-up", args=["thornmere", away[0].seq]) in page.links()


def test_a_wipe_that_was_sent_is_corrected_on_its_own_page(site, rps, sources, lab, away):
    address = reverse("record-correct", args=["thornmere", away[0].seq])
    values = {one.get("name"): one.get("value") for one in Page(rps.get(address)).all("input")}
    assert values["wipes-0-sources"] == sources[0].label
    assert values["wiped_on"] == "2025-12-01"
    row = {"sources": "K-2", "label": "env 9"}
    form = parcel(lab, row, wiped_on="2025-12-02", because="wrong source")
    form["wipes-INITIAL_FORMS"] = "1"
    response = rps.post(address, form)
    assert response.status_code == 302
    new = Record.objects.get(replaces=away[0])
    assert (new.effective_on, new.reason) == (date(2025, 12, 2), "wrong source")
    assert new.seq in [one.seq for one in waiting(site)]


def test_the_list_of_what_needs_doing_leads_to_what_is_away(rps, sources, counter, away):
    factories.record_wipe(sources[0], counter, date(2025, 11, 3))
    page = Page(rps.get("/thornmere/"))
    assert "result awaited since 1 Dec 2025, chase it (since 23 Dec 2025)" in page.text
    assert AWAITED in page.links()


def test_the_page_of_a_laboratory_shows_what_is_away_and_what_came(rps, lab, away):
    rps.post(address(lab), report({"wipe": away[0].seq, "says": "less_than", "figure": "3 Bq"}))
    page = Page(rps.get(reverse("laboratory", args=["thornmere", lab.code])))
    assert page.text.count("Cs-137 K-1") == 2  # in the link and in its cell
    assert "Cs-137 K-2" in page.text
    assert "pass" in page.text


def test_a_reported_wipe_of_a_described_laboratory_comes_back_as_it_was_written(
    site, rps, sources, lab
):
    form = {
        **{"request_key": str(uuid.uuid4()), "seen": "9999", "sources": sources[0].code},
        **{"wiped_on": "2026-02-10", "sampled_by": "B. Sampler", "why": "routine"},
        **{"way": "reported", "described": lab.code, "not_detected": "on"},
    }
    assert rps.post("/thornmere/wipes/new/", form).status_code == 302
    result = Record.objects.get(kind="leak_test")
    assert result.leakresults.get().upper_bound_bq == 5.0
    address = reverse("record-correct", args=["thornmere", result.seq])
    initial = rps.get(address).context["form"].initial
    assert (initial["described"], initial["laboratory"]) == (lab.code, "")
    assert initial["not_detected"]
    both = form | {"laboratory": "Another", "reported": "3 Bq"}
    page = Page(rps.post("/thornmere/wipes/new/", both))
    assert "not both" in page.text
    assert "leave “not detected” out" in page.text
