"""The rule sets that are released, and those for tests only: what holds for each of their rows."""

from __future__ import annotations

import csv
import hashlib
import json
import re

import pytest

from inventory.calc.explain import KNOWN_BY
from inventory.ledger import canonical
from inventory.rules.load import FOLDER, load, row_data, row_from, template, templates
from inventory.rules.schema import REQUIREMENTS, RuleSet
from tests.inventory.rules.rule_files import TEST_ONLY

#: A released file never changes: what was decided by it must be found again, byte for byte.
RELEASED = {
    "ca-1.toml": "864b6d461491acc38cc32223765ef879d82e25b134593c1364498007e08b216d",
    "de-1.toml": "c78d3ccb340f7abeb5acde729fbe76975bf6f05cf3ab5fad88dc18e4c3145282",
    "gb-1.toml": "be53c57b5bc75669ffb4c5668597af6bd0757edf3b7988ef4d05d394fe85689c",
    "gb-2.toml": "f62f6d0d9166df6f79ea04a39250276c08a79202c0bf9e025126f4e29814248f",
    "general-1.toml": "04ce83774e20dff3e65b86938bfc7185246e4b3299d16cdba9c9bf6be41a5f9a",
    "us_general-1.toml": "24632fc1f982129b93f345d9b0c13b1f51acae6289b17ccdc6b33641eec11c65",
    "us_specific-1.toml": "7c13ebc5d887a673769bcd02ab87d846214269a3d35c950643162bbe3fa231bc",
}
FILES = (*sorted(FOLDER.glob("*.toml")), *sorted(TEST_ONLY.glob("*.toml")))
NUCLIDES = FOLDER.parent / "nuclides.csv"

every_file = pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)


def cited(rules: RuleSet):
    """Whatever rests on a clause: rows of every kind, limit, tables, basis."""
    yield from (*rules.rows, *rules.reports, *rules.retention, *rules.areas)
    yield from (*rules.contamination, *rules.monitors, rules.leak_limit, *rules.tables.values())


def test_every_released_file_is_as_it_was_released():
    there = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in FOLDER.iterdir()}
    assert there == RELEASED


@pytest.mark.parametrize("name", RELEASED)
def test_a_released_file_loads(name):
    rule_set_id, version = name.removesuffix(".toml").rsplit("-", 1)
    rules = template(rule_set_id, int(version))
    assert rules.sha256 == RELEASED[name]
    assert (rules.id, rules.version) == (rule_set_id, int(version))
    assert rules.note or version == "1"


def test_the_newest_version_of_each_is_offered():
    assert [(rules.id, rules.version) for rules in templates()] == [
        *(("ca", 1), ("de", 1), ("gb", 2), ("general", 1)),
        *(("us_general", 1), ("us_specific", 1)),
    ]


def test_an_old_version_is_read_and_never_offered(tmp_path, monkeypatch):
    """What a file says is its name: other files of the folder are none of a rule set."""
    monkeypatch.setattr("inventory.rules.load.FOLDER", tmp_path)
    text = (TEST_ONLY / "ch-1.toml").read_text()
    for version in (2, 9, 10):
        changed = text.replace("version = 1", f"version = {version}").replace('"ch"', '"qq"', 1)
        (tmp_path / f"qq-{version}.toml").write_text(changed)
    (tmp_path / "notes.txt").write_text("x")
    (tmp_path / "qq-11.toml.bak").write_text("x")
    assert [(rules.id, rules.version) for rules in templates()] == [("qq", 10)]
    assert template("qq", 2).version == 2


@every_file
def test_a_row_is_the_same_when_written_and_read_again(path):
    rules = load(path)
    for row in rules.rows:
        data = row_data(row)
        assert row_from("x", data, rules.tables) == row
        assert row_from("x", json.loads(json.dumps(data))) == row
        assert row_from("x", json.loads(canonical.text(data))) == row


@every_file
def test_everything_rests_on_a_clause_and_says_how_that_was_read(path):
    for one in cited(load(path)):
        assert one.cite.document and one.cite.clause
        assert one.cite.known_by in KNOWN_BY
        assert one.cite.checked_on is None  # nobody has, and every page says so


@every_file
def test_what_no_source_says_is_called_common_practice(path):
    for one in cited(load(path)):
        own = one.cite.known_by == "own"
        assert own == (one.cite.document == "Common practice")
        if own:
            assert one.note.startswith("common practice, no source: ")


@every_file
def test_what_no_source_says_has_no_number(path):
    """Common practice asks, and leaves the number to the site."""
    for row in load(path).rows:
        if row.cite.known_by == "own":
            assert row.result in ("undecided", "until", "not_required")
            assert (row.months, row.days) == (None, None)


@every_file
def test_its_nuclides_are_those_of_the_nuclide_table(path):
    with NUCLIDES.open(encoding="utf-8", newline="") as file:
        known = {row["nuclide"] for row in csv.DictReader(file)}
    rules = load(path)
    for row in rules.rows:
        wanted = dict(row.when).get("nuclide", ())
        assert {wanted} - {()} <= known if isinstance(wanted, str) else set(wanted) <= known
    for table in rules.tables.values():
        assert set(table.bq) <= known


@pytest.mark.parametrize("rules", templates(), ids=lambda rules: rules.id)
def test_a_released_rule_set_says_something_of_every_subject(rules):
    """What a site runs has requirements for all kinds of things; what is asked of one regime only
    may be missing."""
    special = {"stock_report", "check_device_reading"}
    assert set(REQUIREMENTS) - special <= set(rules.requirements)
    assert rules.words["supervisor"] and rules.words["accounting_check"]


@pytest.mark.parametrize("rules", templates(), ids=lambda rules: rules.id)
def test_its_notes_end_like_sentences(rules):
    for one in cited(rules):
        note = getattr(one, "note", "")
        assert not note or re.search(r"[.)]$", note), note


def test_rows_with_the_same_meaning_keep_their_name():
    """A decision of a site names a row: the next version calls it the same."""
    old, new = template("gb", 1), template("gb", 2)
    assert {row.id for row in old.rows} <= {row.id for row in new.rows}
    numbers = {row.id: (row.requirement, row.result, row.months) for row in new.rows}
    for row in old.rows:
        assert numbers[row.id] == (row.requirement, row.result, row.months)
