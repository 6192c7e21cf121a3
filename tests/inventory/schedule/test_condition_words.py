"""The conditions of rows in words: on the schedule page and in an explanation the same."""

from __future__ import annotations

import pytest

from inventory.rules.conditions import as_text, from_text
from inventory.rules.load import templates
from inventory.schedule.condition_words import conditions
from inventory.sentences import value_text

ROWS = [
    pytest.param(row, rules.tables, id=f"{rules.id}-{rules.version} {row.id}")
    for rules in templates()
    for row in rules.rows
    if row.when
]


@pytest.mark.parametrize(("row", "tables"), ROWS)
def test_an_explanation_says_what_the_schedule_page_says(row, tables):
    text = as_text(row.when, tables)
    said = value_text("row_conditions", text)
    assert said == conditions(row.when, tables)
    assert "_" not in said and "=" not in said
    assert [name for name, _wanted in from_text(text)] == [name for name, _wanted in row.when]


def test_there_are_rows_of_every_shipped_rule_set():
    assert {param.id.split(" ")[0] for param in ROWS} >= {"gb-2", "us_general-1", "ca-1", "de-1"}
