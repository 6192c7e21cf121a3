"""Loading a file from its bytes to the register, and the command that does it."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from config.accounts.models import Role
from inventory import derive
from inventory.calc.asof import AsOf
from inventory.ledger.models import Item, Record
from inventory.ledger.verify import check_everything
from inventory.ledger.write import Overtaken
from reports.exchange.in_words import why_not
from reports.exchange.load import Outcome, load
from reports.exchange.page.say import each
from reports.exchange.understood import Decisions, LoadFault
from reports.registers import source as source_register
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import NOW, TODAY, stop_clock

pytestmark = pytest.mark.django_db
FIXTURES = Path(__file__).parents[2] / "fixtures"
SAMPLE = FIXTURES / "sources-sample.csv"
TEMPLATE = FIXTURES / "sources-template.csv"
COLUMNS = TEMPLATE.read_text(encoding="utf-8-sig").strip().split(",")
GOOD = {
    **{"nuclide": "Cs-137", "activity": "3.7 GBq", "reference_date": "2020-11-01"},
    **{"maker": "Maker", "model": "M1", "serial": "L-1", "location": "Tank house"},
    **{"gauge": "LG-1", "received_on": "2021-03-01"},
    **{"last_wipe_on": "2025-11-03", "last_wipe_result": "< 5 Bq", "last_wipe_by": "Laboratory"},
}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def take(site, tmp_path):
    """Loads bytes as a file of this name."""

    def taken(content: bytes, name: str = "list.csv", **options: Any) -> Outcome:
        path = tmp_path / name
        path.write_bytes(content)
        decided = {key: options.pop(key) for key in ("answers", "cells") if key in options}
        by = options.pop("by", None) or factories.rps_of(site)
        return load(site, path, Decisions(**decided), by=by, at=NOW, **options)

    return taken


def sheet(*rows: dict[str, str], heads: Any = COLUMNS) -> bytes:
    out = io.StringIO()
    writer = csv.DictWriter(out, heads, restval="", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def counts(outcome: Outcome) -> tuple[int, int, int]:
    """Sources added, rows that were here already, wipes added."""
    of = outcome.plan.counts
    return (of["sources"], of["here"], of["wipes"])


def sources(site: Any) -> int:
    return Item.objects.filter(site=site, kind="source").count()


# ---------------------------------------------------------------- what goes in


def test_the_sample_adds_its_six_sources_with_their_open_points(site, take):
    assert counts(take(SAMPLE.read_bytes())) == (6, 0, 4)
    register = source_register.build(site, AsOf(TODAY), made_by=factories.rps_of(site), made_at=NOW)
    said = " ".join(note.text for note in register.notes)
    for words in (
        *("plate unreadable; housing OH-12", "The activity is not known", "(“May 2016”)"),
        *("(“2015”)", "waits to be accepted", "The day of arrival is not known"),
    ):
        assert words in said
    assert len(register.rows) == 6


def test_the_sample_leaves_the_records_whole(take):
    take(SAMPLE.read_bytes())
    assert list(check_everything()) == []
    assert list(derive.rebuild(write=False)) == []


def test_loading_again_changes_nothing(take):
    take(SAMPLE.read_bytes())
    before = rows_of_every_table()
    again = take(SAMPLE.read_bytes())
    assert (counts(again), again.loaded.seq) == ((0, 6, 0), None)
    assert rows_of_every_table() == before


def test_checking_says_what_would_be_and_writes_nothing(take):
    before = rows_of_every_table()
    looked = take(SAMPLE.read_bytes(), check=True)
    assert (counts(looked), looked.loaded) == ((6, 0, 4), None)
    assert rows_of_every_table() == before


def test_every_head_of_the_template_is_read(take):
    looked = take(sheet(GOOD | {"last_wipe_uncertainty": "1 Bq", "remark": "r"}), check=True)
    (read,) = looked.plan.understood.sheets
    assert [column.head for column in read.columns if not column.field] == []


def test_a_serial_that_is_here_already_is_the_same_source(site, take):
    """Known by maker, model, serial and nuclide, however they are written."""
    place = factories.make_location(site, "Tank house")
    gauge = factories.make_gauge(site, "LG-1", at=place)
    factories.make_source(site, maker="Maker", model="M1", serial="L-1", to=gauge)
    bare = {"last_wipe_on": "", "last_wipe_result": "", "last_wipe_by": ""}
    assert counts(take(sheet(GOOD | bare | {"serial": " l-1 ", "maker": "MAKER"}))) == (0, 1, 0)


def test_columns_in_another_order_and_more_of_them_are_read(take):
    content = sheet(GOOD | {"colour": "grey"}, heads=["colour", *reversed(COLUMNS)])
    assert counts(take(content))[0] == 1


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_byte_order_mark_and_every_end_of_line_are_read(take, end):
    text = SAMPLE.read_text(encoding="utf-8").replace("\r\n", "\n").replace("\n", end)
    assert counts(take(text.encode("utf-8-sig")))[0] == 6


def test_a_wipe_proves_that_the_source_was_here_by_then(take):
    take(sheet(GOOD | {"received_on": ""}))
    received = Record.objects.get(kind="received", about__item__kind="source")
    assert received.effective_on == date(2025, 11, 3)


def test_a_bare_passed_is_entered_and_figures_are_accepted(take):
    take(sheet(GOOD, GOOD | {"serial": "L-2", "last_wipe_result": "passed"}))
    wipes = Record.objects.filter(kind="leak_test").order_by("seq")
    assert [wipe.accepted_by is not None for wipe in wipes] == [True, False]


def test_a_row_is_put_right_in_place(take):
    content = sheet(GOOD | {"nuclide": "Cs-173"})
    assert not take(content).plan.ready
    assert take(content, cells={"list!A2": "Cs-137"}).loaded.seq


# ---------------------------------------------------------------- what does not

FILES: dict[str, bytes] = {
    "a PDF": b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n",
    "half a spreadsheet": b"PK\x03\x04\x14\x00\x06\x00",
    "an old spreadsheet": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
    "nothing": b"",
    "a blank line": b"\n",
    "other heads": b"a,b\n1,2\n",
}
ROWS: dict[str, tuple[dict[str, str], str]] = {
    "an unknown nuclide": ({"nuclide": "Cs-173"}, "nearest name there is Cs-137"),
    "an activity of two readings": ({"activity": "-1 GBq"}, "-1 GBq"),
    "a day that is none": ({"received_on": "2021-02-30"}, "2021-02-30"),
    "a wipe in the future": ({"last_wipe_on": "2026-03-03"}, "future"),
    "an arrival in the future": ({"received_on": "2026-03-03"}, "future"),
    "a name without end": ({"maker": "x" * 101}, "100"),
}


@pytest.mark.parametrize("what", FILES)
def test_a_bad_file_is_one_sentence_and_nothing_is_saved(take, what):
    before = rows_of_every_table()
    with pytest.raises(LoadFault) as refusal:
        take(FILES[what])
    assert rows_of_every_table() == before
    (sentence,) = each(refusal.value.faults)
    assert "[no sentence" not in sentence
    assert len(sentence) < 400


@pytest.mark.parametrize("what", ROWS)
def test_a_bad_row_is_named_and_no_row_is_saved(take, what):
    change, said = ROWS[what]
    before = rows_of_every_table()
    outcome = take(sheet(GOOD, GOOD | {"serial": "L-2", "gauge": "LG-2"} | change))
    assert outcome.loaded is None
    assert rows_of_every_table() == before
    (sentence,) = why_not(outcome.plan)
    assert sentence.startswith("Row list!3: ")
    assert said in sentence


def test_only_a_supervisor_loads(site, take):
    technician = factories.make_user()
    factories.give_role(technician, site, Role.TECHNICIAN)
    for user in (technician, factories.make_user()):
        with pytest.raises(LoadFault, match="plan_only_rps"):
            take(sheet(GOOD), by=user)


# ---------------------------------------------------------------- the command

DAYS = b"Nuclide,Activity,Ref date,Serial,Location\nCs-137,3.7 GBq,03/04/2005,A-1,Mill\n"


def said(path: Path, *options: str) -> str:
    out = io.StringIO()
    call_command("load", str(path), "--site", "thornmere", *options, stdout=out)
    return out.getvalue()


def refused(path: Path, *options: str) -> str:
    before = rows_of_every_table()
    with pytest.raises(CommandError) as error:
        said(path, *options)
    assert rows_of_every_table() == before
    assert error.value.returncode == 1
    return str(error.value)


@pytest.fixture
def days(site, tmp_path):
    path = tmp_path / "days.csv"
    path.write_bytes(DAYS)
    return path


def test_the_command_says_what_it_did(site):
    assert "6 sources, 5 gauges, 4 places, 4 wipes would be added" in said(SAMPLE, "--check")
    assert sources(site) == 0
    assert "4 wipes added; 0 rows were here already." in said(SAMPLE)
    assert sources(site) == 6
    assert "nothing added; 6 rows were here already." in said(SAMPLE)


def test_the_command_asks_what_is_ambiguous_and_takes_the_answer(days):
    asked = refused(days)
    assert "--answer date_order=dmy" in asked
    assert "days!C2: 03/04/2005" in asked
    assert "1 source, 1 place added" in said(days, "--answer", "date_order=dmy")
    assert Item.objects.get(kind="source").source.reference_on == date(2005, 4, 3)


def test_the_command_leaves_out_and_puts_right(site, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(sheet(GOOD | {"nuclide": "Xx-1"}, GOOD | {"serial": "L-2", "gauge": "G"}))
    assert refused(path).startswith("Nothing was loaded.\nRow list!2: ")
    assert "1 source," in said(path, "--check", "--leave-out", "list!2")
    assert "2 sources," in said(path, "--check", "--set", "list!A2=Cs-137")


def test_the_command_says_what_differs(site, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(sheet(GOOD))
    said(path)
    path.write_bytes(sheet(GOOD | {"activity": "1 GBq", "location": "Mill"}))
    text = said(path, "--check")
    assert "“3.7 GBq” becomes “1 GBq”" in text
    assert "“Tank house” here, “Mill” in the file" in text
    assert "--answer moves=" in text
    assert "goes" not in text


def test_the_command_names_sources_that_the_file_does_not(site):
    factories.make_source(site, serial="K-9")
    assert "In the register but not in this file: Cs-137 K-9" in said(SAMPLE, "--check")


def test_the_command_gives_programs_everything(days, site):
    data = json.loads(said(SAMPLE, "--json", "--check"))
    assert (data["ready"], data["record"], data["counts"]["sources"]) == (True, None, 6)
    assert [row["status"] for row in data["rows"]] == ["new"] * 6
    data = json.loads(said(SAMPLE, "--json"))
    assert data["record"] == Record.objects.get(kind="file_loaded").seq
    out = io.StringIO()
    with pytest.raises(CommandError):
        call_command("load", str(days), "--site", "thornmere", "--json", stdout=out)
    (question,) = json.loads(out.getvalue())["questions"]
    assert (question["key"], question["answer"]) == ("date_order", "")


@pytest.mark.parametrize("option", ["--answer", "--set"])
def test_the_command_needs_a_name_and_a_value(days, option):
    assert "needs NAME=VALUE" in refused(days, option, "dmy")


def test_the_command_names_a_file_that_is_not_there(site, tmp_path):
    assert "cannot be read: No such file" in refused(tmp_path / "none.csv")
    assert "cannot be read" in refused(tmp_path)


def test_the_command_refuses_somebody_else(site):
    factories.make_user("visitor")
    assert "is not radiation protection supervisor" in refused(SAMPLE, "--by", "visitor")


def test_the_command_says_that_others_have_written(site, monkeypatch):
    def overtaken(*args: Any, **kwargs: Any) -> None:
        raise Overtaken(list(Record.objects.filter(site=site)[:1]))

    monkeypatch.setattr("reports.exchange.load.write", overtaken)
    assert "Others have written meanwhile (records 1)." in refused(SAMPLE)
