"""A site's schedule beside its templates, row by row and field by field."""

from __future__ import annotations

import pytest

from inventory.rules.adopted import assemble, base
from inventory.rules.differences import altered, differences
from inventory.rules.load import template
from tests.inventory.rules.invented import row_table, rules_in, schedule


@pytest.fixture(autouse=True)
def rules(tmp_path):
    with rules_in(tmp_path):
        yield


def test_a_schedule_of_one_template_differs_from_it_in_nothing():
    found = differences(assemble(schedule()), base(schedule()))
    assert {(one.kind, one.verdict) for one in found} == {("unchanged", "same")}
    assert len(found) == len(template("aa", 1).rows)


def test_every_row_is_added_altered_removed_or_unchanged():
    detail = schedule(
        rows=[row_table(id="leak.default", months="3", clause="own"), row_table(mode="adds")],
        removed=[{"id": "leak.small"}],
    )
    found = differences(assemble(detail), base(detail))
    assert [(one.kind, one.row_id, one.verdict) for one in found] == [
        ("altered", "leak.default", "tightened"),
        ("unchanged", "calibration.default", "same"),
        ("added", "own.leak", "tightened"),
        ("removed", "leak.small", "tightened"),
    ]


def test_an_altered_row_names_each_field_before_and_after():
    detail = schedule(rows=[row_table(id="leak.default", months="3")])
    (one,) = altered(assemble(detail), base(detail))
    said = {change.field: (change.old, change.new) for change in one.fields}
    assert said == {
        "months": (24, 3),
        "document": ("Alpha rules", "Own"),
        "clause": ("7 (a)", "1"),
    }


def test_a_new_version_of_a_template_is_seen_as_its_changed_rows():
    (one,) = altered(template("aa", 2), template("aa", 1))
    assert (one.row_id, one.verdict) == ("leak.default", "tightened")
