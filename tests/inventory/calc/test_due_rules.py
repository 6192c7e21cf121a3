"""Rows of every kind together: the time line says on every day what the day says, a change of one
value changes what it must, and nothing moves but the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.due import (
    Companion,
    Confirmation,
    Event,
    Facts,
    Holder,
    Schedule,
    Setting,
    Traits,
    decide,
    spans,
)
from inventory.calc.explain import Cite
from inventory.calc.stays import OPEN_END, StaySpan
from inventory.rules.schema import (
    Basis,
    Bound,
    LimitRow,
    NuclideTable,
    Row,
    RuleSet,
)

CITE = Cite("Invented rules", "clause 7", known_by="own")
LIMIT = LimitRow(200, "reaches", 200, 0.1, CITE)
TABLE = NuclideTable("levels", "Levels", {"Cs-137": 1e4, "Am-241": 1e4}, CITE)
FIRST = date(2024, 1, 1)
WINDOW = 300
DAYS = st.integers(0, WINDOW).map(lambda n: FIRST + timedelta(days=n))
#: A nuclide that halves in 20 days: levels are crossed inside the window.
HALF_LIFE = 20.0


def row(row_id: str, result: str = "interval", months: int | None = None, **fields: Any) -> Row:
    when = tuple(sorted(fields.pop("when", {}).items()))
    usual = {"not_required": "exempts" if when else "default", "on_hold": "suspends"}
    values = {"lead_days": 10, "mode": usual.get(result, "default")} | fields
    return Row(row_id, "leak_test", result, months, cite=CITE, when=when, **values)


ROWS = {
    "default": row("default", months=3),
    "bare": row("bare", months=1, when={"in_device": False}),
    "year": row("year", months=12, ends="end_of_year", late_from="old_due", unused_months=2),
    "stored": row("stored", months=5, mode="replaces", when={"keeping": "stored"}),
    "hold": row("hold", "on_hold", seen_months=2, when={"keeping": "stored"}),
    "ceiling": row("ceiling", "on_hold", ceiling_months=6, when={"keeping": "standby"}),
    "first": row("first", "entry", entry="first_use", fresh_months=1),
    "again": row("again", "entry", entry="after_storage", stored_months=1, fresh_days=3),
    "over": row(
        "over", "entry", entry="after_storage", stored_months=1, stored_comparator="more_than"
    ),
    "receipt": row("receipt", "entry", entry="receipt", within_days=5),
    "damage": row("damage", "entry", entry="happening", happenings=("damage",)),
    "small": row("small", "not_required", when={"activity_bq": Bound("below", 5e4)}),
    "quota": row("quota", "not_required", when={"device_quotient": Bound("at_most", 3, "levels")}),
    "alone": row("alone", "undecided", mode="adds", when={"quotient": Bound("below", 2, "levels")}),
    "hass": row("hass", months=2, mode="adds", when={"hass": True}),
    "old": row("old", months=1, mode="adds", when={"age_months": Bound("at_least", 4)}),
    "kept": row("kept", "not_required", when={"kept_months": Bound("below", 1)}),
    "past": row("past", months=1, mode="replaces", when={"working_life_past": True}),
    "series": row(
        "series",
        months=9,
        mode="replaces",
        when={"series": Bound("at_most", 1, "check_device_reading")},
    ),
    "until": row("until", "until", months=2, trait="valid_until", mode="adds"),
    "away": row("away", "not_required", when={"whereabouts": "away"}),
    "daily": row("daily", days=20, mode="adds", when={"portable": True}),
}


def rules(*names: str, **fields: Any) -> RuleSet:
    basis = fields.pop("basis", Basis(working_life_months=7))
    return RuleSet(
        "invented", 1, "Invented", "0" * 64, tuple(ROWS[name] for name in names), LIMIT,
        tables={"levels": TABLE}, basis=basis, **fields,
    )  # fmt: skip


def traits(on: date = FIRST, **values: Any) -> Traits:
    usual = {
        "nuclide": "Cs-137",
        "gas": False,
        "half_life_days": HALF_LIFE,
        "activity_bq": 1e5,
        "reference_on": FIRST,
        "hass_tbq": 8e-8,
    }
    return Traits(on, usual | values)


@st.composite
def random_stays(draw: Any) -> list[StaySpan]:
    cuts = sorted(draw(st.sets(DAYS, min_size=1, max_size=6)))
    ends = [*(day - timedelta(days=1) for day in cuts[1:]), OPEN_END]
    out = []
    for begin, end in zip(cuts, ends, strict=True):
        keeping = draw(st.sampled_from(["in_use", "in_use", "stored", "standby", "packed"]))
        where = draw(st.sampled_from(["at_location", "in_gauge", "out", "away"]))
        gauge = 7 if where == "in_gauge" else draw(st.sampled_from([None, None, 7]))
        if draw(st.integers(0, 9)):
            out.append(StaySpan(begin, end, gauge, 1, where, keeping))
    return out


@st.composite
def random_facts(draw: Any) -> Facts:
    events = []
    kinds = ["leak_test", "leak_test", "accounting_check", "missing", "happening"]
    for seq in range(1, draw(st.integers(1, 9))):
        kind = draw(st.sampled_from([*kinds, "check_device_reading", "check_device_reading"]))
        outcome = draw(st.sampled_from(["pass", "pass", "pass", "fail"]))
        events.append(
            Event(
                seq + 100, seq, kind, draw(DAYS),
                outcome="" if kind == "happening" else "fail" if kind == "missing" else outcome,
                accuses=outcome == "fail" or kind == "missing",
                live=draw(st.sampled_from([True, True, True, False])),
                what="damage" if kind == "happening" else "",
            )
        )  # fmt: skip
    described = [traits(FIRST)]
    for day in sorted(draw(st.sets(DAYS, max_size=2))):
        described.append(
            traits(
                day,
                activity_bq=draw(st.sampled_from([None, 3e4, 2e5])),
                made_on=draw(st.sampled_from([None, FIRST, FIRST + timedelta(days=31)])),
                valid_until=draw(st.none() | DAYS),
                working_life_until=draw(st.none() | DAYS),
            )
        )
    names = draw(st.lists(st.sampled_from(sorted(ROWS)), min_size=1, max_size=7, unique=True))
    later = draw(st.lists(st.sampled_from(sorted(ROWS)), min_size=1, max_size=5, unique=True))
    setting = Setting(draw(DAYS), replace(ROWS["default"], id="label", mode="replaces", months=2))
    return Facts(
        1, "source", events, draw(random_stays()), described,
        schedules=[Schedule(FIRST, rules(*names)), Schedule(draw(DAYS), rules(*later))],
        settings=[setting] if draw(st.booleans()) else [],
        confirmations=[Confirmation("leak_test", day) for day in draw(st.sets(DAYS, max_size=2))],
        holders={7: Holder([Traits(FIRST, {"portable": draw(st.booleans())})])},
        companions=[
            Companion(
                [StaySpan(draw(DAYS), OPEN_END, 7, 1, "in_gauge")],
                [traits(nuclide="Am-241", activity_bq=draw(st.sampled_from([1e4, None])))],
            )
        ] if draw(st.booleans()) else [],
    )  # fmt: skip


AHEAD = [FIRST + timedelta(days=n) for n in [-400, *range(-2, WINDOW + 400), 2000, 9000, 40000]]


@settings(max_examples=150, deadline=None)
@given(random_facts())
def test_the_time_line_says_on_every_day_what_the_day_says(known):
    line = spans(known, "leak_test")
    for day in AHEAD:
        said = next(one.decision for one in line if one.from_on <= day <= one.until_on)
        assert said == decide(known, "leak_test", day).value, day
    for one, following in pairwise(line):
        assert one.until_on + timedelta(days=1) == following.from_on
        assert one.decision != following.decision


@settings(max_examples=60, deadline=None)
@given(random_facts(), DAYS)
def test_every_row_that_is_looked_at_is_named_in_the_explanation(known, on):
    said = decide(known, "leak_test", on)
    if not known.stay_on(on) or said.value.state == "failed":
        return
    schedule = known.schedule_on(on)
    named = {step.values.get("row") for top in said.steps for step in top.walk()}
    wanted = {row.id for row in schedule.rules.rows} | {
        row.id for row in known.settings_on("leak_test", on)
    }
    assert wanted <= named


# --- nothing moves but the day ---------------------------------------------------------------

HERE = [StaySpan(FIRST, OPEN_END, None, 1)]


def states(known: Facts, days: list[date]) -> list[tuple[str, str]]:
    decisions = [decide(known, "leak_test", day).value for day in days]
    return [(one.state, one.proposed) for one in decisions]


def test_an_exemption_is_proposed_on_the_day_of_the_crossing_and_holds_when_confirmed():
    known = Facts(
        1, "source", [Event(1, 1, "leak_test", FIRST, outcome="pass")], HERE, [traits()],
        schedules=[Schedule(FIRST, rules("default", "small"))],
    )  # fmt: skip
    crossing = FIRST + timedelta(days=21)  # 1e5 Bq is exactly 5e4 after 20 days: not yet below
    days = [crossing - timedelta(days=1), crossing]
    assert states(known, days) == [("dated", ""), ("dated", "small")]
    assert any(one.from_on == crossing for one in spans(known, "leak_test"))
    confirmed = replace(known, confirmations=[Confirmation("leak_test", crossing)])
    assert states(confirmed, days) == [("dated", ""), ("not_required", "")]
    early = replace(known, confirmations=[Confirmation("leak_test", days[0])])
    assert states(early, days) == [("dated", ""), ("dated", "small")]


def test_what_was_below_on_its_first_day_is_exempt_at_once():
    known = Facts(
        1, "source", [], [StaySpan(FIRST + timedelta(days=30), OPEN_END, None, 1)], [traits()],
        schedules=[Schedule(FIRST, rules("default", "small"))],
    )  # fmt: skip
    assert states(known, [FIRST + timedelta(days=30)]) == [("not_required", "")]


def test_an_age_begins_on_its_day():
    known = Facts(
        1, "source", [Event(1, 1, "leak_test", FIRST, outcome="pass")], HERE,
        [traits(made_on=FIRST)], schedules=[Schedule(FIRST, rules("default", "old"))],
    )  # fmt: skip
    days = [date(2024, 4, 30), date(2024, 5, 1)]
    assert [decide(known, "leak_test", day).value.row for day in days] == ["default", "old"]


def passed(on: date) -> Event:
    return Event(1, 1, "leak_test", on, outcome="pass")


def test_a_day_on_standby_on_the_way_out_of_the_store_is_no_use():
    """Common practice, no source: the rules ask for a test before use after storage, however long
    the way from one to the other took."""
    taken_out = date(2024, 6, 1)
    for way in ((), (("standby", 1),), (("standby", 40),), (("packed", 3),)):
        stays, begin = [StaySpan(FIRST, taken_out, None, 1, keeping="stored")], taken_out
        for keeping, days in way:
            until = begin + timedelta(days=days)
            stays.append(StaySpan(begin + timedelta(1), until, None, 1, keeping=keeping))
            begin = until
        stays.append(StaySpan(begin + timedelta(1), OPEN_END, None, 1))
        known = Facts(
            *(1, "source", [passed(FIRST)], stays, [traits()]),
            schedules=[Schedule(FIRST, rules("year", "again"))],
        )
        assert decide(known, "leak_test", begin + timedelta(1)).value.row == "again", way


def test_a_test_without_its_time_does_not_answer_damage_of_the_same_day():
    for pass_at, damaged_at, row_id in (
        (None, time(14), "damage"),
        (time(15), time(14), "year"),
        (None, None, "year"),
    ):
        struck = Event(1, 1, "happening", FIRST, what="damage", time=damaged_at)
        tested = replace(passed(FIRST), record=2, seq=2, time=pass_at)
        known = Facts(
            *(1, "source", [struck, tested], HERE, [traits()]),
            schedules=[Schedule(FIRST, rules("year", "damage"))],
        )
        assert decide(known, "leak_test", FIRST).value.row == row_id


def test_a_failure_that_an_older_pass_cannot_outweigh_ends_a_ceiling():
    failed = replace(passed(FIRST + timedelta(9)), record=2, seq=2, outcome="fail", accuses=True)
    stays = [StaySpan(FIRST, OPEN_END, None, 1, keeping="standby")]
    known = Facts(
        *(1, "source", [passed(FIRST), failed], stays, [traits()]),
        schedules=[Schedule(FIRST, rules("default", "ceiling"))],
    )
    decision = decide(known, "leak_test", FIRST + timedelta(20)).value
    assert (decision.state, decision.record) == ("never_done", 2)


def test_what_is_missing_is_neither_on_hold_nor_accounted_for_until_it_is_found():
    """With its gauge, so that no record of its own says so."""
    gone, back = date(2024, 3, 1), date(2024, 5, 1)
    missing = StaySpan(gone, back - timedelta(1), 7, None, "missing", "stored")
    stays = [
        StaySpan(FIRST, gone - timedelta(1), 7, 1, "in_gauge", "stored"),
        *(missing, StaySpan(back, OPEN_END, 7, 1, "in_gauge", "stored")),
    ]
    monthly = replace(row("monthly", months=1), requirement="accounting_check")
    kinds = (*(ROWS[name] for name in ("default", "hold")), monthly)
    seen = replace(passed(gone + timedelta(5)), kind="accounting_check")
    known = Facts(
        *(1, "source", [passed(FIRST), seen], stays, [traits()]),
        schedules=[Schedule(FIRST, replace(rules("default"), rows=kinds))],
    )
    before, during = gone - timedelta(1), gone + timedelta(6)
    states = [
        decide(known, name, day).value.state
        for day in (before, during, back)
        for name in ("leak_test", "accounting_check")
    ]
    assert states[:1] + states[2:4] == ["on_hold", "dated", "failed"]
    assert states[5] == "never_done"  # what saw it while it was missing is not relied on


def test_a_ceiling_is_reached_on_its_day():
    stays = [StaySpan(FIRST, OPEN_END, None, 1, "at_location", "standby")]
    checks = [Event(n, n, "accounting_check", FIRST + timedelta(days=60 * n), outcome="pass")
              for n in range(1, 6)]  # fmt: skip
    known = Facts(
        1, "source", [Event(99, 99, "leak_test", FIRST, outcome="pass"), *checks], stays,
        [traits()], schedules=[Schedule(FIRST, rules("default", "ceiling"))],
    )  # fmt: skip
    days = [date(2024, 6, 20), date(2024, 6, 21), date(2024, 7, 1), date(2024, 7, 2)]
    assert [one[0] for one in states(known, days)] == ["on_hold", "dated", "dated", "dated"]
    assert decide(known, "leak_test", days[3]).value.state_on(days[3]) == "late"


@pytest.mark.parametrize(
    ("changed", "due_on"),
    [
        ({}, date(2024, 4, 1)),
        ({"months": 4}, date(2024, 5, 1)),
        ({"grace_days": 3}, date(2024, 4, 4)),
        ({"months": None, "days": 10}, date(2024, 1, 11)),
        ({"ends": "end_of_year"}, date(2024, 12, 31)),
    ],
)
def test_changing_one_value_of_a_rule_changes_the_date_and_its_explanation(changed, due_on):
    told = rules("default")
    told = replace(told, rows=(replace(told.rows[0], **changed),))
    event = Event(1, 1, "leak_test", FIRST, outcome="pass")
    known = Facts(1, "source", [event], HERE, [traits()], schedules=[Schedule(FIRST, told)])
    said = decide(known, "leak_test", FIRST)
    assert said.value.due_on == due_on
    steps = {step.code: step.values for top in said.steps for step in top.walk()}
    assert steps["due_on"]["due_on"] == due_on
    for name, value in changed.items():
        if name == "grace_days":
            assert steps["due_grace"]["days"] == value
        elif name == "ends":
            assert "due_by_end_of_year" in steps
        elif value is not None:
            assert any(one.get(name) == value for one in steps.values())
