"""Loading a list of sources: all of it or nothing, and a fault is a sentence about its row."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inventory import derive
from inventory.calc.asof import AsOf
from inventory.ledger.models import Item, Record
from inventory.ledger.verify import check_everything
from reports.exchange.load import LoadFault, load
from reports.exchange.source_rows import COLUMNS
from reports.registers import source as source_register
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import NOW, TODAY, stop_clock

pytestmark = pytest.mark.django_db
FIXTURES = Path(__file__).parents[2] / "fixtures"
SAMPLE = FIXTURES / "sources-sample.csv"
GOOD = {
    **{"nuclide": "Cs-137", "activity": "3.7 GBq", "reference_date": "2020-11-01"},
    **{"maker": "Maker", "model": "M1", "serial": "L-1", "location": "Tank house"},
    **{"gauge": "LG-1", "received_on": "2021-03-01"},
    **{"last_wipe_on": "2025-11-03", "last_wipe_result": "< 5 Bq", "last_wipe_by": "Laboratory"},
}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


def sheet(*rows: dict[str, str], heads: Any = COLUMNS) -> bytes:
    out = io.StringIO()
    writer = csv.DictWriter(out, heads, restval="", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def take(site: Any, content: bytes, **options: Any) -> Any:
    return load(site, content, by=factories.rps_of(site), at=NOW, **options)


def sources(site: Any) -> int:
    return Item.objects.filter(site=site, kind="source").count()


# ---------------------------------------------------------------- what goes in


def test_the_sample_adds_its_six_sources_with_their_open_points(site):
    loaded = take(site, SAMPLE.read_bytes())
    assert (loaded.added, loaded.already_here, loaded.wipes) == (6, 0, 4)
    register = source_register.build(site, AsOf(TODAY), made_by=factories.rps_of(site), made_at=NOW)
    said = " ".join(note.text for note in register.notes)
    for words in (
        *("plate unreadable; housing OH-12", "The activity is not known", "(“May 2016”)"),
        *("(“2015”)", "waits to be accepted", "The day of arrival is not known"),
    ):
        assert words in said
    assert len(register.rows) == 6


def test_the_sample_leaves_the_records_whole(site):
    take(site, SAMPLE.read_bytes())
    assert list(check_everything()) == []
    assert list(derive.rebuild(write=False)) == []


def test_loading_again_changes_nothing(site):
    take(site, SAMPLE.read_bytes())
    before = rows_of_every_table()
    loaded = take(site, SAMPLE.read_bytes())
    assert (loaded.added, loaded.already_here, loaded.wipes) == (0, 6, 0)
    assert rows_of_every_table() == before


def test_a_longer_list_adds_only_what_is_new(site):
    take(site, sheet(GOOD))
    loaded = take(site, sheet(GOOD, GOOD | {"serial": "L-2"}))
    assert (loaded.added, loaded.already_here) == (1, 1)
    assert sources(site) == 2


def test_checking_says_what_would_be_and_writes_nothing(site):
    before = rows_of_every_table()
    assert take(site, SAMPLE.read_bytes(), check=True).added == 6
    assert rows_of_every_table() == before


def test_the_template_has_exactly_the_heads_that_are_read(site):
    heads = (FIXTURES / "sources-template.csv").read_text(encoding="utf-8-sig").strip()
    assert heads.split(",") == list(COLUMNS)


def test_a_serial_that_is_here_already_is_the_same_source(site):
    """Known by maker, model, serial and nuclide, however they are written."""
    factories.make_source(site, maker="Maker", model="M1", serial="L-1")
    bare = {"last_wipe_on": "", "last_wipe_result": "", "last_wipe_uncertainty": ""}
    loaded = take(site, sheet(GOOD | bare | {"serial": " l-1 ", "maker": "MAKER"}))
    assert (loaded.added, loaded.already_here) == (0, 1)
    assert take(site, sheet(GOOD | {"maker": "Another maker"})).added == 1


def test_a_wipe_of_a_source_that_is_here_is_never_passed_over(site):
    """An updated list may know of a leak: it is refused by row, not read as known already."""
    take(site, sheet(GOOD))
    with pytest.raises(LoadFault, match="is here already, but its wipe of"):
        take(site, sheet(GOOD | {"last_wipe_result": "900 Bq", "last_wipe_uncertainty": ""}))


def test_a_gauge_is_not_in_two_places(site):
    rows = (
        GOOD | {"gauge": "G-1"},
        GOOD | {"gauge": "G-1", "serial": "X", "location": "Elsewhere"},
    )
    with pytest.raises(LoadFault, match="was not in Elsewhere"):
        take(site, sheet(*rows))


def test_columns_in_another_order_and_more_of_them_are_read(site):
    content = sheet(GOOD | {"colour": "grey"}, heads=["colour", *reversed(COLUMNS)])
    assert take(site, content).added == 1


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_byte_order_mark_and_every_end_of_line_are_read(site, end):
    text = SAMPLE.read_text(encoding="utf-8").replace("\r\n", "\n").replace("\n", end)
    assert take(site, text.encode("utf-8-sig")).added == 6


def test_a_wipe_proves_that_the_source_was_here_by_then(site):
    take(site, sheet(GOOD | {"received_on": ""}))
    received = Record.objects.get(kind="received", about__item__kind="source")
    assert received.effective_on == date(2025, 11, 3)


def test_a_bare_passed_is_entered_and_figures_are_accepted(site):
    take(site, sheet(GOOD, GOOD | {"serial": "L-2", "last_wipe_result": "passed"}))
    wipes = Record.objects.filter(kind="leak_test").order_by("seq")
    assert [wipe.accepted_by is not None for wipe in wipes] == [True, False]


# ---------------------------------------------------------------- what does not


FILES: dict[str, tuple[bytes, str]] = {
    "a spreadsheet": (b"PK\x03\x04\x14\x00\x06\x00", "not a CSV file"),
    "a PDF": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "not a CSV file"),
    "bytes that no text has": (bytes(range(128)), "not a CSV file"),
    "an old spreadsheet": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "Line 1 is not UTF-8"),
    "UTF-16": (SAMPLE.read_text(encoding="utf-8").encode("utf-16"), "Line 1 is not UTF-8"),
    "UTF-16 without its mark": (
        SAMPLE.read_text(encoding="utf-8").encode("utf-16-le"),
        "not a CSV file",
    ),
    "Latin-1": (sheet(GOOD) + "Cs-137,Prüfstrahler".encode("latin-1"), "Line 3 is not UTF-8"),
    "nothing": (b"", "first line must hold the heads"),
    "a blank line": (b"\n", "first line must hold the heads"),
    "heads alone": (sheet(), "no rows"),
    "heads and blank rows": (sheet({}, {}), "no rows"),
    "other heads": (b"a,b\n1,2\n", "first line must hold the heads"),
    "a head that is missing": (
        sheet(GOOD, heads=[head for head in COLUMNS if head != "gauge"]),
        "The column gauge is missing.",
    ),
    "a head that stands there twice": (
        sheet(GOOD, heads=[*COLUMNS, "gauge"]),
        "The column gauge stands there twice.",
    ),
    "a quote that is not closed": (sheet(GOOD) + b'Cs-137,"3.7 GBq\n', "is not CSV"),
    "too many cells": (sheet(GOOD) + b"," * len(COLUMNS) + b"x\n", "Row 3: has more cells"),
    "a cell of a megabyte": (sheet(GOOD | {"remark": "x" * 2**20}), "Line 2 is not CSV"),
    "the same row twice": (sheet(GOOD, GOOD), "Row 3: is the same source as row 2."),
    "the same source twice": (
        sheet(GOOD, GOOD | {"serial": "l-1", "activity": "1 GBq"}),
        "Row 3: is the same source as row 2.",
    ),
}
ROWS: dict[str, tuple[dict[str, str], tuple[str, ...]]] = {
    "an unknown nuclide": ({"nuclide": "Cs-173"}, ("nuclide", "nearest name there is Cs-137")),
    "no nuclide": ({"nuclide": ""}, ("nuclide", "required")),
    "an activity without a unit": ({"activity": "3.7"}, ("activity", "has no unit")),
    "an activity of zero": ({"activity": "0 Bq"}, ("activity", "not above zero")),
    "a negative activity": ({"activity": "-1 GBq"}, ("activity", "not above zero")),
    "an activity of two readings": ({"activity": "1,234 GBq"}, ("activity", "can be read as")),
    "a date of two readings": ({"received_on": "03/05/2019"}, ("received_on", "more than one")),
    "a day that is none": ({"received_on": "2021-02-30"}, ("received_on", "not a date")),
    "a month as a day": ({"received_on": "May 2021"}, ("received_on", "not a whole day")),
    "no place": ({"location": ""}, ("location", "required")),
    "a wipe without a day": ({"last_wipe_on": ""}, ("last_wipe_on", "needs its day")),
    "a wipe without a result": ({"last_wipe_result": ""}, ("last_wipe_result", "its result")),
    "a result without a unit": ({"last_wipe_result": "< 5"}, ("last_wipe_result", "no unit")),
    "less than what": ({"last_wipe_result": "<"}, ("last_wipe_result", "not a result")),
    "a wipe in the future": ({"last_wipe_on": "2026-03-03"}, ("future",)),
    "an arrival in the future": (
        {"received_on": "2026-03-03", "last_wipe_on": "", "last_wipe_result": ""},
        ("future",),
    ),
    "a wipe before everything": ({"last_wipe_on": "1999-01-01"}, ("earlier than everything",)),
    "a name without end": ({"maker": "x" * 101}, ("maker", "100")),
    "a control character": ({"maker": "a\x07b"}, ("control character",)),
}


def assert_refused(site: Any, content: bytes) -> list[str]:
    before = rows_of_every_table()
    with pytest.raises(LoadFault) as refusal:
        take(site, content)
    assert rows_of_every_table() == before
    sentences = refusal.value.sentences
    assert not [one for one in sentences if "%(" in one or "[no sentence" in one]
    return sentences


@pytest.mark.parametrize("what", FILES)
def test_a_bad_file_is_one_sentence_and_nothing_is_saved(site, what):
    content, said = FILES[what]
    (sentence,) = assert_refused(site, content)
    assert said in sentence
    assert len(sentence) < 400


@pytest.mark.parametrize("what", ROWS)
def test_a_bad_row_is_named_by_row_and_column_and_no_row_is_saved(site, what):
    change, said = ROWS[what]
    (sentence,) = assert_refused(site, sheet(GOOD, GOOD | {"serial": "L-2"} | change))
    assert sentence.startswith("Row 3")
    assert all(words in sentence for words in said)


def test_every_fault_of_a_file_is_told_at_once(site):
    rows = [GOOD | {"serial": f"L-{n}"} | change for n, (change, _) in enumerate(ROWS.values())]
    sentences = assert_refused(site, sheet(*rows))
    assert len(sentences) >= 14
    assert [int(one.split()[1].strip(":,")) for one in sentences] == sorted(
        int(one.split()[1].strip(":,")) for one in sentences
    )


def test_only_a_supervisor_loads(site):
    with pytest.raises(LoadFault, match="is not radiation protection supervisor"):
        load(site, sheet(GOOD), by=factories.make_user(), at=NOW)


def test_a_list_that_is_too_long_is_refused(site, monkeypatch):
    monkeypatch.setattr("reports.exchange.load.MOST_ROWS", 1)
    (sentence,) = assert_refused(site, sheet(GOOD, GOOD | {"serial": "L-2"}))
    assert "more than 1 rows" in sentence


# ---------------------------------------------------------------- the command


def test_the_command_says_what_it_did(site, capsys):
    call_command("load", str(SAMPLE), "--site", "thornmere", "--check")
    assert "6 sources would be added with 4 last wipes" in capsys.readouterr().out
    assert sources(site) == 0
    call_command("load", str(SAMPLE), "--site", "thornmere")
    assert "6 sources added with 4 last wipes; 0 were here already." in capsys.readouterr().out
    call_command("load", str(SAMPLE), "--site", "thornmere")
    assert "0 sources added with 0 last wipes; 6 were here already." in capsys.readouterr().out


def test_the_command_names_a_file_that_is_not_there(site, tmp_path):
    with pytest.raises(CommandError, match="cannot be read: No such file"):
        call_command("load", str(tmp_path / "none.csv"), "--site", "thornmere")
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("load", str(tmp_path), "--site", "thornmere")


def test_the_command_says_that_nothing_was_loaded(site, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(sheet(GOOD | {"nuclide": "Xx-1"}))
    with pytest.raises(CommandError, match=r"Nothing was loaded.\nRow 2, nuclide: "):
        call_command("load", str(path), "--site", "thornmere")
