"""Commands as doors: what they print, and one sentence where they refuse."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from config.accounts.models import Role
from inventory.management.commands import due as due_command
from tests import factories
from tests.inventory.asking import rows_of_every_table
from tests.pages import TODAY, stop_clock

ROOT = Path(__file__).parents[2]
DUE_KEYS = (
    *("site", "subject", "code", "subject_kind", "requirement", "state", "due_date", "last_date"),
    *("last_outcome", "interval", "schedule", "schedule_version", "sentence", "clause"),
    "booked_for",
)
EXPLAIN_KEYS = ("subject", "code", "requirement", "state", "due_date", "steps")
STEP_KEYS = (
    *("code", "values", "document", "clause", "edition", "known_by", "checked_on", "because"),
)


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def late(site, counter):
    """A source that was last wiped on 1 June 2022."""
    source = factories.make_source(site, serial="K-1")
    factories.calibrate(counter, date(2022, 1, 1))
    factories.record_wipe(source, counter, date(2022, 6, 1))
    return source


def said(name: str, *options: str) -> str:
    out = io.StringIO()
    call_command(name, *options, stdout=out)
    return out.getvalue()


def data(name: str, *options: str) -> Any:
    return json.loads(said(name, *options, "--json"))


def refusal(name: str, *options: str) -> str:
    """The one sentence with which a command ends; nothing has been written."""
    before = rows_of_every_table()
    with pytest.raises(CommandError) as error:
        call_command(name, *options)
    sentence = str(error.value)
    assert "\n" not in sentence
    assert "%(" not in sentence
    assert rows_of_every_table() == before
    return sentence


# ---------------------------------------------------------------- due


@pytest.mark.django_db
def test_due_gives_programs_the_documented_keys(late):
    (row,) = data("due", "--site", "thornmere")
    assert tuple(row) == DUE_KEYS
    assert row | {"code": "", "clause": ""} == {
        **{"site": "thornmere", "subject": "Cs-137 K-1", "code": "", "subject_kind": "source"},
        **{"requirement": "leak_test", "state": "late", "due_date": "2024-06-01"},
        **{"last_date": "2022-06-01", "last_outcome": "pass", "interval": "24 months"},
        **{"schedule": "gb", "schedule_version": 1, "sentence": "639 days late"},
        **{"clause": "", "booked_for": None},
    }
    assert "ACOP to reg 28(3)" in row["clause"]


@pytest.mark.django_db
def test_due_gives_people_a_sentence_and_a_table(late):
    text = said("due", "--site", "thornmere")
    assert "1 late: with nobody." in text
    assert "639 days late" in text
    assert late.code in text


@pytest.mark.django_db
def test_due_answers_for_a_day_and_for_some_time_ahead(late):
    assert data("due", "--site", "thornmere", "--on", "2022-08-01") == []
    ahead = data("due", "--site", "thornmere", "--on", "2022-08-01", "--within", "670")
    assert [row["sentence"] for row in ahead] == ["good until 1 Jan 2023", "good until 1 Jun 2024"]
    ahead = data("due", "--site", "thornmere", "--on", "2022-08-01", "--within", "669")
    assert [row["sentence"] for row in ahead] == ["good until 1 Jan 2023"]


@pytest.mark.django_db
def test_due_without_a_site_is_about_all_of_them(late):
    factories.make_source(factories.make_site("second"))
    assert {row["site"] for row in data("due")} == {"thornmere", "second"}


@pytest.mark.django_db
def test_due_says_nothing_late_only_beside_how_fresh_the_knowledge_is(site):
    text = said("due", "--site", "thornmere").casefold()
    assert "nothing is late" not in text or "last record of" in text


# ---------------------------------------------------------------- explain


@pytest.mark.django_db
@pytest.mark.parametrize("by", ["code", "serial", "small letters"])
def test_explain_gives_programs_every_step(late, by):
    subject = {"code": late.code, "serial": "K-1", "small letters": "k-1"}[by]
    (row,) = data("explain", subject)
    assert tuple(row) == EXPLAIN_KEYS
    assert (row["code"], row["state"], row["due_date"]) == (late.code, "late", "2024-06-01")
    steps = list(walk(row["steps"]))
    assert all(tuple(step) == STEP_KEYS for step in steps)
    assert "due_by_interval" in [step["code"] for step in steps]


def walk(steps: Any) -> Any:
    for step in steps:
        yield step
        yield from walk(step["because"])


@pytest.mark.django_db
def test_explain_gives_people_sentences_with_their_clauses(late):
    text = said("explain", "K-1")
    assert "1 Jun 2022 plus 24 calendar months is 1 Jun 2024" in text
    assert "ACOP to reg 28(3)" in text


@pytest.mark.django_db
def test_explain_refuses_what_could_be_several_things_and_names_them(late, site):
    other = factories.make_source(site, serial="K-1", nuclide="Co-60")
    sentence = refusal("explain", "K-1")
    assert f"{late.code} (source Cs-137 K-1)" in sentence
    assert f"{other.code} (source Co-60 K-1)" in sentence


@pytest.mark.django_db
def test_explain_knows_the_site_it_was_asked_about(late):
    factories.make_source(factories.make_site("second"), serial="K-1")
    (row,) = data("explain", "K-1", "--site", "thornmere")
    assert row["code"] == late.code


@pytest.mark.django_db
def test_explain_names_what_it_did_not_find(site):
    assert refusal("explain", "nothing") == ("Nothing here has the code, serial or tag “nothing”.")


@pytest.mark.django_db
def test_explain_says_when_nothing_is_required(site):
    gauge = factories.make_gauge(site, "G-1")
    assert "nothing is required of it" in said("explain", gauge.code)
    assert data("explain", gauge.code) == []


# ---------------------------------------------------------------- register


@pytest.mark.django_db
def test_a_register_is_written_in_the_form_of_its_ending(late, tmp_path):
    pdf, table = tmp_path / "new" / "register.pdf", tmp_path / "register.CSV"
    said("register", "source", "--site", "thornmere", "--output", str(pdf))
    text = said("register", "source", "--site", "thornmere", "--output", str(table))
    assert pdf.read_bytes().startswith(b"%PDF-")
    assert "1 rows, thornmere-source-20260302-" in text
    (row,) = csv.DictReader(io.StringIO(table.read_text(encoding="utf-8-sig")))
    assert row["Code"] == late.code
    assert sorted(path.name for path in tmp_path.rglob("*.part")) == []


@pytest.mark.django_db
def test_a_register_of_a_day_and_of_what_was_known_then(late, tmp_path):
    path = tmp_path / "register.csv"
    options = ("source", "--site", "thornmere", "--output", str(path))
    said("register", *options, "--on", "2021-02-28")
    assert len(path.read_text().splitlines()) == 1
    said("register", *options, "--on", "2026-01-01", "--known", "2026-01-01")
    assert len(path.read_text().splitlines()) == 1


@pytest.mark.django_db
def test_a_register_that_cannot_be_written_leaves_the_old_one(late, tmp_path, monkeypatch):
    path = tmp_path / "register.pdf"
    path.write_bytes(b"old")
    monkeypatch.setattr("reports.pdf.render", lambda register, paper: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        said("register", "source", "--site", "thornmere", "--output", str(path))
    assert path.read_bytes() == b"old"


@pytest.mark.django_db
def test_a_register_names_what_it_cannot_do(late, tmp_path):
    options = ("register", "source", "--site", "thornmere", "--output")
    assert "expected an ending of .pdf, .csv" in refusal(*options, str(tmp_path / "a.docx"))
    (tmp_path / "file").write_text("")
    assert "cannot be written" in refusal(*options, str(tmp_path / "file" / "a.csv"))


@pytest.mark.django_db
def test_a_register_asks_who_makes_it_when_there_are_two(late, tmp_path):
    factories.give_role(factories.make_user("second"), late.site, Role.RPS)
    options = ("register", "source", "--site", "thornmere", "--output", str(tmp_path / "a.csv"))
    assert "Say with --by which supervisor" in refusal(*options)
    assert "There is no user nobody." in refusal(*options, "--by", "nobody")
    assert "1 rows" in said(*options, "--by", "second")


# ---------------------------------------------------------------- what all of them refuse

OF_A_SITE = {
    "due": ("due",),
    "explain": ("explain", "K-1"),
    "register": ("register", "source", "--output", "a.csv"),
    "load": ("load", str(ROOT / "fixtures" / "sources-sample.csv")),
}


@pytest.mark.django_db
@pytest.mark.parametrize("name", OF_A_SITE)
def test_a_site_that_does_not_exist_is_named_with_those_that_do(late, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert refusal(*OF_A_SITE[name], "--site", "thornmoor") == (
        "There is no site with the short name “thornmoor”; known: thornmere."
    )


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["due", "explain", "register"])
@pytest.mark.parametrize(
    ("day", "said"),
    [
        ("yesterday", "is not a date"),
        ("2026-02-30", "is not a date"),
        ("03/05/2019", "more than one date"),
        ("Mar 2026", "is not a whole day"),
    ],
)
def test_a_day_that_cannot_be_read_is_one_sentence(late, name, day, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert said in refusal(*OF_A_SITE[name], "--site", "thornmere", "--on", day)


@pytest.mark.django_db
@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_first_and_the_last_day_can_be_asked_for(late, day, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("due", "explain", "register"):
        said(*OF_A_SITE[name], "--site", "thornmere", "--on", day)
    said("due", "--site", "thornmere", "--on", day, "--within", "400")


def test_due_prints_only_keys_that_its_rows_have():
    assert set(due_command.COLUMNS) <= set(DUE_KEYS)


# ---------------------------------------------------------------- without a database


@pytest.mark.parametrize(
    ("options", "key"),
    [
        (
            "decay --nuclide Cs-137 --activity 3.7GBq --reference 2020-11-01 --on 2026-03-02",
            "activity_bq",
        ),
        (
            "wipe --nuclide Cs-137 --gross-counts 431 --gross-seconds 600 --background-counts 389"
            " --background-seconds 600 --efficiency 0.31",
            "outcome",
        ),
    ],
)
def test_a_hand_check_needs_no_database(tmp_path, options, key):
    done = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *options.split(), "--json"],
        cwd=tmp_path,
        env={"PATH": os.environ["PATH"], "SEALBOOK_DEMO_DIR": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert json.loads(done.stdout)[key] is not None
    assert not list(tmp_path.rglob("*.sqlite3"))


def test_today_is_that_of_the_tests():
    assert date(2026, 3, 2) == TODAY
