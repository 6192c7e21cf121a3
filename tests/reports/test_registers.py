"""What each register says of one case at a time; any day is in ``test_registers_by_hand``."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from config.accounts.models import Role
from inventory.calc.asof import AsOf
from inventory.calc.due import Schedule
from inventory.calc.units import format_activity
from inventory.ledger.models import ItemKind
from inventory.rules.load import template
from reports.registers import leak
from reports.registers.base import Register, cells
from reports.registers.csv_out import to_csv
from reports.registers.kinds import KINDS, build
from surveys.awaited.sending import Parcel, Taken, send_wipes
from surveys.calc.leak import Reported
from surveys.laboratories.actions import laboratory_snapshot
from surveys.leak.actions import DeclaredBy, FromLaboratory, Wipe, accept_leak_test
from surveys.leak.actions import record_leak_test as record
from tests import factories
from tests.pages import NOW, TODAY, Page, browser, staff, stop_clock

WIPED = date(2025, 11, 3)
LOUD = [(90_000, 600.0)]


@pytest.fixture
def rps(site):
    return factories.rps_of(site)


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, to=factories.make_location(site, "Hall"), serial="K-1")


def made(site: Any, kind: str, on: date = TODAY, **scope: Any) -> Register:
    by = factories.rps_of(site)
    return build(KINDS[kind], site, AsOf(on), by=by, made_at=NOW, **scope)


def files(register: Register) -> list[dict[str, str]]:
    """The rows as programs get them."""
    return list(csv.DictReader(io.StringIO(to_csv(register).decode("utf-8-sig"))))


def read(register: Register) -> list[dict[str, Any]]:
    """The rows as people see them, by the heads of their columns."""
    heads = [column.head for column in register.columns_for("people")]
    rows = [register.cells_for("people", row) for row in cells(register)]
    return [dict(zip(heads, row, strict=True)) for row in rows]


# ---------------------------------------------------------------- leak tests


def test_a_wipe_is_told_with_its_figures_and_all_that_they_rest_on(site, source, counter):
    wiped = factories.record_wipe(source, counter, WIPED)
    calibration = counter.used_in.get(kind="calibration")
    (row,) = read(made(site, "leak"))
    assert row["Record"].text == str(wiped.seq)
    assert row["Source, and where it was"].text == "Cs-137 K-1\nHall"
    way, figures, able = row["Result"].text.splitlines()
    assert way == "counted here"
    assert figures.endswith("(k\u00a0=\u00a01)") and "±" in figures
    assert able.startswith("decision threshold ") and ", detection limit " in able
    assert row["Limit"].text == "200\u00a0Bq\nreaching the limit fails"
    assert row["Verdict"].text.startswith("Passes: not detected")
    assert row["Verdict"].state == "pass" and row["Verdict"].shape == "✓"
    assert row["Counter and calibration"].text == (
        f"WC-1\ncalibrated on 1 Sep 2025 (record\u00a0{calibration.seq})"
    )
    (line,) = files(made(site, "leak"))
    assert float(line["Limit (Bq)"]) == 200
    assert figures.startswith(format_activity(float(line["Activity on the wipe (Bq)"])))


@pytest.mark.parametrize(
    ("act", "relied", "state"),
    [
        ({"by": "rps"}, "yes", "pass"),
        ({"by": "technician"}, "no: entered, not accepted", "not_relied_on"),
        ({"gross": LOUD}, "acts at once", "fail"),
        ({"on": date(2027, 1, 4)}, "no: the counter's calibration was late", "not_relied_on"),
    ],
)
def test_no_tick_stands_before_what_is_not_relied_on(site, source, counter, act, relied, state):
    on = act.get("on", WIPED)
    by = staff(site, Role.TECHNICIAN) if act.get("by") == "technician" else None
    extra = {"gross": act["gross"]} if "gross" in act else {}
    moment = {"at": NOW + timedelta(400)} if on > TODAY else {}
    factories.record_wipe(
        *(source, counter, on), by=by, act={"accepted": by is None, **moment}, **extra
    )
    (row,) = read(made(site, "leak", date(2027, 2, 1)))
    assert row["Relied on"].text.splitlines()[0] == relied
    assert row["Verdict"].state == state


def test_a_wipe_that_was_corrected_stays_and_says_by_which(site, source, counter, rps):
    old = factories.record_wipe(source, counter, WIPED, gross=LOUD)
    wipe = factories.make_wipe(source, counter, WIPED)
    new = record(
        **{"site": site, "by": rps, "at": factories.tick(), "wipe": wipe, "accepted": True},
        **{"replaces": old, "because": "misread"},
    )
    before, after = read(made(site, "leak"))
    assert before["Relied on"].text.startswith(f"no: corrected by record {new.seq}")
    assert before["Verdict"].state == "not_relied_on"
    assert after["Relied on"].text.startswith("yes")
    (note,) = made(site, "leak").notes
    assert f"Record {new.seq} corrects record {old.seq}: misread." in note.text
    assert after["Record"].mark == note.mark


def test_a_declared_pass_counts_once_somebody_accepted_it_by_name(site, source, rps):
    wipe = Wipe([source], WIPED, DeclaredBy(True, "the maker's engineer"))
    entered = record(site=site, by=rps, at=factories.tick(), wipe=wipe)
    (row,) = read(made(site, "leak"))
    assert (row["Verdict"].state, row["Relied on"].text) == (
        *("inconclusive", "no: entered, not accepted"),
    )
    accepted = accept_leak_test(entered, by=rps, at=factories.tick(), reason="seen on paper")
    (row,) = read(made(site, "leak"))
    assert row["Verdict"].state == "pass"
    assert row["Relied on"].text.startswith("yes\naccepted by ")
    (line,) = files(made(site, "leak"))
    assert line["Accepted on"] == accepted.effective_on.isoformat()
    assert line["Declared by"] == "the maker's engineer"


def test_a_laboratory_is_told_with_its_report_and_what_it_stated(site, source, rps):
    result = FromLaboratory(
        **{"laboratory": "Invented Laboratory", "figures": Reported(less_than_bq=5.0)},
        **{"stated": {"less_than": "< 5 Bq"}, "reported_on": date(2025, 11, 20), "report": "R-7"},
    )
    wipe = Wipe([source], WIPED, result, sampled_by="B. Sampler")
    record(site=site, by=rps, at=factories.tick(), wipe=wipe, accepted=True)
    (row,) = read(made(site, "leak"))
    assert row["Result"].text.splitlines()[1] == "Less than, as reported: < 5 Bq"
    said = row["Sampled, counted, reported"].text.splitlines()
    assert said[0] == "sampled by B. Sampler"
    assert said[1] == "reported by Invented Laboratory on 20 Nov 2025"
    assert said[2] == "report R-7"


def test_a_wipe_away_at_a_laboratory_is_awaited_until_its_result_comes(site, source, rps):
    laboratory = factories.make_item(
        *(site, ItemKind.LABORATORY, laboratory_snapshot("Invented Laboratory"), WIPED)
    )
    parcel = Parcel(laboratory, date(2025, 11, 5), date(2025, 12, 1))
    send_wipes(site, parcel, [Taken([source], WIPED, "B. Sampler")], by=rps, at=factories.tick())
    (row,) = read(made(site, "leak", date(2025, 11, 10)))
    assert row["Verdict"].text == (
        "Result awaited: sent to Invented Laboratory on 5 Nov 2025, to be chased on 1 Dec 2025."
    )
    assert (row["Verdict"].state, row["Verdict"].shape) == ("awaited", "◆")
    assert "result awaited 1" in made(site, "leak").totals[1]


def test_it_can_begin_on_a_day(site, source, counter):
    for on in (date(2025, 9, 10), WIPED):
        factories.record_wipe(source, counter, on)
    register = made(site, "leak", since=WIPED)
    assert [row["Wiped"] for row in files(register)] == ["2025-11-03"]
    assert "thornmere-leak-20251103-20260302-" in register.number
    assert "from 3 Nov 2025 on" in register.totals[0]


def test_a_schedule_that_states_another_unit_has_it_beside_the_becquerel(site, source, counter):
    rules = template("gb", 1)
    limit = SimpleNamespace(unit="uCi")
    schedule = Schedule(WIPED, replace(rules, leak_limit=limit))
    assert leak.wanted_unit(schedule) == "uCi"
    assert leak.wanted_unit(Schedule(WIPED, rules)) == leak.wanted_unit(None) == "Bq"
    factories.record_wipe(source, counter, WIPED)
    register = replace(made(site, "leak"), columns=leak.layout("uCi"))
    (line,), (row,) = files(register), read(register)
    # 1 uCi is 3.7e4 Bq, exactly
    assert float(line["Limit (µCi)"]) == pytest.approx(200 / 3.7e4, rel=1e-12)
    assert row["Limit"].text.startswith("200\u00a0Bq (0.00541\u00a0µCi)")


# ---------------------------------------------------------------- monitors


def test_a_monitor_that_failed_keeps_the_efficiencies_of_the_record_before(site, counter):
    good = counter.used_in.get(kind="calibration")
    failed = factories.calibrate(counter, date(2025, 12, 1), passed=False, efficiencies=())
    (row,) = read(made(site, "monitor"))
    assert row["Last calibration"].text == f"1 Dec 2025: fails (record\u00a0{failed.seq})"
    assert row["Efficiencies in force"].text.startswith(f"from record {good.seq}:\nCs-137: 0.31 ")
    assert (row["Calibration"].state, row["Calibration"].shape) == ("failed", "×")


def test_a_monitor_without_any_calibration_says_so(bare):
    factories.make_monitor(bare, tag="CM-7", calibrated_on=None, monitor_kind="dose_rate")
    (row,) = read(made(bare, "monitor"))
    assert row["Kind"].text == "dose-rate monitor"
    assert row["Last calibration"].text == "none recorded"
    assert row["Efficiencies in force"].text == "none: no calibration holds"
    assert row["Calibration"].text == "never done"


# ---------------------------------------------------------------- overdue and open


def test_what_is_good_is_not_listed_and_every_clause_is_named_once(site, source, counter):
    factories.record_wipe(source, counter, WIPED)
    for serial in ("K-2", "K-3"):
        factories.make_source(site, serial=serial)
    register = made(site, "due")
    assert [row["What, and where"].text.splitlines()[0] for row in read(register)] == [
        *("Cs-137 K-2", "Cs-137 K-3"),
    ]
    (note,) = register.notes
    assert note.text.startswith("Clause “ACOP to reg 28(3)”: Ionising Radiations Regulations 2017")
    assert "not checked against the current text" in note.text


def test_an_open_follow_up_and_an_open_point_have_lines_of_their_own(site, source, counter):
    factories.record_wipe(source, counter, WIPED, gross=LOUD)
    factories.make_source(site, serial="", serial_unknown_because="plate unreadable")
    rows = read(made(site, "due"))
    assert [row["To be done"].text for row in rows] == [
        *("leak test", "leak test", "follow-up", "open point"),
    ]
    assert rows[2]["State"].text == "open since 3 Nov 2025"
    assert "plate unreadable" in rows[3]["Why, and by which clause"].text
    assert rows[3]["State"].shape == ""


def test_what_became_known_later_is_told_even_of_what_is_not_listed(site, source, counter):
    entered = factories.record_wipe(source, counter, WIPED)
    register = made(site, "due", WIPED)
    assert read(register) == []
    assert any(f"record {entered.seq} " in note.text for note in register.notes)
    of_things = [note.text for note in register.notes if not note.text.startswith("Schedule.")]
    assert of_things and all("nothing is open" in text for text in of_things)


def test_the_register_of_sources_says_of_what_nobody_found_that_it_may_not_be_there(site, source):
    check = factories.record_check(source, "accounting_check", WIPED, "fail")
    said = f"accounting check of 3 Nov 2025 (record {check.seq}) did not find it."
    for day, stands in ((date(2025, 11, 2), False), (WIPED, True), (TODAY, True)):
        register = made(site, "source", day)
        assert (said in " ".join(note.text for note in register.notes)) is stands
    assert files(made(site, "source"))[0]["Where"] == "Hall; not found on 3 Nov 2025"
    assert any(said in " ".join(row.values()) for row in files(made(site, "due")))


# ---------------------------------------------------------------- pages and files


@pytest.fixture
def client(site, monkeypatch):
    stop_clock(monkeypatch)
    return browser(factories.rps_of(site))


def test_the_page_of_registers_leads_to_each_of_them(client, source):
    links = Page(client.get("/thornmere/registers/")).links()
    for kind in KINDS:
        assert f"/thornmere/registers/{kind}/" in links
        for ending in ("pdf", "pdf?paper=Letter", "csv", "xlsx"):
            assert f"/thornmere/registers/{kind}.{ending}" in links


@pytest.mark.parametrize("address", ["other/", "other.csv", "source.docx", "source.PDF"])
def test_what_is_no_register_is_not_found(client, address):
    assert client.get(f"/thornmere/registers/{address}").status_code == 404


def test_a_phone_reads_the_head_of_every_cell(client, source):
    page = Page(client.get("/thornmere/registers/source/"))
    heads = {attrs["data-label"] for attrs in (*page.all("td"), *page.all("th"))
             if "data-label" in attrs}  # fmt: skip
    assert {"Code", "Where", "Leak test"} <= heads


def test_a_range_that_runs_backwards_is_refused(client, source):
    query = "?since=2026-02-02&on=2026-02-01"
    answer = client.get(f"/thornmere/registers/leak.csv{query}")
    assert answer.status_code == 400
    assert "The first day lies after the last one." in answer.content.decode()
    page = Page(client.get(f"/thornmere/registers/leak/{query}"))
    assert "The first day lies after the last one." in page.text
    assert not [link for link in page.links() if ".csv" in link]


def test_letter_paper_can_be_asked_for(client, source, monkeypatch):
    asked = []
    monkeypatch.setattr("reports.pdf.render", lambda register, paper: asked.append(paper) or b"%")
    for query in ("", "?paper=Letter", "?paper=letter", "?paper=A3"):
        assert client.get(f"/thornmere/registers/due.pdf{query}").status_code == 200
    assert asked == ["A4", "Letter", "Letter", "A4"]


# ---------------------------------------------------------------- the command


@pytest.fixture
def command(site, source, counter, monkeypatch, tmp_path):
    """``manage.py register`` of the site, and what it has written."""
    stop_clock(monkeypatch)
    for on in (date(2025, 9, 10), WIPED):
        factories.record_wipe(source, counter, on)

    def call(kind: str, ending: str, *options: str) -> Any:
        path = tmp_path / f"{kind}{ending}"
        out = io.StringIO()
        arguments = ("--site", "thornmere", "--output", str(path), *options)
        call_command("register", kind, *arguments, stdout=out)
        assert str(path) in out.getvalue()
        return path.read_bytes()

    return call


@pytest.mark.parametrize("kind", ["source", "leak", "monitor", "due"])
def test_the_command_writes_every_kind_in_every_form(command, kind, monkeypatch):
    papers = []
    monkeypatch.setattr("reports.pdf.render", lambda register, paper: papers.append(paper) or b"%")
    assert command(kind, ".csv").startswith(b"\xef\xbb\xbf")
    assert command(kind, ".xlsx").startswith(b"PK")
    for paper in ("a4", "letter", "Letter", "A4"):
        command(kind, ".pdf", "--paper", paper)
    assert papers == ["A4", "Letter", "Letter", "A4"]


def test_the_command_takes_a_first_day_where_a_register_has_one(command):
    assert command("leak", ".csv", "--from", "2025-11-03").count(b"\r\n") == 2
    assert command("leak", ".csv").count(b"\r\n") == 3
    with pytest.raises(CommandError, match="is of one day"):
        command("source", ".csv", "--from", "2025-11-03")
    with pytest.raises(CommandError, match="lies after the last one"):
        command("leak", ".csv", "--from", "2025-11-03", "--on", "2025-11-02")
