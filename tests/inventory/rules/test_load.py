"""Rule-set files: a good one, and every way in which its head, limit or rows can be wrong."""

from __future__ import annotations

import hashlib
from datetime import date

import pytest

from inventory.rules.load import RuleFault, load, template
from inventory.rules.schema import CALIBRATION, CONDITIONS, LEAK_TEST, VALUES
from surveys.monitors.models import MonitorKind
from tests.inventory.rules.rule_files import GOOD, fault_of, write

# --- a good file --------------------------------------------------------------------------------


def test_it_reads_a_good_file(tmp_path):
    rules = load(write(tmp_path, GOOD))
    default, gauge = rules.rows_for(LEAK_TEST)
    assert rules.name == "Invented, version 3"
    assert (rules.leak_limit.bq, rules.leak_limit.comparator) == (185.0, "exceeds")
    assert (default.months, default.lead_days, default.mode) == (6, 30, "default")
    assert default.cite.checked_on == date(2025, 5, 1)
    assert gauge.when == (("gas", False), ("whereabouts", "in_gauge"))
    assert len(rules.rows_for(CALIBRATION)) == 1
    assert rules.sha256 == hashlib.sha256(GOOD.encode()).hexdigest()


def test_the_kinds_of_monitors_are_those_that_exist():
    assert VALUES["monitor_kind"] == tuple(MonitorKind.values)
    assert VALUES.keys() <= CONDITIONS.keys()


@pytest.mark.parametrize(
    ("rule_set_id", "version"), [("gb", 9), ("zz", 1), ("../rulesets/gb", 1), ("", 1)]
)
def test_a_rule_set_that_is_not_there_is_one_sentence(rule_set_id, version):
    with pytest.raises(RuleFault, match="there is no such rule set"):
        template(rule_set_id, version)


def test_a_file_must_say_what_its_name_says(tmp_path, monkeypatch):
    monkeypatch.setattr("inventory.rules.load.FOLDER", tmp_path)
    write(tmp_path, GOOD, "xx-4.toml")
    with pytest.raises(RuleFault, match=r"xx-4.toml, ruleset: is xx, version 3"):
        template("xx", 4)


HEAD = GOOD.split("[[row]]")[0].encode()


# --- what can be wrong ------------------------------------------------------------------------

LEAK = 'requirement = "leak_test"\nmonths = 6'
WRONG = {
    "clause missing": ('clause = "7 (a)"\n', "", "row[1].clause: is missing"),
    "clause empty": (
        'clause = "7 (a)"',
        'clause = " "',
        "row[1].clause: is empty, expected a text",
    ),
    "clause of the limit missing": ('clause = "7 (e)"\n', "", "leak_limit.clause: is missing"),
    "months 0": ("months = 6", "months = 0", "row[1].months: expected a whole number from 1"),
    "months below 0": (
        "months = 6",
        "months = -6",
        "row[1].months: expected a whole number from 1",
    ),
    "months 10,000": ("months = 6", "months = 10_000", "from 1 to 600, found 10000"),
    "months as text": (
        "months = 6",
        'months = "6"',
        "row[1].months: expected a whole number, found '6'",
    ),
    "months broken": (
        "months = 6",
        "months = 6.5",
        "row[1].months: expected a whole number, found 6.5",
    ),
    "months yes": (
        "months = 6",
        "months = true",
        "row[1].months: expected a whole number, found True",
    ),
    "months missing": ("months = 6\n", "", "row[1].months: is missing"),
    "months beside undecided": (LEAK, LEAK + '\nresult = "undecided"', "row[1].months: is not a"),
    "result unknown": (LEAK, LEAK + '\nresult = "never"', "row[1].result: expected one of"),
    "mode unknown": ('mode = "replaces"', 'mode = "replace"', "row[2].mode: expected one of"),
    "condition unknown": ("gas = false", "gass = false", "row[2].when.gass: is not a condition"),
    "condition as text": ("gas = false", 'gas = "no"', "row[2].when.gas: expected true or false"),
    "condition as number": ("gas = false", "gas = 0", "row[2].when.gas: expected true or false"),
    "condition misspelt": ("in_gauge", "in_gage", "row[2].when.whereabouts: expected one of"),
    "conditions no table": (
        'when = { whereabouts = "in_gauge", gas = false }',
        'when = "gas"',
        "row[2].when: expected a table",
    ),
    "field unknown": (LEAK, LEAK + "\nmonth = 5", "row[1].month: is not a field"),
    "requirement unknown": ('"leak_test"\nmonths = 6', '"leek"\nmonths = 6', "row[1].requirement"),
    "id twice": ('"leak.gauge"', '"leak.default"', "row leak.default: the id is used twice"),
    "id empty": ('"leak.gauge"', '""', "row[2].id: is empty"),
    "lead time below 0": (
        LEAK,
        LEAK + "\nlead_days = -1",
        "row[1].lead_days: expected a whole number from 0",
    ),
    "known by hearsay": ('known_by = "own"\nchecked', 'known_by = "x"\nchecked', "row[1].known_by"),
    "checked at a moment": (
        "2025-05-01",
        "2025-05-01T00:00:00",
        "row[1].checked_on: expected a date",
    ),
    "no row for everything": (
        'id = "calibration.default"',
        'id = "calibration.default"\nwhen = { monitor_kind = "dose_rate" }',
        "calibration: needs a row without conditions",
    ),
    "limit 0": ("bq = 185", "bq = 0", "leak_limit.bq: expected a number above 0"),
    "limit below 0": ("bq = 185", "bq = -185", "leak_limit.bq: expected a number above 0"),
    "limit endless": ("bq = 185", "bq = inf", "leak_limit.bq: expected a number above 0"),
    "limit no number": ("bq = 185", "bq = nan", "leak_limit.bq: expected a number above 0"),
    "limit as text": ("bq = 185", 'bq = "185"', "leak_limit.bq: expected a number, found '185'"),
    "detection above the limit": (
        "= 100",
        "= 186",
        "required_detection_bq: expected a number above",
    ),
    "detection 0": ("= 100", "= 0", "required_detection_bq: expected a number above 0"),
    "action 0": ("= 100", "= 100\naction_fraction = 0", "leak_limit.action_fraction: expected"),
    "action above 1": ("= 100", "= 100\naction_fraction = 1.5", "leak_limit.action_fraction"),
    "comparator unknown": ('"exceeds"', '">="', "leak_limit.comparator: expected one of"),
    "unit unknown": ("= 100", '= 100\nunit = "becquerel"', "leak_limit.unit: expected one of"),
    "limit missing": ("[leak_limit]", "[limit]", "leak_limit.bq: is missing"),
    "title missing": ('title = "Invented"', "", "ruleset.title: is missing"),
    "version as text": ("version = 3", 'version = "3"', "ruleset.version: expected a whole number"),
    "more in the head": ("version = 3", "version = 3\ncountry = 1", "ruleset.country: is not a"),
    "more in the file": ("[leak_limit]", "[extra]\n[leak_limit]", "extra: is not a part"),
    "not TOML": ("[ruleset]", "[ruleset", "is not a TOML file in UTF-8"),
}


def test_the_unit_of_results_is_becquerel_unless_the_file_says_another(tmp_path):
    path = tmp_path / "xx-3.toml"
    path.write_text(GOOD)
    assert load(path).leak_limit.unit == "Bq"
    path.write_text(GOOD.replace("= 100", '= 100\nunit = "uCi"', 1))
    assert load(path).leak_limit.unit == "uCi"


@pytest.mark.parametrize("case", WRONG)
def test_a_fault_is_one_sentence_with_file_row_and_field(tmp_path, case):
    before, after, sentence = WRONG[case]
    assert GOOD.count(before) >= 1
    fault = fault_of(tmp_path, GOOD.replace(before, after, 1))
    assert fault.startswith("xx-3.toml")
    assert sentence in fault
    assert "\n" not in fault


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "xx-3.toml, ruleset.id: is missing"),
        (GOOD.replace("Invented", "Bestände").encode("latin-1"), "is not a TOML file in UTF-8"),
        (b"ruleset = 3", "xx-3.toml, ruleset: expected a table"),
        (b"row = [1]\n" + HEAD, "xx-3.toml, row[1]: expected a table, found 1"),
        (b"row = 1\n" + HEAD, "xx-3.toml, row: expected [[row]], a list of tables"),
        (b"row = [" + b"[" * 3000 + HEAD, "is not a TOML file in UTF-8"),
        (b"row = " + b"1" * 5000 + b"\n" + HEAD, "is not a TOML file in UTF-8"),
        (b"tables = [1]\n" + HEAD, "xx-3.toml, tables: expected a table"),
        (HEAD, "xx-3.toml, row: expected at least one [[row]]"),
        (GOOD.encode() + b"\x00", "is not a TOML file in UTF-8"),
    ],
)
def test_a_file_that_is_none_is_one_sentence(tmp_path, content, sentence):
    assert sentence in fault_of(tmp_path, content)
