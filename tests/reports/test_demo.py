"""The demo as a new user runs it: a process of its own on a folder of its own."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

ROOT = Path(__file__).resolve().parents[2]


def run(folder: Path, *command: str) -> subprocess.CompletedProcess[str]:
    return _python(folder, "manage.py", *command)


#: What a second run does to the database is asked; its documents are those of the first.
UNDRAWN = """
from django.core.management import execute_from_command_line
import reports.pdf
reports.pdf.render = lambda register, paper: b"%PDF-"
execute_from_command_line(["manage.py", "demo"])
"""


#: The database alone is prepared; the story that takes so long is not told again.
UNTOLD = """
import django
django.setup()
from config import clock
from reports.management.commands import demo
demo.Story.tell = lambda self: None
demo.Command()._prepare(clock.now())
"""


def run_again(folder: Path) -> subprocess.CompletedProcess[str]:
    return _python(folder, "-c", UNDRAWN)


def _python(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {
        "PATH": os.environ["PATH"],
        "DJANGO_SETTINGS_MODULE": "config.settings_demo",
        "SEALBOOK_DEMO_DIR": str(folder),
    }
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


def database(folder: Path) -> Path:
    return folder / "data" / "demo" / "demo.sqlite3"


def one(folder: Path, query: str) -> object:
    with sqlite3.connect(database(folder)) as connection:
        return connection.execute(query).fetchone()[0]


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo with a space")
    done = run(folder, "demo")
    assert done.returncode == 0, done.stderr
    return folder, done.stdout


def test_it_says_what_needs_doing_and_how_to_log_in(told):
    _, said = told
    for state in ("failed, out of use", "days late", "never done", "interval not decided"):
        assert state in said
    assert "the password of each is sealbook-demo" in said


def test_it_writes_every_register_of_both_sites(told):
    folder, _ = told
    names = {path.name for path in (folder / "demo-output").iterdir()}
    assert {
        f"{site}-{kind}-register.pdf"
        for site in ("thornmere", "garnet-bluff")
        for kind in ("source", "leak", "monitor", "due")
    } <= names
    assert {"thornmere-source-register.csv", "thornmere-source-register.xlsx"} <= names


def test_its_registers_list_every_source_that_is_there(told):
    folder, _ = told
    there = (
        "SELECT count(*) FROM inventory_stay JOIN inventory_item ON inventory_item.id = item_id "
        "WHERE kind = 'source' AND until_on = '9999-12-31' AND inventory_item.site_id = "
    )
    for site in ("thornmere", "garnet-bluff"):
        number = one(folder, f"{there} (SELECT id FROM accounts_site WHERE slug = '{site}')")
        pages = PdfReader(folder / "demo-output" / f"{site}-source-register.pdf").pages
        text = " ".join(" ".join(page.extract_text().split()) for page in pages)
        assert f"{number} sources on" in text


def test_it_leaves_records_without_a_fault(told):
    folder, _ = told
    done = run(folder, "check_records")
    assert done.returncode == 0, done.stdout


def test_it_keeps_the_database_of_the_same_day(told):
    folder, _ = told
    head = one(folder, "SELECT head FROM inventory_chain WHERE site_id IS NOT NULL")
    assert run_again(folder).returncode == 0
    assert one(folder, "SELECT head FROM inventory_chain WHERE site_id IS NOT NULL") == head


def test_it_never_touches_a_database_that_holds_another_site(told):
    folder, _ = told
    marker = database(folder).with_name("loaded-on")
    marker.write_text("2001-01-01")
    values = "'other', 'Other', '', 'UTC'"
    with sqlite3.connect(database(folder)) as connection:
        connection.execute(
            f"INSERT INTO accounts_site (slug, name, address, time_zone) VALUES ({values})"
        )
    done = run_again(folder)
    assert done.returncode != 0 and "holds other sites (other)" in done.stderr
    assert one(folder, "SELECT count(*) FROM accounts_site") == 3
    with sqlite3.connect(database(folder)) as connection:
        connection.execute("DELETE FROM accounts_site WHERE slug = 'other'")


def test_it_is_made_anew_on_a_later_day(told):
    folder, _ = told
    assert one(folder, "SELECT count(*) FROM inventory_record") > 500
    database(folder).with_name("loaded-on").write_text("2001-01-01")
    done = _python(folder, "-c", UNTOLD)
    assert done.returncode == 0, done.stderr
    assert one(folder, "SELECT count(*) FROM inventory_record") == 0
    assert database(folder).with_name("loaded-on").read_text() > "2001-01-01"
