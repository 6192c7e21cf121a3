"""Rows of a rule set by what they ask: what each may say, and what is refused."""

from __future__ import annotations

import json
from datetime import date

import pytest

from inventory.ledger import canonical
from inventory.rules.load import RuleFault, load, row_data, row_from
from inventory.rules.schema import Bound, Row
from tests.inventory.rules.rule_files import GOOD, fault_with, write

CITE = {"document": "Invented rules", "clause": "9", "known_by": "own"}
HOLD = {"result": "on_hold", "when": {"keeping": "stored"}}
ENTRY = {"result": "entry", "entry": "first_use"}


def row(**said) -> Row:
    return row_from("x, row[1]", {"id": "a", "requirement": "leak_test", **CITE, **said})


def fault(**said) -> str:
    with pytest.raises(RuleFault) as found:
        row(**said)
    assert "\n" not in str(found.value)
    return str(found.value).removeprefix("x, row[1].")


# --- what a row may say ---------------------------------------------------------------------------


def test_an_interval_with_everything():
    one = row(
        months=24,
        ends="end_of_year",
        late_from="old_due",
        unused_months=12,
        grace_days=30,
        in_force_from=date(2020, 1, 1),
        lead_days=0,
        checked_on=date(2025, 5, 1),
        edition="2nd",
        note="more",
    )
    assert (one.months, one.ends, one.late_from, one.unused_months) == (
        *(24, "end_of_year", "old_due"),
        12,
    )
    assert (one.grace_days, one.in_force_from, one.lead_days) == (30, date(2020, 1, 1), 0)
    assert (one.cite.checked_on, one.cite.edition, one.note) == (date(2025, 5, 1), "2nd", "more")
    assert row_from("x", row_data(one)) == one


def test_an_interval_in_days():
    one = row(days=1)
    assert (one.days, one.months, one.interval_text) == (1, None, "1 d")
    assert row_from("x", row_data(one)) == one


@pytest.mark.parametrize("months", [None, 120])
def test_until_a_date_of_the_thing(months):
    one = row(result="until", trait="quality_on", months=months)
    assert (one.trait, one.months) == ("quality_on", months)
    assert row_from("x", row_data(one)) == one


@pytest.mark.parametrize(
    "said",
    [
        {"entry": "first_use", "fresh_months": 6, "fresh_days": 3, "within_days": 2},
        {"entry": "after_storage", "stored_months": 12, "stored_comparator": "more_than"},
        {"entry": "receipt", "within_days": 14},
        {"entry": "happening", "happenings": ["damage", "repair"]},
    ],
)
def test_a_test_when_something_begins(said):
    one = row(result="entry", **said)
    for name, value in said.items():
        assert getattr(one, name) == (tuple(value) if isinstance(value, list) else value)
    assert row_from("x", row_data(one)) == one


def test_a_hold():
    one = row(**HOLD, seen_months=3, ceiling_months=120)
    assert (one.mode, one.seen_months, one.ceiling_months) == ("suspends", 3, 120)
    assert row_from("x", row_data(one)) == one


@pytest.mark.parametrize(
    ("said", "mode"),
    [
        ({"months": 6}, "default"),
        ({"result": "not_required"}, "default"),
        ({"result": "not_required", "when": {"gas": True}}, "exempts"),
        ({"result": "not_required", "when": {"gas": True}, "mode": "default"}, "default"),
        ({"result": "undecided", "when": {"gas": True}}, "default"),
        (HOLD, "suspends"),
        ({**HOLD, "mode": "replaces"}, "replaces"),
        ({**ENTRY, "when": {"gas": True}}, "default"),
        ({**ENTRY, "mode": "adds"}, "adds"),
    ],
)
def test_the_mode_of_a_row_that_does_not_say_one(said, mode):
    one = row(**said)
    assert one.mode == mode
    assert row_from("x", row_data(one)) == one


WHEN = [
    ({"gas": False}, False),
    ({"nuclide": "Kr-85"}, "Kr-85"),
    ({"nuclide": ["H-3", "Kr-85"]}, ("H-3", "Kr-85")),
    ({"keeping": ["stored"]}, ("stored",)),
    ({"activity_bq": {"below": 50e6}}, Bound("below", 50e6)),
    ({"half_life_days": {"at_most": 30}}, Bound("at_most", 30.0)),
    ({"age_months": {"at_least": 180}}, Bound("at_least", 180)),
    ({"quotient": {"table": "eq", "above": 1}}, Bound("above", 1.0, table="eq")),
    ({"series": {"of": "function_check", "months": 6}}, Bound("at_most", 6, "function_check")),
]


@pytest.mark.parametrize(("when", "wanted"), WHEN)
def test_a_condition_is_read_and_written_back(when, wanted):
    one = row(months=6, when=when)
    assert [found for _name, found in one.when] == [wanted]
    assert row_data(one)["when"] == when
    assert row_from("x", row_data(one)) == one


def test_conditions_are_in_the_order_of_their_names():
    one = row(months=6, when={"portable": True, "gas": False})
    assert [name for name, _found in one.when] == ["gas", "portable"]


def test_a_row_of_a_site_says_who_decided_it():
    said = {
        "months": "36",
        "authority": "adviser",
        "loosened_because": "shutdowns",
        "decided_by": "R. Adams",
        "decided_on": "2025-05-01",
    }
    one = row(**said)
    assert (one.months, one.authority, one.decided_on) == (36, "adviser", date(2025, 5, 1))
    assert row_from("x", row_data(one)) == one


def test_a_record_keeps_numbers_and_dates_as_text():
    """The text of a record has decimal strings for numbers: the row is the same again."""
    one = row(
        months=6,
        grace_days=14,
        checked_on=date(2025, 5, 1),
        when={"activity_bq": {"at_most": 3.7e6}, "age_months": {"at_least": 180}, "gas": False},
    )
    data = json.loads(canonical.text(row_data(one)))
    assert data["months"] == "6"
    assert row_from("x", data) == one


def test_a_requirement_of_a_site_is_read():
    assert row(months=6, requirement="own-lightning").requirement == "own-lightning"


# --- what is refused --------------------------------------------------------------------------

REFUSED = {
    "no number": ({}, "months: is missing, expected a whole number"),
    "months and days": ({"months": 1, "days": 1}, "days: expected months or days, found both"),
    "days 0": ({"days": 0}, "days: expected a whole number from 1 to 3660, found 0"),
    "days too many": ({"days": 3661}, "days: expected a whole number from 1 to 3660"),
    "days to the end of a year": ({"days": 9, "ends": "end_of_year"}, "ends: an interval in days"),
    "months 601": ({"months": 601}, "months: expected a whole number from 1 to 600"),
    "ends unknown": ({"months": 1, "ends": "easter"}, "ends: expected one of anniversary"),
    "late unknown": ({"months": 1, "late_from": "x"}, "late_from: expected one of test, old_due"),
    "unused alone": ({"months": 1, "unused_months": 12}, "unused_months: expected late_from"),
    "grace below 0": ({"months": 1, "grace_days": -1}, "grace_days: expected a whole number"),
    "a trait": ({"months": 1, "trait": "made_on"}, "trait: is not a field"),
    "until without trait": ({"result": "until"}, "trait: is missing"),
    "until an unknown trait": ({"result": "until", "trait": "born_on"}, "trait: expected one of"),
    "until days": ({"result": "until", "trait": "made_on", "days": 3}, "days: is not a field"),
    "entry without entry": ({"result": "entry"}, "entry: is missing"),
    "entry unknown": ({"result": "entry", "entry": "easter"}, "entry: expected one of first_use"),
    "entry with months": ({**ENTRY, "months": 6}, "months: is not a field"),
    "happening without any": ({**ENTRY, "entry": "happening"}, "happenings: is missing"),
    "happening of none": (
        {**ENTRY, "entry": "happening", "happenings": []},
        "happenings: is an empty list",
    ),
    "happening unknown": (
        {**ENTRY, "entry": "happening", "happenings": ["damage", "rain"]},
        "happenings.2: expected one of damage",
    ),
    "happenings elsewhere": ({**ENTRY, "happenings": ["damage"]}, "happenings: is not a field"),
    "stored elsewhere": ({**ENTRY, "stored_months": 6}, "stored_months: is not a field"),
    "stored how": (
        {**ENTRY, "entry": "after_storage", "stored_comparator": "above"},
        "stored_comparator: expected one of at_least, more_than",
    ),
    "fresh on receipt": (
        {"result": "entry", "entry": "receipt", "fresh_days": 1},
        "fresh_days: is",
    ),
    "hold without conditions": ({"result": "on_hold"}, "when: is missing, expected conditions"),
    "hold by default": ({**HOLD, "mode": "default"}, "mode: default does not go with on_hold"),
    "hold of no months": (
        {**HOLD, "seen_months": 0},
        "seen_months: expected a whole number from 1",
    ),
    "ceiling 0": ({**HOLD, "ceiling_months": 0}, "ceiling_months: expected a whole number from 1"),
    "exempting interval": ({"months": 6, "mode": "exempts"}, "mode: a row that exempts must be"),
    "exempting undecided": ({"result": "undecided", "mode": "exempts"}, "mode: a row that exempts"),
    "suspending interval": ({"months": 6, "mode": "suspends"}, "mode: suspends does not go with"),
    "not required in 6 months": ({"result": "not_required", "months": 6}, "months: is not a field"),
    "lead of decades": ({"months": 6, "lead_days": 4000}, "lead_days: expected a whole number"),
    "authority unknown": ({"months": 6, "authority": "god"}, "authority: expected one of template"),
    "requirement unknown": ({"months": 6, "requirement": "leek"}, "requirement: expected one of"),
    "id with a blank": ({"months": 6, "id": "a b"}, "id: expected letters, digits"),
    "id of two lines": ({"months": 6, "id": "a\nb"}, "id: expected letters, digits"),
    "control character": ({"months": 6, "note": "a\x00b"}, "note: has a control character"),
    "half a surrogate": ({"months": 6, "clause": "\ud800"}, "clause: has a control character"),
    "months of words": ({"months": "six"}, "months: expected a whole number, found 'six'"),
    "months broken": ({"months": "6.5"}, "months: expected a whole number, found '6.5'"),
    "months endless": ({"months": 10**5000}, "months: expected a whole number from 1 to 600"),
    "date of words": (
        {"months": 6, "checked_on": "May"},
        "checked_on: expected a date, found 'May'",
    ),
    "field of two lines": ({"months": 6, "a\nb": 1}, "'a\\nb': is not a field"),
    "when: unknown": ({"months": 6, "when": {"gass": True}}, "when.gass: is not a condition"),
    "when: empty list": ({"months": 6, "when": {"nuclide": []}}, "when.nuclide: is an empty list"),
    "when: empty text": ({"months": 6, "when": {"nuclide": " "}}, "when.nuclide: is empty"),
    "when: one misspelt": (
        {"months": 6, "when": {"keeping": ["stored", "sttored"]}},
        "when.keeping.2: expected one of in_use",
    ),
    "when: list of numbers": (
        {"months": 6, "when": {"nuclide": [1]}},
        "when.nuclide.1: expected a",
    ),
    "when: number alone": (
        {"months": 6, "when": {"activity_bq": 5}},
        "when.activity_bq: expected a",
    ),
    "when: no comparator": ({"months": 6, "when": {"activity_bq": {}}}, "expected exactly one of"),
    "when: two comparators": (
        {"months": 6, "when": {"activity_bq": {"below": 5, "above": 1}}},
        "when.activity_bq.above: expected exactly one of below, at_most, above, at_least, found 2",
    ),
    "when: comparator unknown": (
        {"months": 6, "when": {"activity_bq": {"under": 5}}},
        "when.activity_bq.below: expected exactly one",
    ),
    "when: more": (
        {"months": 6, "when": {"activity_bq": {"below": 5, "unit": "Bq"}}},
        "when.activity_bq.unit: is not a field",
    ),
    "when: endless": (
        {"months": 6, "when": {"activity_bq": {"below": float("inf")}}},
        "of 0 or more",
    ),
    "when: no number": ({"months": 6, "when": {"activity_bq": {"below": float("nan")}}}, "of 0 or"),
    "when: below 0": ({"months": 6, "when": {"activity_bq": {"below": -1}}}, "of 0 or more"),
    "when: yes": ({"months": 6, "when": {"activity_bq": {"below": True}}}, "expected a number"),
    "when: half a month": ({"months": 6, "when": {"age_months": {"below": 1.5}}}, "a whole number"),
    "when: table missing": ({"months": 6, "when": {"quotient": {"below": 1}}}, "table: is missing"),
    "when: table elsewhere": (
        {"months": 6, "when": {"activity_bq": {"below": 1, "table": "x"}}},
        "activity_bq.table: is not a field",
    ),
    "when: series of nothing": ({"months": 6, "when": {"series": {"months": 6}}}, "of: is missing"),
    "when: series of 0": (
        {"months": 6, "when": {"series": {"of": "leak_test", "months": 0}}},
        "series.months: expected a whole number from 1",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused(case):
    said, sentence = REFUSED[case]
    assert sentence in fault(**said)


def test_a_row_that_is_no_table_is_refused():
    with pytest.raises(RuleFault, match=r"x: expected a table, found \[\]"):
        row_from("x", [])


def test_a_table_of_nuclides_must_be_there():
    data = {**row_data(row(months=6)), "when": {"quotient": {"table": "eq", "below": 1}}}
    assert row_from("x", data, {"eq"}).when[0][1].table == "eq"
    with pytest.raises(RuleFault, match=r"x\.when\.quotient\.table: expected one of other"):
        row_from("x", data, {"other"})


# --- rows together ------------------------------------------------------------------------------

TABLE = """
[[row]]
id = "more"
requirement = "{requirement}"
document = "Invented rules"
clause = "9"
known_by = "own"
{more}
"""


def with_row(more: str, requirement: str = "leak_test") -> str:
    return TABLE.format(more=more, requirement=requirement)


def test_two_defaults_with_different_numbers_are_refused(tmp_path):
    fault = fault_with(tmp_path, with_row("months = 7"))
    assert fault.startswith("xx-3.toml, row more: says 7 months and row leak.default says 6 months")
    assert "xx-3.toml, row more: says 6 d" in fault_with(tmp_path, with_row("days = 6"))


@pytest.mark.parametrize(
    "more",
    ["months = 6", 'months = 7\nmode = "adds"', "months = 7\nwhen = { gas = true }"],
)
def test_rows_that_do_not_contradict_are_read(tmp_path, more):
    assert len(load(write(tmp_path, GOOD + with_row(more))).rows) == 4


@pytest.mark.parametrize(
    "more", ['result = "entry"\nentry = "first_use"', "months = 6\nwhen = { gas = false }"]
)
def test_a_requirement_needs_more_than_conditions_and_entries(tmp_path, more):
    fault = fault_with(tmp_path, with_row(more, "shutter_check"))
    assert "xx-3.toml, shutter_check: needs a row without conditions" in fault


def test_a_rule_file_has_no_requirement_of_a_site(tmp_path):
    fault = fault_with(tmp_path, with_row("months = 6", "own-lightning"))
    assert "xx-3.toml, own-lightning: is not a requirement of this rule set" in fault


@pytest.mark.parametrize(
    "more", ['authority = "site"', 'loosened_because = "x"', 'decided_by = "x"']
)
def test_a_rule_file_has_no_decision_of_a_site(tmp_path, more):
    fault = fault_with(tmp_path, with_row(f"months = 6\n{more}"))
    assert "is for the schedule of a site, not for a rule file" in fault


def test_a_rule_file_has_numbers_and_dates_and_no_text_for_them(tmp_path):
    assert "row[4].months: expected a whole number" in fault_with(
        tmp_path, with_row('months = "6"')
    )
    more = with_row('months = 6\nchecked_on = "2025-05-01"')
    assert "row[4].checked_on: expected a date" in fault_with(tmp_path, more)
