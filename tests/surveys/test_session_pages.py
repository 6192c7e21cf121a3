"""The page of a counting session: what it answers, what it records, and that a bad row saves
nothing; the pages of a recorded session and of what counters can do."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record
from inventory.ledger.write import last_seq, read_body
from surveys.leak.models import LEAK_TEST_KIND, SESSION_KIND
from surveys.sessions.acceptance import wipes_of
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
NEW = "/thornmere/sessions/new/"
ON = date(2025, 12, 1)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def gauge(site):
    return factories.make_gauge(site, "LG-402")


@pytest.fixture(scope="module")
def sources(site, gauge):
    """Two in one gauge, three by themselves."""
    inside = [factories.make_source(site, to=gauge, serial=f"R-{n}") for n in (1, 2)]
    return inside + [factories.make_source(site, serial=f"K-{n}") for n in (1, 2, 3)]


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


@pytest.fixture
def technician(site):
    return browser(staff(site, Role.TECHNICIAN))


@pytest.fixture
def head(site, counter, sources):
    return {
        **{"request_key": str(uuid.uuid4()), "seen": str(last_seq(site) + 3), "rows": "8"},
        **{"counter": counter.code, "counted_on": "2026-02-20", "counted_by": "A. Counter"},
        **{"background_counts": "389", "background_seconds": "600", "seconds": "600"},
        **{"wiped_on": "2026-02-20", "sampled_by": "B. Sampler", "do": "record"},
    }


def rows(*written: Any) -> dict[str, str]:
    """Cells by number of the row: what was wiped, its counts, and more."""
    out = {}
    for number, (what, gross, *more) in enumerate(written, 1):
        out |= {f"wipes-{number}-what": what, f"wipes-{number}-gross": gross}
        for cells in more:
            out |= {f"wipes-{number}-{name}": text for name, text in cells.items()}
    return out


def sessions() -> int:
    return Record.objects.filter(kind=SESSION_KIND).count()


def newest() -> Record:
    return Record.objects.filter(kind=SESSION_KIND).latest("seq")


GOOD = rows(("LG-402", "431 + 425"), ("K-1", "402", {"point_wiped": "shutter slit"}))


# ---------------------------------------------------------------- answers while one types


def answer(client: Any, sent: dict[str, str], row: int | None = None) -> str:
    do = {"do": "head"} if row is None else {"do": "row", "row": str(row)}
    response = client.post(NEW, sent | do)
    assert response.status_code == 200
    return response.content.decode()


def test_a_row_is_answered_with_the_verdict_of_every_source_it_covers(rps, head):
    before = rows_of_every_table()
    said = answer(rps, head | GOOD, 1)
    assert said.count("</strong>: Passes: not detected") == 2
    assert "R-1" in said
    assert "R-2" in said
    assert 'id="wipe-1-result"' in said
    assert 'id="wipe-2-result"' not in said
    assert "Detection limit" in said
    assert rows_of_every_table() == before


def test_what_is_answered_is_what_is_recorded(rps, head):
    preview = rps.post(NEW, head | GOOD | {"do": "preview"})
    figures = [
        verdict["figures"]
        for _row, result in preview.context["rows"]
        for verdict in result.get("verdicts", [])
    ]
    rps.post(NEW, head | GOOD)
    shown = rps.get(reverse("session", args=["thornmere", newest().seq])).context["wipes"]
    assert [result["figures"] for wipe in shown for result in wipe["results"]] == figures


def test_the_head_is_answered_for_every_row_and_the_batch(rps, head):
    five = rows(*((f"K-{n}", "900") for n in (1, 2, 3)), ("R-1", "900"), ("R-2", "900"))
    said = answer(rps, head | five)
    assert said.count('class="verdict"') == 5
    assert "The batch reads high: repeat the background, 6000 s or longer" in said


def test_a_row_also_brings_the_batch_up_to_date(rps, head):
    five = rows(*((f"K-{n}", "389") for n in (1, 2, 3)), ("R-1", "389"), ("R-2", "389"))
    assert "The background suits the batch" in answer(rps, head | five, 2)


def test_without_a_background_it_is_not_evaluable_while_one_types(rps, head):
    said = answer(rps, head | GOOD | {"background_counts": ""}, 2)
    assert "the background count is missing" in said


def test_an_empty_row_is_answered_with_nothing(rps, head):
    said = answer(rps, head | rows(("", "")), 1)
    assert "field-error" not in said
    assert "verdict" not in said


@pytest.mark.parametrize("row", ["", "0", "99999", "x", "-1"])
def test_a_row_that_is_none_answers_with_nothing(rps, head, row):
    response = rps.post(NEW, head | GOOD | {"do": "row", "row": row})
    assert response.status_code == 200
    assert b"verdict" not in response.content


def test_an_open_follow_up_is_said_at_its_row(rps, head, counter, sources):
    factories.record_wipe(sources[2], counter, ON, gross=[(90_000, 600.0)])
    assert "Keep people away, do not handle" in answer(rps, head | GOOD, 2)


def test_a_counter_out_of_calibration_says_so(rps, head, site):
    late = factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    said = answer(rps, head | GOOD | {"counter": late.code})
    assert "Not relied on" in said
    assert "outcome-pass" not in said


# ---------------------------------------------------------------- recording


def test_it_is_recorded_and_leads_to_its_page(rps, head):
    response = rps.post(NEW, head | GOOD)
    assert response["Location"] == reverse("session", args=["thornmere", newest().seq])
    first, second = wipes_of(newest())
    assert first.about.count() == 2
    body = read_body(second)
    assert (body["detail"]["point_wiped"], body["performed_by"]) == ("shutter slit", "B. Sampler")


def test_a_row_may_say_its_own_day_person_and_time(rps, head):
    own = {"wiped_on": "2026-02-19", "sampled_by": "C. Other", "seconds": "300", "remark": "wet"}
    rps.post(NEW, head | rows(("K-1", "402", own)))
    wipe = wipes_of(newest())[0]
    body = read_body(wipe)
    assert (wipe.effective_on, wipe.performed_by) == (date(2026, 2, 19), "C. Other")
    assert body["detail"]["gross"] == [["402", "300.0"]]
    assert body["remark"] == "wet"


def test_empty_rows_are_no_wipes_wherever_they_stand(rps, head):
    rps.post(NEW, head | rows(("", ""), ("K-1", "402"), ("", " "), ("K-2", "398")))
    assert len(wipes_of(newest())) == 2


def test_a_technician_enters_and_cannot_accept(technician, head):
    technician.post(NEW, head | GOOD | {"accept": "on"})
    assert {wipe.accepted_by for wipe in wipes_of(newest())} == {None}


def test_the_supervisor_accepts_in_the_same_act(rps, head):
    rps.post(NEW, head | GOOD | {"accept": "on"})
    assert None not in {wipe.accepted_by for wipe in wipes_of(newest())}


def test_a_double_click_records_once(rps, head):
    first, second = (rps.post(NEW, head | GOOD) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert sessions() == 1


def test_a_form_that_was_overtaken_is_told_what_happened(rps, head, site, counter, sources):
    seen = last_seq(site)
    factories.count_session(
        counter, [sources[2]], ON, by=staff(site, Role.TECHNICIAN), act={"accepted": False}
    )
    page = Page(rps.post(NEW, head | GOOD | {"seen": str(seen)}))
    assert "Meanwhile somebody else recorded about the same" in page.text
    assert sessions() == 1


def test_a_leak_is_recorded_and_its_follow_up_is_on_the_page(technician, head, sources):
    page = Page(technician.post(NEW, head | rows(("K-1", "90000")), follow=True))
    assert FollowUp.objects.still_open().get().item == sources[2]
    assert "Keep people away, do not handle" in page.text
    assert "See the follow-up" in page.text


# ---------------------------------------------------------------- bad entries

BAD_ROWS: dict[str, tuple[Any, str]] = {
    "an unknown name": (("K-9", "402"), "Nothing here is called “K-9”"),
    "no name": (("", "402"), "Say which gauge or source"),
    "no count": (("K-1", ""), "No count yet"),
    "text as counts": (("K-1", "many"), "not a count"),
    "a thousands comma": (("K-1", "5,000"), "not a count"),
    "times that do not fit": (("K-1", "431 + 425", {"seconds": "600"}), "do not fit"),
    "no time at all": (("K-1", "431", {"seconds": "0"}), "above 0"),
    "wiped in the future": (("K-1", "431", {"wiped_on": "2026-03-03"}), "future"),
    "wiped after it was counted": (("K-1", "431", {"wiped_on": "2026-02-21"}), "before it was"),
    "wiped before everything": (("K-1", "431", {"wiped_on": "1999-01-01"}), "earlier than"),
    "an empty gauge": (("G-9", "402"), "There was no source in G-9"),
    "a remark too long": (("K-1", "431", {"remark": "x" * 1001}), "at most 1000"),
}


@pytest.mark.parametrize("bad", BAD_ROWS)
def test_a_bad_row_is_one_sentence_at_the_row_and_nothing_is_saved(rps, site, head, bad):
    factories.make_gauge(site, "G-9")
    cells, said = BAD_ROWS[bad]
    before = rows_of_every_table()
    response = rps.post(NEW, head | rows(("K-2", "402"), cells))
    faults = response.context["row_faults"]
    assert [number for number, _text in faults] == [2], faults
    assert said in faults[0][1]
    page = Page(response)
    assert page.faults == []
    assert page.text.count(faults[0][1]) == 2  # at the head of the page and at the row
    assert rows_of_every_table() == before


def test_what_is_found_only_when_it_is_written_is_said_at_its_row_too(rps, head, monkeypatch):
    def refuse(**_given: Any) -> None:
        error = DomainError("not_a_source", {"item": "K-2"}, field="sources")
        error.number = 1
        raise error

    monkeypatch.setattr("surveys.sessions.views.record_session", refuse)
    response = rps.post(NEW, head | rows(("", ""), ("K-1", "402"), ("K-2", "398")))
    assert response.context["row_faults"] == [(3, "K-2 is not a source.")]


def test_two_things_of_one_name_are_asked_for_by_code(rps, head, site):
    twin = factories.make_source(site, serial="K-1")
    response = rps.post(NEW, head | GOOD)
    assert twin.code in dict(response.context["row_faults"])[2]
    assert rps.post(NEW, head | rows((twin.code, "402"))).status_code == 302


BAD_HEADS: dict[str, tuple[dict[str, str], str]] = {
    "no counter": ({"counter": ""}, "counter"),
    "no background": ({"background_counts": "", "background_seconds": ""}, "background_counts"),
    "a background without time": ({"background_seconds": ""}, "background_seconds"),
    "counted in the future": ({"counted_on": "2026-03-03"}, "counted_on"),
    "nobody who counted": ({"counted_by": " "}, "counted_by"),
    "a check source without a name": (
        {"check_counts": "60000", "check_seconds": "60"},
        "check_source",
    ),
    "a check source that is none": (
        {"check_source": "nobody", "check_counts": "60000", "check_seconds": "60"},
        "check_source",
    ),
    "two times for every wipe": ({"seconds": "600 + 600"}, "seconds"),
}


@pytest.mark.parametrize("bad", BAD_HEADS)
def test_a_bad_head_is_one_sentence_at_its_field_and_nothing_is_saved(rps, head, bad):
    change, field = BAD_HEADS[bad]
    before = rows_of_every_table()
    response = rps.post(NEW, head | rows(("K-1", "402", {"seconds": "600"})) | change)
    assert response.status_code == 200
    assert list(response.context["form"].errors) == [field]
    assert rows_of_every_table() == before


def test_a_check_source_of_the_last_session_without_a_count_is_no_check(rps, head):
    rps.post(NEW, head | GOOD | {"check_source": "K-3", "check_seconds": "60"})
    assert read_body(newest())["detail"]["check"] is None


def test_a_session_without_wipes_is_refused(rps, head):
    before = rows_of_every_table()
    page = Page(rps.post(NEW, head))
    assert "Write at least one wipe with its count" in page.text
    assert rows_of_every_table() == before


def test_a_source_of_another_site_is_not_known_here(rps, head):
    foreign = factories.make_source(factories.make_site("elsewhere"), serial="F-1")
    for name in ("F-1", foreign.code):
        response = rps.post(NEW, head | rows((name, "402")))
        assert "Nothing here is called" in dict(response.context["row_faults"])[1]


def test_the_same_source_in_two_rows_is_pointed_out_and_not_refused(rps, head):
    twice = head | rows(("K-1", "402"), ("K-1", "398"))
    assert "stands in row 1 too" in Page(rps.post(NEW, twice | {"do": "preview"})).text
    assert rps.post(NEW, twice).status_code == 302


# ---------------------------------------------------------------- the grid


def grid(response: Any) -> list[tuple[str, str, str]]:
    names = ("what", "gross", "seconds")
    return [
        tuple(str(row[name].value() or "") for name in names)
        for row, _result in response.context["rows"]
    ]


def test_more_rows_keep_what_was_written(rps, head):
    response = rps.post(NEW, head | GOOD | {"do": "more"})
    assert len(grid(response)) == 16
    assert grid(response)[0] == ("LG-402", "431 + 425", "")
    assert response.context["form"]["background_counts"].value() == "389"


def test_a_pasted_column_of_counts_fills_the_rows_from_the_first_one_down(rps, head):
    sent = head | rows(("K-1", ""), ("K-2", "")) | {"do": "paste", "paste": "402\r\n398\r\n391\r\n"}
    assert grid(rps.post(NEW, sent))[:3] == [
        ("K-1", "402", ""),
        ("K-2", "398", ""),
        ("", "391", ""),
    ]


def test_pasted_columns_bring_names_and_times(rps, head):
    sent = head | {"do": "paste", "paste": "K-1\t402\t600\n\nK-2\t398"}
    assert grid(rps.post(NEW, sent))[:3] == [
        ("K-1", "402", "600"),
        ("", "", ""),
        ("K-2", "398", ""),
    ]


def test_more_lines_than_rows_make_rows_up_to_what_a_session_holds(rps, head):
    sent = head | {"do": "paste", "paste": "\n".join(str(n) for n in range(1, 200))}
    assert len(grid(rps.post(NEW, sent))) == 60


def test_what_is_ticked_gets_a_row_once(rps, head):
    sent = head | rows(("K-1", "402")) | {"do": "fill", "due": ["LG-402", "k-1", "K-2"]}
    assert [what for what, *_ in grid(rps.post(NEW, sent))[:4]] == ["K-1", "LG-402", "K-2", ""]


def test_rows_without_a_count_are_removed_on_request(rps, head):
    sent = head | rows(("K-1", ""), ("K-2", "398")) | {"do": "clear"}
    assert grid(rps.post(NEW, sent))[:2] == [("K-2", "398", ""), ("", "", "")]


def test_what_is_due_is_offered_gauge_for_gauge_by_place(rps, sources):
    groups = rps.get(NEW).context["offer"].groups
    names = sorted(pick.name for _place, picks in groups for pick in picks)
    assert names == ["K-1", "K-2", "K-3", "LG-402"]


def test_the_address_may_name_what_is_wiped(rps, sources, gauge):
    response = rps.get(f"{NEW}?what={gauge.code}&what={sources[2].code}&what=22222222")
    assert [what for what, *_ in grid(response)[:3]] == ["LG-402", "K-1", ""]


def test_the_next_session_starts_as_the_last_one_was(rps, head, counter):
    rps.post(
        NEW,
        head | GOOD | {"check_source": "K-3", "check_counts": "60000", "check_seconds": "60"},
    )
    form = rps.get(NEW).context["form"]
    names = ("counter", "check_source", "check_seconds", "seconds", "background_seconds")
    assert [form[name].value() for name in names] == [counter.code, "K-3", "60", "600", "600"]
    assert not form["background_counts"].value()


# ---------------------------------------------------------------- the recorded session


def test_the_supervisor_accepts_what_waits_and_is_told_what_stays(rps, technician, head):
    technician.post(NEW, head | GOOD)
    session = newest()
    url = reverse("session-accept", args=["thornmere", session.seq])
    page = Page(rps.get(url))
    numbers = [one["value"] for one in page.all("input") if one.get("name") == "wipe"]
    assert numbers == [str(wipe.seq) for wipe in wipes_of(session)]
    done = Page(rps.post(url, {"wipe": numbers}, follow=True))
    assert "2 wipes are accepted." in done.text
    assert url not in done.links()


def test_a_session_that_is_another_kind_of_record_does_not_exist(rps, counter, sources):
    wipe = factories.record_wipe(sources[0], counter, ON)
    for name in ("session", "session-accept"):
        assert rps.get(reverse(name, args=["thornmere", wipe.seq])).status_code == 404


def test_a_wipe_and_its_session_lead_to_each_other(rps, counter, sources):
    session = factories.count_session(counter, sources[2:], ON)
    wipe = wipes_of(session)[0]
    at = [
        reverse(n, args=["thornmere", r.seq]) for n, r in (("session", session), ("record", wipe))
    ]
    assert at[1] in Page(rps.get(at[0])).links()
    assert at[0] in Page(rps.get(at[1])).links()


def test_the_counter_tells_of_its_sessions(rps, counter, sources):
    factories.count_session(counter, sources[2:], ON)
    page = Page(rps.get(reverse("item", args=["thornmere", counter.code])))
    assert "3 wipes counted." in page.text


# ---------------------------------------------------------------- recounts


@pytest.fixture
def counted(counter, sources):
    return wipes_of(factories.count_session(counter, [(sources[2], 90_000)], ON))[0]


def recount_of(record: Record) -> str:
    return reverse("record-correct", args=["thornmere", record.seq]) + "?recount=1"


def recounted(rps: Any, record: Record, **change: str) -> Any:
    form = rps.get(recount_of(record)).context["form"]
    names = [one.name for one in form if one.value() not in (None, "", False)]
    sent = {name: form[name].value() for name in names} | change
    return rps.post(recount_of(record), {**sent, "do": "record", "seen": "9999"})


def test_a_recount_starts_with_the_earlier_counts(rps, counted):
    form = rps.get(recount_of(counted)).context["form"]
    assert form["gross_counts"].value() == "90000 + "
    assert form["gross_seconds"].value() == "600 + "


def test_a_recount_is_pooled_and_replaces_with_its_reason(rps, counted):
    recounted(rps, counted, gross_counts="90000 + 431", gross_seconds="600 + 600")
    newer = Record.objects.get(replaces=counted)
    assert read_body(newer)["detail"]["gross"] == [["90000", "600.0"], ["431", "600.0"]]
    assert newer.effective_on == counted.effective_on
    assert "pooled" in newer.reason


def test_a_later_low_count_never_closes_the_follow_up(rps, counted):
    recounted(rps, counted, gross_counts="90000 + 431", gross_seconds="600 + 600")
    assert FollowUp.objects.still_open().filter(opened_by=counted).exists()


BAD_RECOUNTS = {
    "the earlier count left out": ({"gross_counts": "431", "gross_seconds": "600"}, "gross_counts"),
    "nothing new": ({"gross_counts": "90000", "gross_seconds": "600"}, "gross_counts"),
    "the earlier time changed": (
        {"gross_counts": "90000 + 431", "gross_seconds": "900 + 600"},
        "gross_counts",
    ),
    "the plus sign left open": ({}, "gross_counts"),
}


@pytest.mark.parametrize("bad", BAD_RECOUNTS)
def test_a_recount_leaves_no_count_out(rps, counted, bad):
    change, field = BAD_RECOUNTS[bad]
    response = recounted(rps, counted, **change)
    assert field in response.context["form"].errors
    assert not Record.objects.filter(replaces=counted).exists()


def test_a_count_on_another_counter_is_judged_apart(rps, site, counted):
    other = factories.make_monitor(site)
    change = {"gross_counts": "90000 + 431", "gross_seconds": "600 + 600"}
    response = recounted(rps, counted, counter=other.code, **change)
    assert "judged apart" in response.context["form"].errors["counter"][0]


def test_a_count_that_is_not_relied_on_stays_out_of_the_sum_with_the_reason(rps, site, sources):
    late = factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    old = wipes_of(factories.count_session(late, [sources[2]], ON))[0]
    form = rps.get(recount_of(old)).context["form"]
    assert form["gross_counts"].value() == ""
    assert "calibration was late" in form["because"].value()


def test_only_a_wipe_counted_here_is_counted_again(rps, counter, sources, counted):
    for record, offered in ((counted, True), (counter.mentions.first().record, False)):
        page = Page(rps.get(reverse("record", args=["thornmere", record.seq])))
        assert any("recount=1" in link for link in page.links()) is offered
    assert Record.objects.filter(kind=LEAK_TEST_KIND).count() == 1


# ---------------------------------------------------------------- can this counter do it?

COUNTERS = "/thornmere/counters/"


def answers(response: Any) -> dict[str, dict[str, str]]:
    return {
        counter["label"]: {row["nuclide"]: row["answer"] for row in counter["rows"]}
        for counter in response.context["counters"]
    }


def test_every_counter_is_told_for_every_nuclide_on_site(rps, site, counter, sources):
    for nuclide in ("Kr-85", "Ni-63"):
        factories.make_source(site, nuclide=nuclide)
    factories.make_monitor(site, tag="DR-1", monitor_kind="dose_rate")
    factories.record_wipe(sources[0], counter, ON)
    found = answers(rps.get(COUNTERS))
    assert list(found) == [counter.label]
    said = found[counter.label]
    assert list(said) == ["Cs-137", "Kr-85", "Ni-63"]
    assert "within" not in said["Cs-137"]
    assert said["Cs-137"].startswith("Yes")
    assert "a gas does not stay on a wipe" in said["Kr-85"]
    assert "no efficiency for this nuclide" in said["Ni-63"]


def test_a_counter_that_never_counted_asks_for_its_background(rps, counter, sources):
    response = rps.get(COUNTERS)
    assert response.context["asked"] == [counter.label]
    assert answers(response)[counter.label]["Cs-137"].startswith("Not known")
    given = rps.get(f"{COUNTERS}?{counter.code}=0.65")
    assert answers(given)[counter.label]["Cs-137"].startswith("Yes")


@pytest.mark.parametrize("rate", ["-1", "x", "nan", "inf", ""])
def test_a_rate_that_is_none_changes_nothing(rps, counter, sources, rate):
    response = rps.get(f"{COUNTERS}?{counter.code}={rate}")
    assert answers(response)[counter.label]["Cs-137"].startswith("Not known")


def test_a_counter_out_of_calibration_is_told_with_what_that_means(rps, site, sources):
    factories.make_monitor(site, calibrated_on=date(2022, 1, 1))
    page = Page(rps.get(COUNTERS))
    assert "is not relied on: the counter's calibration was late" in page.text
    assert page.faults == []


def test_an_unknown_background_or_an_empty_site_is_no_fault(bare):
    rps = browser(factories.rps_of(bare))
    assert "No wipe counter" in Page(rps.get(reverse("counters", args=["bare"]))).text
