"""Tightening is free, loosening is not: which is which, field by field."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.rules.contradictions import check
from inventory.rules.load import templates
from inventory.rules.strictest import left
from inventory.rules.strictness import adding, loosens, removing, weigh
from tests.inventory.rules.invented import row

SMALL = {"activity_bq": {"below": 50e6}}
LARGE = {"activity_bq": {"below": 100e6}}
EXEMPT = {"result": "not_required", "when": SMALL}
HOLD = {"result": "on_hold", "when": {"keeping": "stored"}}
ENTRY = {"result": "entry", "entry": "first_use"}
STORED = {"result": "entry", "entry": "after_storage"}
HAPPENED = {"result": "entry", "entry": "happening", "happenings": ["damage"]}
LIFE = {"result": "until", "trait": "working_life_until"}
OLD_DUE = {"late_from": "old_due"}

#: What a row says before, what it says after, and what that means.
CASES = [
    ({}, {}, "same"),
    ({}, {"months": 3}, "tightened"),
    ({}, {"months": 7}, "loosened"),
    ({"months": 600}, {"months": 599}, "tightened"),
    ({"days": 30}, {"days": 31}, "loosened"),
    ({"days": 30}, {"days": 29}, "tightened"),
    ({"months": 1}, {"days": 28}, "tightened"),
    ({"months": 1}, {"days": 29}, "loosened"),  # a February has 28
    ({"days": 31}, {"months": 1}, "tightened"),
    ({"days": 30}, {"months": 1}, "loosened"),
    ({}, {"lead_days": 90}, "changed"),
    ({}, {"note": "as the adviser said"}, "changed"),
    ({}, {"clause": "2"}, "changed"),
    ({}, {"authority": "adviser"}, "changed"),
    ({}, {"grace_days": 14}, "loosened"),
    ({"grace_days": 14}, {"grace_days": 7}, "tightened"),
    ({}, {"ends": "calendar_year"}, "loosened"),
    ({"ends": "end_of_year"}, {}, "tightened"),
    ({"ends": "end_of_year"}, {"ends": "calendar_year"}, "changed"),
    ({}, OLD_DUE, "tightened"),
    (OLD_DUE, {}, "loosened"),
    (OLD_DUE, OLD_DUE | {"unused_months": 12}, "loosened"),
    (OLD_DUE | {"unused_months": 12}, OLD_DUE | {"unused_months": 24}, "tightened"),
    (OLD_DUE | {"unused_months": 12}, OLD_DUE | {"unused_months": 6}, "loosened"),
    ({}, {"in_force_from": "2027-01-01"}, "loosened"),
    ({"in_force_from": "2027-01-01"}, {"in_force_from": "2026-01-01"}, "tightened"),
    # what it asks
    ({}, {"result": "undecided"}, "loosened"),
    ({}, {"result": "not_required"}, "loosened"),
    ({}, HOLD, "loosened"),
    ({"result": "undecided"}, {}, "tightened"),
    ({"result": "undecided"}, HOLD, "loosened"),
    (HOLD, {"result": "not_required", "when": {"keeping": "stored"}}, "loosened"),
    (HOLD, {}, "tightened"),
    (EXEMPT, {}, "tightened"),
    ({}, ENTRY, "loosened"),
    (ENTRY, {}, "loosened"),  # a first test and an interval: neither is stricter
    (LIFE, {}, "loosened"),
    # until, entry, hold
    (LIFE, LIFE | {"months": 6}, "loosened"),
    (LIFE | {"months": 12}, LIFE | {"months": 6}, "tightened"),
    (LIFE, {"result": "until", "trait": "valid_until"}, "loosened"),
    (ENTRY, ENTRY | {"fresh_months": 6}, "loosened"),
    (ENTRY | {"fresh_days": 30}, ENTRY, "tightened"),
    (ENTRY, ENTRY | {"within_days": 30}, "loosened"),
    (ENTRY, {"result": "entry", "entry": "receipt"}, "loosened"),
    (STORED, STORED | {"stored_months": 6}, "loosened"),
    (STORED, STORED | {"stored_comparator": "more_than"}, "loosened"),
    (HAPPENED, HAPPENED | {"happenings": ["damage", "repair"]}, "tightened"),
    (HAPPENED, HAPPENED | {"happenings": ["repair"]}, "loosened"),
    (HOLD, HOLD | {"seen_months": 24}, "loosened"),
    (HOLD, HOLD | {"ceiling_months": 120}, "tightened"),
    (HOLD | {"ceiling_months": 120}, HOLD, "loosened"),
    # whom it holds for
    ({"when": SMALL}, {"when": LARGE}, "tightened"),
    ({"when": LARGE}, {"when": SMALL}, "loosened"),
    ({"when": SMALL}, {}, "tightened"),
    ({}, {"when": SMALL}, "loosened"),
    (EXEMPT, EXEMPT | {"when": LARGE}, "loosened"),
    (EXEMPT | {"when": LARGE}, EXEMPT, "tightened"),
    (EXEMPT, EXEMPT | {"when": SMALL | {"gas": False}}, "tightened"),
    (EXEMPT, EXEMPT | {"when": {"gas": True}}, "loosened"),
    (
        EXEMPT | {"when": {"nuclide": ["H-3", "Kr-85"]}},
        EXEMPT | {"when": {"nuclide": "H-3"}},
        "tightened",
    ),
    (
        EXEMPT | {"when": {"nuclide": "H-3"}},
        EXEMPT | {"when": {"nuclide": ["H-3", "Kr-85"]}},
        "loosened",
    ),
    (
        EXEMPT | {"when": {"activity_bq": {"below": 1}}},
        EXEMPT | {"when": {"activity_bq": {"at_most": 1}}},
        "loosened",
    ),
    (EXEMPT, EXEMPT | {"when": {"activity_bq": {"above": 50e6}}}, "loosened"),
    # how it stands to others
    ({}, {"mode": "adds"}, "tightened"),
    ({"mode": "adds"}, {}, "loosened"),
    ({}, {"mode": "replaces"}, "loosened"),
    (EXEMPT, EXEMPT | {"mode": "default"}, "tightened"),
    (EXEMPT | {"mode": "default"}, EXEMPT, "loosened"),
    # several at a time: the loosest word counts
    ({}, {"months": 3, "grace_days": 14}, "loosened"),
    ({}, {"months": 3, "note": "shorter"}, "tightened"),
]


@pytest.mark.parametrize("case", range(len(CASES)))
def test_a_change_is_weighed(case):
    before, after, verdict = CASES[case]
    assert weigh(row(**before), row(**after)) == verdict


@given(st.integers(1, 600), st.integers(1, 600))
def test_a_shorter_interval_tightens_and_a_longer_one_loosens(before, after):
    verdict = weigh(row(months=before), row(months=after))
    assert verdict == ("same" if before == after else "tightened" if after < before else "loosened")


@pytest.mark.parametrize("case", range(len(CASES)))
def test_no_change_and_its_reverse_are_both_free(case):
    before, after, _verdict = CASES[case]
    there = weigh(row(**before), row(**after))
    back = weigh(row(**after), row(**before))
    if "tightened" in (there, back):
        assert "loosened" in (there, back)


@pytest.mark.parametrize(
    ("own", "verdict"),
    [
        ({}, "tightened"),
        ({"mode": "adds"}, "tightened"),
        ({"when": {"portable": True}}, "tightened"),
        ({"mode": "replaces", "months": 6}, "tightened"),
        ({"mode": "replaces", "months": 36}, "loosened"),
        ({"mode": "replaces", "result": "undecided"}, "loosened"),
        ({"result": "undecided", "mode": "adds"}, "tightened"),
        (EXEMPT, "loosened"),
        (HOLD, "loosened"),
        ({"result": "not_required", "mode": "replaces"}, "loosened"),
        ({"result": "not_required", "mode": "adds"}, "changed"),
    ],
)
def test_an_added_row_is_weighed_against_what_is_there(own, verdict):
    there = [row(id="leak.default", months=24), row(id="leak.small", **EXEMPT)]
    assert adding(row(**own), there) == verdict


@pytest.mark.parametrize("beginning", [ENTRY, STORED, HAPPENED])
def test_a_number_beside_a_test_at_a_beginning_takes_it_not_away(beginning):
    there = [row(id="leak.default", months=24), row(id="leak.first", **beginning)]
    label = row(mode="replaces")
    assert there[1] in left([label, *there])  # as it is decided
    assert adding(label, there) == "tightened"
    assert adding(row(mode="replaces", months=36), there) == "loosened"


def test_what_is_not_required_where_nothing_was_said_loosens():
    assert adding(row(result="not_required"), []) == "loosened"


@pytest.mark.parametrize(
    ("own", "verdict"),
    [
        ({}, "loosened"),
        ({"mode": "adds"}, "loosened"),
        ({"result": "undecided", "mode": "replaces"}, "loosened"),
        (EXEMPT, "tightened"),
        (HOLD, "tightened"),
        ({"result": "not_required", "mode": "replaces"}, "loosened"),
    ],
)
def test_a_removed_row_is_weighed(own, verdict):
    assert removing(row(**own)) == verdict


def test_only_what_loosens_needs_a_reason():
    default, stricter = row(id="leak.default", months=24), row(months=3)
    assert loosens(stricter, default)
    assert not loosens(default, stricter)
    assert loosens(default, None)
    assert not loosens(None, stricter, [default])
    assert loosens(None, row(**EXEMPT), [default])


def test_no_released_rule_set_contradicts_itself():
    assert [check(rules) for rules in templates()]
