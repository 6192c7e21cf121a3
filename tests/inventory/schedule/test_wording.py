"""Every word that a rule can use has one that people can read."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from inventory.calc.explain import Cite
from inventory.rules import schema
from inventory.rules.extras import KEPT, KINDS, NUCLIDE_CLASSES, PURPOSES
from inventory.rules.load import FOLDER, load
from inventory.rules.schema import Bound, Row
from inventory.schedule import other_parts
from inventory.schedule.condition_fields import NAMES
from inventory.schedule.condition_words import condition, conditions
from inventory.schedule.spoken import word
from inventory.schedule.wording import on_whose_word, row_sentence, stands
from inventory.schedule.words import FIELDS, VALUES, WITH_VALUE, YES_NO
from tests.inventory.rules.invented import row

TEST_ONLY = Path(__file__).resolve().parents[2] / "data" / "rulesets"
FILES = sorted([*FOLDER.glob("*.toml"), *TEST_ONLY.glob("*.toml")])


def test_every_condition_and_field_has_a_word():
    assert {*YES_NO, *WITH_VALUE} >= schema.CONDITIONS.keys()
    assert NAMES.keys() == schema.CONDITIONS.keys()
    names = {one.name for one in (*fields(Row), *fields(Cite))} - {"id", "cite"}
    assert FIELDS.keys() == names


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("result", schema.RESULTS),
        ("mode", schema.MODES),
        ("ends", schema.ENDS),
        ("late_from", schema.LATE_FROM),
        ("entry", schema.ENTRIES),
        ("trait", schema.TRAIT_DATES),
        ("what", schema.HAPPENINGS),
        ("compared", schema.COMPARATORS),
        *((name, values) for name, values in schema.VALUES.items() if name != "series"),
    ],
)
def test_every_value_of_a_rule_has_a_word(name, values):
    assert [value for value in values if word(name, value) == value and "_" in value] == []
    assert all(word(name, value) for value in values)
    if name not in ("what",):
        assert {f"{name}:{value}" for value in values} <= VALUES.keys()


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("trigger", schema.TRIGGERS),
        ("kept_from", [one for one in schema.KEEP_FROM if one != "for_ever"]),
        ("purpose", PURPOSES),
        ("kind_of_level", KINDS),
        ("nuclides", NUCLIDE_CLASSES),
        ("quantity", schema.AREA_QUANTITIES),
    ],
)
def test_every_value_of_the_other_parts_has_a_word(name, values):
    assert {f"{name}:{value}" for value in values} <= other_parts.WORDS.keys()


def test_every_kind_of_record_that_is_kept_has_a_word():
    assert [kind for kind in KEPT if "_" in other_parts.record_word(kind)] == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_rule_set_can_be_read_aloud(path):
    rules = load(path)
    said = [f"{row_sentence(row, rules.tables)} {stands(row)}" for row in rules.rows]
    said += [one.text for _title, some in other_parts.sections(rules) for one in some]
    assert all(text.strip().endswith(".") for text in said)
    codes = {value for some in schema.VALUES.values() for value in some if "_" in value}
    codes |= {name for name in schema.CONDITIONS if "_" in name} | {"None", "Bound"}
    assert [text for text in said if any(code in text.split() for code in codes)] == []
    assert all(on_whose_word(row).count(row.cite.clause) for row in rules.rows)


SENTENCES = [
    ({"months": 24}, "Every 24 months."),
    ({"months": 1}, "Every month."),
    ({"months": 60}, "Every 5 years."),
    ({"days": 1}, "Every day."),
    ({"days": 7, "grace_days": 1}, "Every 7 days, and 1 day of grace."),
    ({"months": 12, "ends": "calendar_year"}, "Once per calendar year."),
    (
        {"months": 24, "ends": "end_of_year", "late_from": "old_due", "unused_months": 12},
        "Every 24 months, to 31 December of that year; a late test does not move the days after "
        "it, unless it was unused for more than 12 months.",
    ),
    (
        {"result": "until", "trait": "working_life_until"},
        "By the end of its working life.",
    ),
    (
        {"result": "until", "trait": "made_on", "months": 120},
        "10 years after the day it was made.",
    ),
    (
        {"result": "entry", "entry": "after_storage", "stored_months": 12, "fresh_months": 6},
        "Before use after storage of at least 12 months; a test up to 6 months old is new enough.",
    ),
    (
        {"result": "entry", "entry": "happening", "happenings": ["repair"], "within_days": 30},
        "After repair, at the latest 30 days after.",
    ),
    (
        {"result": "on_hold", "when": {"keeping": "stored"}, "ceiling_months": 120},
        "On hold, test before use; as long as an accounting check has seen it within 12 months, "
        "and never longer than 10 years after the last test, where it is kept in storage.",
    ),
    (
        {"result": "not_required", "when": {"gas": True, "nuclide": ["H-3", "Kr-85"]}},
        "Not required, where it is a gas and the nuclide is H-3 or Kr-85.",
    ),
]


@pytest.mark.parametrize(("table", "said"), SENTENCES)
def test_a_row_is_one_sentence(table, said):
    assert row_sentence(row(**table)) == said


def test_a_table_that_nobody_has_is_called_by_its_name():
    assert condition("quotient", Bound("below", 1, "free"), {}) == (
        "its activity is below the value in “free”"
    )
    assert conditions(()) == ""
