"""Rule-set files: the released one, and every way in which one can be wrong."""

from __future__ import annotations

import csv
import hashlib
from datetime import date
from pathlib import Path

import pytest

from inventory.calc.explain import KNOWN_BY
from inventory.rules.load import FOLDER, RuleFault, load, template
from inventory.rules.schema import CALIBRATION, CONDITIONS, LEAK_TEST, REQUIREMENTS, VALUES
from surveys.monitors.models import MonitorKind

#: A released file never changes: what was decided by it must be found again, byte for byte.
RELEASED = {"gb-1.toml": "be53c57b5bc75669ffb4c5668597af6bd0757edf3b7988ef4d05d394fe85689c"}
FACTS = Path(__file__).resolve().parents[2] / "data" / "rule_facts.csv"

GOOD = """
[ruleset]
id = "xx"
version = 3
title = "Invented"

[leak_limit]
bq = 185
comparator = "exceeds"
required_detection_bq = 100
document = "Invented rules"
clause = "7 (e)"
known_by = "own"

[[row]]
id = "leak.default"
requirement = "leak_test"
months = 6
document = "Invented rules"
clause = "7 (a)"
known_by = "own"
checked_on = 2025-05-01

[[row]]
id = "leak.gauge"
requirement = "leak_test"
months = 12
mode = "replaces"
when = { whereabouts = "in_gauge", gas = false }
document = "Invented rules"
clause = "7 (b)"
known_by = "own"

[[row]]
id = "calibration.default"
requirement = "calibration"
months = 12
document = "Invented rules"
clause = "8"
known_by = "own"
"""


def write(folder: Path, text: str | bytes, name: str = "xx-3.toml") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def fault_of(folder: Path, text: str | bytes) -> str:
    with pytest.raises(RuleFault) as fault:
        load(write(folder, text))
    return str(fault.value)


# --- released files ----------------------------------------------------------------------------


def test_every_released_file_is_as_it_was_released():
    there = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in FOLDER.iterdir()}
    assert there == RELEASED


@pytest.mark.parametrize("name", RELEASED)
def test_a_released_file_loads(name):
    rule_set_id, version = name.removesuffix(".toml").rsplit("-", 1)
    rules = template(rule_set_id, int(version))
    assert rules.sha256 == RELEASED[name]
    assert (rules.id, rules.version) == (rule_set_id, int(version))
    for row in rules.rows:
        assert row.cite.document
        assert row.cite.clause
        assert row.cite.known_by in KNOWN_BY


def fact(number: str) -> dict[str, str]:
    with FACTS.open(encoding="utf-8", newline="") as file:
        (found,) = [row for row in csv.DictReader(file) if row["id"] == number]
    return found


def gb_row(row_id: str):
    (found,) = [row for row in template("gb", 1).rows if row.id == row_id]
    return found


def test_the_leak_test_interval_is_that_of_the_code_of_practice():
    row = gb_row("leak.default")
    assert fact("F001")["value"] == "suitable intervals"  # the regulation has no number
    assert (str(row.months), "months") == (fact("F002")["value"], fact("F002")["unit"])
    assert "ACOP" in row.cite.clause
    assert "regulation itself says suitable intervals" in row.note


def test_the_limit_is_that_of_the_standard_read_strictly():
    limit = template("gb", 1).leak_limit
    for number in ("F036", "F037"):
        assert (limit.bq, "Bq") == (float(fact(number)["value"]), fact(number)["unit"])
    assert "whether exactly 200 passes is not seen" in fact("F036")["notes"]
    assert limit.comparator == "reaches"
    assert limit.required_detection_bq == limit.bq
    assert "ISO 9978" in fact("F037")["clause"]
    assert limit.cite.document == "ISO 9978"


def test_a_gas_is_for_the_employer_to_decide():
    row = gb_row("leak.gas")
    assert fact("F052")["value"] == "employer decides with RPA"
    assert (row.result, row.months, dict(row.when)) == ("undecided", None, {"gas": True})


def test_the_calibration_interval_is_that_of_the_code_of_practice():
    row = gb_row("calibration.default")
    assert fact("F130")["value"] == "appropriate intervals (12 months is ACOP, not regulation)"
    assert row.months == 12
    assert "ACOP" in row.cite.clause
    assert fact("F130")["clause"] in row.cite.clause


def test_every_number_of_the_file_is_one_of_these_facts():
    rules = template("gb", 1)
    assert [(row.id, row.months) for row in rules.rows] == [
        ("leak.default", 24),
        ("leak.gas", None),
        ("calibration.default", 12),
    ]
    assert all(row.cite.checked_on is None for row in rules.rows)  # nobody has, and it says so


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
    ("rule_set_id", "version"), [("gb", 2), ("zz", 1), ("../rulesets/gb", 1), ("", 1)]
)
def test_a_rule_set_that_is_not_there_is_one_sentence(rule_set_id, version):
    with pytest.raises(RuleFault, match="there is no such rule set"):
        template(rule_set_id, version)


def test_a_file_must_say_what_its_name_says(tmp_path, monkeypatch):
    monkeypatch.setattr("inventory.rules.load.FOLDER", tmp_path)
    write(tmp_path, GOOD, "xx-4.toml")
    with pytest.raises(RuleFault, match=r"xx-4.toml, ruleset: is xx, version 3"):
        template("xx", 4)


# --- what can be wrong ------------------------------------------------------------------------

LEAK = 'requirement = "leak_test"\nmonths = 6'
WRONG = {
    "clause missing": ('clause = "7 (a)"\n', "", "row[1].clause: is missing"),
    "clause empty": ('clause = "7 (a)"', 'clause = " "', "row[1].clause: a row needs a document"),
    "clause of the limit missing": ('clause = "7 (e)"\n', "", "leak_limit.clause: is missing"),
    "months 0": ("months = 6", "months = 0", "row[1].months: expected 1 to 600"),
    "months below 0": ("months = 6", "months = -6", "row[1].months: expected 1 to 600"),
    "months 10,000": ("months = 6", "months = 10_000", "row[1].months: expected 1 to 600"),
    "months as text": ("months = 6", 'months = "6"', "row[1].months: expected int, found '6'"),
    "months broken": ("months = 6", "months = 6.5", "row[1].months: expected int, found 6.5"),
    "months yes": ("months = 6", "months = true", "row[1].months: expected int, found True"),
    "months missing": ("months = 6\n", "", "row[1].months: is missing"),
    "months beside undecided": (LEAK, LEAK + '\nresult = "undecided"', "row[1].months: is not a"),
    "result unknown": (LEAK, LEAK + '\nresult = "never"', "row[1].result: expected one of"),
    "mode unknown": ('mode = "replaces"', 'mode = "replace"', "row[2].mode: expected one of"),
    "condition unknown": ("gas = false", "gass = false", "row[2].when.gass: is not a condition"),
    "condition as text": ("gas = false", 'gas = "no"', "row[2].when.gas: expected bool"),
    "condition as number": ("gas = false", "gas = 0", "row[2].when.gas: expected bool"),
    "condition misspelt": ("in_gauge", "in_gage", "row[2].when.whereabouts: expected one of"),
    "conditions no table": (
        'when = { whereabouts = "in_gauge", gas = false }',
        'when = "gas"',
        "row[2].when: expected dict",
    ),
    "field unknown": (LEAK, LEAK + "\nmonth = 5", "row[1].month: is not a field"),
    "requirement unknown": ('"leak_test"\nmonths = 6', '"leek"\nmonths = 6', "row[1].requirement"),
    "id twice": ('"leak.gauge"', '"leak.default"', "row leak.default: the id is used twice"),
    "id empty": ('"leak.gauge"', '""', "row[2].id: is empty"),
    "lead time below 0": (LEAK, LEAK + "\nlead_days = -1", "row[1].lead_days: expected 0 or more"),
    "known by hearsay": ('known_by = "own"\nchecked', 'known_by = "x"\nchecked', "row[1].known_by"),
    "checked at a moment": ("2025-05-01", "2025-05-01T00:00:00", "row[1].checked_on: expected dat"),
    "no row for everything": (
        'id = "calibration.default"',
        'id = "calibration.default"\nwhen = { monitor_kind = "dose_rate" }',
        "calibration: needs a row without conditions",
    ),
    "limit 0": ("bq = 185", "bq = 0", "leak_limit.bq: expected a limit above 0"),
    "limit below 0": ("bq = 185", "bq = -185", "leak_limit.bq: expected a limit above 0"),
    "limit endless": ("bq = 185", "bq = inf", "leak_limit.bq: expected a limit above 0"),
    "limit no number": ("bq = 185", "bq = nan", "leak_limit.bq: expected a limit above 0"),
    "limit as text": ("bq = 185", 'bq = "185"', "leak_limit.bq: expected float"),
    "detection above the limit": ("= 100", "= 186", "leak_limit.bq: expected a limit above 0"),
    "detection 0": ("= 100", "= 0", "leak_limit.bq: expected a limit above 0"),
    "action 0": ("= 100", "= 100\naction_fraction = 0", "leak_limit.action_fraction: expected"),
    "action above 1": ("= 100", "= 100\naction_fraction = 1.5", "leak_limit.action_fraction"),
    "comparator unknown": ('"exceeds"', '">="', "leak_limit.comparator: expected one of"),
    "unit unknown": ("= 100", '= 100\nunit = "becquerel"', "leak_limit.unit: expected one of"),
    "limit missing": ("[leak_limit]", "[limit]", "leak_limit.bq: is missing"),
    "title missing": ('title = "Invented"', "", "ruleset.title: is missing"),
    "version as text": ("version = 3", 'version = "3"', "ruleset.version: expected int"),
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
        (b"row = [1]", "xx-3.toml, row[1]: expected a table"),
        (b"[row]\nid = 'x'", "xx-3.toml, row: expected [[row]]"),
        (GOOD.encode() + b"\x00", "is not a TOML file in UTF-8"),
    ],
)
def test_a_file_that_is_none_is_one_sentence(tmp_path, content, sentence):
    assert sentence in fault_of(tmp_path, content)


def test_a_file_without_rows_is_refused(tmp_path):
    fault = fault_of(tmp_path, GOOD.split("[[row]]")[0])
    assert any(f"{name}: needs a row without conditions" in fault for name in REQUIREMENTS)
