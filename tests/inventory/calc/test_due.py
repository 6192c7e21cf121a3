"""What is due, by the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.due import (
    AWAITED,
    DATED,
    DUE_SOON,
    FAILED,
    GOOD,
    LATE,
    LONG_AGO,
    NEVER_DONE,
    NOT_REQUIRED,
    UNDECIDED,
    URGENCY,
    Event,
    Facts,
    OpenPoint,
    Schedule,
    Traits,
    breakpoints,
    decide,
    spans,
    state_on,
)
from inventory.calc.explain import Cite
from inventory.calc.stays import MISSING, OPEN_END, StaySpan
from inventory.rules.schema import CALIBRATION, LEAK_TEST, LimitRow, Row, RuleSet
from tests.oracle import due_by_day

FEW = settings(max_examples=120, deadline=None)
CITE = Cite("Invented rules", "clause 7", known_by="own")
LIMIT = LimitRow(200, "reaches", 200, 0.1, CITE)
ALWAYS_HERE = (StaySpan(LONG_AGO, OPEN_END, None, 1),)


def row(
    months: int | None = 6,
    *,
    row_id: str = "leak.default",
    requirement: str = LEAK_TEST,
    result: str = "interval",
    lead_days: int = 30,
    mode: str = "default",
    cite: Cite = CITE,
    note: str = "",
    **when: Any,
) -> Row:
    months = months if result == "interval" else None
    conditions = tuple(sorted(when.items()))
    return Row(row_id, requirement, result, months, lead_days, mode, conditions, cite, note)


def schedule(*rows: Row, from_on: date = LONG_AGO, **fields: Any) -> Schedule:
    rules = RuleSet("invented", 1, "Invented", "0" * 64, rows or (row(),), LIMIT)
    return Schedule(from_on, rules, **fields)


def wiped(on: date, number: int = 1, **fields: Any) -> Event:
    return Event(number, number, **({"kind": "leak_test", "on": on, "outcome": "pass"} | fields))


def facts(*events: Event, **fields: Any) -> Facts:
    values = {"stays": ALWAYS_HERE, "schedules": (schedule(),)} | fields
    return Facts(1, "source", events=events, **values)


def said(known: Facts, on: date, requirement: str = LEAK_TEST) -> str:
    return decide(known, requirement, on).value.state_on(on)


def codes(known: Facts, on: date) -> list[str]:
    steps = decide(known, LEAK_TEST, on).steps
    return [inner.code for step in steps for inner in step.walk()]


# --- the due date ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("done_on", "months", "due_on"),
    [
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2025, 2, 28), 6, date(2025, 8, 28)),
        (date(2025, 12, 31), 2, date(2026, 2, 28)),
        (date(2025, 6, 30), 600, date(2075, 6, 30)),
    ],
)
def test_the_due_date_is_calendar_months_after_the_record(done_on, months, due_on):
    known = facts(wiped(done_on), schedules=(schedule(row(months)),))
    assert decide(known, LEAK_TEST, done_on).value.due_on == due_on


def test_it_is_good_on_the_due_date_and_late_from_the_next_day():
    known = facts(wiped(date(2025, 1, 31)))
    assert said(known, date(2025, 7, 31)) == DUE_SOON
    assert said(known, date(2025, 8, 1)) == LATE
    assert said(facts(wiped(date(2025, 1, 31)), schedules=(schedule(row(lead_days=0)),)),
                date(2025, 7, 30)) == GOOD  # fmt: skip


def test_it_is_due_soon_from_the_first_day_of_the_lead_time():
    known = facts(wiped(date(2025, 1, 31)))
    assert decide(known, LEAK_TEST, date(2025, 5, 1)).value.warn_on == date(2025, 7, 1)
    assert said(known, date(2025, 6, 30)) == GOOD
    assert said(known, date(2025, 7, 1)) == DUE_SOON


def test_a_lead_time_longer_than_the_calendar_is_its_first_day():
    known = facts(wiped(date(1, 1, 5)), schedules=(schedule(row(1, lead_days=10_000)),))
    assert decide(known, LEAK_TEST, date(1, 1, 6)).value.warn_on == LONG_AGO


def test_an_interval_beyond_the_calendar_ends_with_it():
    known = facts(wiped(date(9990, 1, 1)), schedules=(schedule(row(600)),))
    assert decide(known, LEAK_TEST, date(9999, 12, 31)).value.due_on == date.max


@pytest.mark.parametrize(
    ("valid_until", "due_on"),
    [
        (date(2025, 5, 1), date(2025, 5, 1)),
        (date(2025, 7, 31), date(2025, 7, 31)),
        (date(2026, 5, 1), date(2025, 7, 31)),
    ],
)
def test_a_certificate_shortens_an_interval_and_never_lengthens_it(valid_until, due_on):
    known = facts(wiped(date(2025, 1, 31), valid_until=valid_until))
    assert decide(known, LEAK_TEST, date(2025, 2, 1)).value.due_on == due_on
    assert said(known, due_on + timedelta(days=1)) == LATE
    assert "due_certificate_until" in codes(known, date(2025, 2, 1))


def test_a_shorter_certificate_of_the_last_record_is_not_saved_by_an_older_one():
    known = facts(
        wiped(date(2025, 1, 1), 1, valid_until=date(2025, 6, 30)),
        wiped(date(2025, 2, 1), 2, valid_until=date(2025, 3, 1)),
    )
    assert said(known, date(2025, 3, 2)) == LATE


def test_a_record_counts_from_its_own_day_on():
    known = facts(wiped(date(2025, 1, 31)))
    assert said(known, date(2025, 1, 30)) == NEVER_DONE
    assert said(known, date(2025, 1, 31)) == GOOD


def test_an_older_record_entered_later_does_not_move_the_due_date_back():
    known = facts(wiped(date(2025, 3, 1), 1), wiped(date(2025, 1, 1), 2))
    assert decide(known, LEAK_TEST, date(2025, 4, 1)).value.record == 1
    assert decide(known, LEAK_TEST, date(2025, 2, 1)).value.record == 2


@pytest.mark.parametrize(
    ("first", "second", "last"),
    [
        ({}, {}, 2),
        ({"time": time(9)}, {"time": time(8)}, 1),
        ({"time": time(9)}, {"time": time(9)}, 2),
        ({}, {"time": time(23)}, 1),  # without a time: by the end of the day
        ({"time": time(0)}, {"time": time(0, 1)}, 2),
        ({"place": 9}, {}, 1),
        ({}, {"place": 0}, 2),
    ],
)
def test_within_a_day_the_time_orders_and_then_the_recording(first, second, last):
    day = date(2025, 1, 31)
    known = facts(wiped(day, 1, **first), wiped(day, 2, **second))
    assert decide(known, LEAK_TEST, day).value.record == last


def test_a_correction_takes_the_place_of_what_it_corrects():
    day = date(2025, 1, 31)
    known = facts(wiped(day, 1, live=False), wiped(day, 2), wiped(day, 3, place=1))
    assert decide(known, LEAK_TEST, day).value.record == 2


# --- the states and which comes first --------------------------------------------------------

DAY = date(2025, 6, 1)
OPEN_POINT = OpenPoint(9, 9, "leak_test", date(2025, 5, 1))


@pytest.mark.parametrize(
    ("known", "state"),
    [
        (facts(wiped(DAY), follow_ups=(OPEN_POINT,)), FAILED),
        (facts(wiped(DAY), follow_ups=(OPEN_POINT,), stays=()), FAILED),
        (facts(wiped(DAY), follow_ups=(OPEN_POINT,), schedules=()), FAILED),
        (facts(wiped(DAY), stays=()), NOT_REQUIRED),
        (facts(stays=(), schedules=()), NOT_REQUIRED),
        (facts(wiped(DAY), schedules=()), UNDECIDED),
        (facts(wiped(DAY), schedules=(schedule(row(result="undecided")),)), UNDECIDED),
        (facts(wiped(DAY), schedules=(schedule(row(result="not_required")),)), NOT_REQUIRED),
        (facts(), NEVER_DONE),
        (facts(wiped(date(2024, 11, 30))), LATE),
        (facts(wiped(date(2024, 12, 1))), DUE_SOON),
        (facts(wiped(date(2025, 1, 1))), DUE_SOON),
        (facts(wiped(date(2025, 1, 2))), GOOD),
    ],
)
def test_it_says_the_first_state_that_applies(known, state):
    assert said(known, DAY) == state


def test_the_urgency_names_every_state_once():
    states = {FAILED, LATE, NEVER_DONE, UNDECIDED, DUE_SOON, GOOD, NOT_REQUIRED, AWAITED}
    assert states < set(URGENCY)
    assert len(set(URGENCY)) == len(URGENCY)


@pytest.mark.parametrize(
    ("state", "due_on", "shown"),
    [
        (AWAITED, DAY - timedelta(days=1), LATE),
        (AWAITED, DAY, AWAITED),
        (AWAITED, None, AWAITED),
        (DATED, DAY, DUE_SOON),
        (FAILED, DAY - timedelta(days=1), FAILED),
        (NOT_REQUIRED, None, NOT_REQUIRED),
    ],
)
def test_only_dates_become_late(state, due_on, shown):
    assert state_on(state, due_on, due_on, DAY) == shown


# --- bad evidence never clears ---------------------------------------------------------------

BAD = {
    "not accepted": ({"accepted": False}, "due_passed_over_not_accepted"),
    "accepted later": ({"accepted_on": date(2025, 6, 2)}, "due_passed_over_not_accepted"),
    "unfit": ({"fit": False, "unfit_because": "counter_calibration_late"}, "due_passed_over_unfit"),
    "replaced": ({"live": False}, "due_passed_over_replaced"),
    "inconclusive": ({"outcome": "inconclusive"}, "due_passed_over_outcome"),
    "fail": ({"outcome": "fail"}, "due_passed_over_outcome"),
    "not evaluable": ({"outcome": "not_evaluable"}, "due_passed_over_outcome"),
    "no outcome": ({"outcome": ""}, "due_passed_over_outcome"),
    "unknown outcome": ({"outcome": "passed"}, "due_passed_over_outcome"),
    "unaccepted and unfit": ({"accepted": False, "fit": False}, "due_passed_over_unfit"),
}


@pytest.mark.parametrize("bad", BAD)
def test_bad_evidence_never_clears(bad):
    fields, code = BAD[bad]
    known = facts(wiped(date(2025, 5, 31), **fields))
    assert said(known, DAY) == NEVER_DONE
    assert code in codes(known, DAY)


@pytest.mark.parametrize("bad", BAD)
def test_bad_evidence_moves_no_date(bad):
    fields, code = BAD[bad]
    known = facts(wiped(date(2024, 10, 1)), wiped(date(2025, 5, 31), 2, **fields))
    assert said(known, DAY) == LATE
    assert decide(known, LEAK_TEST, DAY).value.record == 1
    assert code in codes(known, DAY)


# What was missing, or had left for good, cannot have been tested; common practice, no source.
HERE = StaySpan(date(2024, 1, 1), date(2025, 3, 9), None, 7)
LOST = StaySpan(date(2025, 3, 10), date(2025, 3, 19), None, None, MISSING)
FOUND_AGAIN = StaySpan(date(2025, 3, 20), OPEN_END, None, 7)


@pytest.mark.parametrize(
    ("on", "counts"),
    [
        (date(2025, 3, 9), True),
        (date(2025, 3, 10), True),  # before it was missed that day, for all that is known
        (date(2025, 3, 11), False),
        (date(2025, 3, 19), False),
        (date(2025, 3, 20), True),
    ],
)
@pytest.mark.parametrize("gone", [False, True])
def test_a_pass_of_what_was_not_there_never_clears(on, counts, gone):
    spans = [HERE, FOUND_AGAIN] if gone else [HERE, LOST, FOUND_AGAIN]
    known = replace(facts(wiped(on)), stays=spans)
    decision = decide(known, LEAK_TEST, DAY).value
    assert (decision.record is not None) is counts
    assert ("due_passed_over_unfit" in codes(known, DAY)) is not counts


def test_a_failure_of_what_was_not_there_still_accuses():
    failure = wiped(date(2025, 3, 12), 2, outcome="fail", accuses=True)
    known = replace(facts(wiped(date(2025, 3, 1)), failure), stays=[HERE, LOST, FOUND_AGAIN])
    assert decide(known, LEAK_TEST, DAY).value.state == NEVER_DONE


def test_what_came_from_the_maker_was_tested_there():
    came = wiped(date(2025, 3, 12), came_with=True)
    known = replace(facts(came), stays=[HERE, FOUND_AGAIN])
    assert decide(known, LEAK_TEST, DAY).value.record == 1


def test_of_the_time_before_its_first_stay_nothing_is_known():
    known = replace(facts(wiped(date(2025, 3, 12))), stays=[FOUND_AGAIN])
    assert decide(known, LEAK_TEST, DAY).value.record == 1


@pytest.mark.parametrize("kind", ["calibration", "described", "accepted", "followup_closed"])
def test_another_kind_of_record_clears_nothing(kind):
    assert said(facts(wiped(DAY, kind=kind)), DAY) == NEVER_DONE


def test_an_acceptance_counts_from_its_own_day_on():
    known = facts(wiped(date(2025, 5, 1), accepted_on=date(2025, 5, 20)))
    assert said(known, date(2025, 5, 19)) == NEVER_DONE
    assert decide(known, LEAK_TEST, date(2025, 5, 20)).value.due_on == date(2025, 11, 1)


def test_it_lists_the_newest_five_that_it_passed_over():
    events = [wiped(date(2025, 5, day), day, outcome="inconclusive") for day in range(1, 9)]
    steps = [
        inner
        for step in decide(facts(*events), LEAK_TEST, DAY).steps
        for inner in step.walk()
        if inner.code == "due_passed_over_outcome"
    ]
    assert [step.values["seq"] for step in steps] == [8, 7, 6, 5, 4]


# --- follow-ups ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "state"),
    [
        (date(2025, 4, 30), GOOD),
        (date(2025, 5, 1), FAILED),
        (date(2025, 5, 9), FAILED),
        (date(2025, 5, 10), GOOD),
    ],
)
def test_it_is_failed_from_the_day_of_opening_until_the_day_before_closing(day, state):
    closed = replace(OPEN_POINT, closed_on=date(2025, 5, 10))
    assert said(facts(wiped(date(2025, 4, 1)), follow_ups=(closed,)), day) == state


def test_one_open_follow_up_of_two_is_enough():
    closed = replace(OPEN_POINT, closed_on=date(2025, 5, 2))
    other = OpenPoint(10, 10, "leak_test", date(2025, 5, 20))
    known = facts(wiped(DAY), follow_ups=(closed, other))
    assert decide(known, LEAK_TEST, DAY).value.record == 10


def test_a_later_pass_closes_nothing():
    assert said(facts(wiped(DAY), wiped(DAY, 2), follow_ups=(OPEN_POINT,)), DAY) == FAILED


def test_closing_does_not_bring_an_older_pass_back():
    closed = replace(OPEN_POINT, closed_on=date(2025, 5, 10))
    failing = wiped(date(2025, 5, 1), 9, outcome="fail", accuses=True)
    known = facts(wiped(date(2025, 1, 5)), failing, follow_ups=(closed,))
    assert said(known, DAY) == NEVER_DONE
    assert decide(known, LEAK_TEST, DAY).value.record == 9
    again = facts(wiped(date(2025, 1, 5)), failing, wiped(DAY, 10), follow_ups=(closed,))
    assert decide(again, LEAK_TEST, DAY).value.record == 10
    assert said(facts(failing, follow_ups=(closed,)), DAY) == NEVER_DONE


def test_a_follow_up_of_another_kind_fails_nothing():
    other = replace(OPEN_POINT, kind="calibration")
    assert said(facts(wiped(DAY), follow_ups=(other,)), DAY) == GOOD


# --- schedules and rows ----------------------------------------------------------------------


def test_each_day_is_judged_by_the_schedule_of_its_day():
    versions = (schedule(row(6)), schedule(row(2), from_on=date(2025, 5, 1)))
    known = facts(wiped(date(2025, 1, 31)), schedules=versions)
    assert decide(known, LEAK_TEST, date(2025, 4, 30)).value.due_on == date(2025, 7, 31)
    assert decide(known, LEAK_TEST, date(2025, 5, 1)).value.due_on == date(2025, 3, 31)
    assert said(known, date(2025, 5, 1)) == LATE


def test_before_the_first_schedule_the_first_one_holds():
    known = facts(wiped(date(2025, 1, 31)), schedules=(schedule(from_on=date(2025, 5, 1)),))
    assert said(known, date(2025, 2, 1)) == GOOD


def test_it_says_whether_the_schedule_is_a_draft():
    assert "due_schedule_draft" in codes(facts(wiped(DAY)), DAY)
    adopted = schedule(adopted_on=date(2025, 1, 1), adopted_by="C. Adviser")
    assert "due_schedule_adopted" in codes(facts(wiped(DAY), schedules=(adopted,)), DAY)


ROWS = {
    "the default": ([row(12, row_id="a")], "a"),
    "the stricter of two": ([row(12, row_id="a"), row(6, row_id="b", mode="adds")], "b"),
    "a stricter default": ([row(6, row_id="a"), row(12, row_id="b", mode="adds")], "a"),
    "what replaces": ([row(6, row_id="a"), row(12, row_id="b", mode="replaces", gas=True)], "b"),
    "not what replaces another": (
        [row(6, row_id="a"), row(12, row_id="b", mode="replaces", gas=False)],
        "a",
    ),
    "not on a trait nobody knows": (
        [row(6, row_id="a"), row(12, row_id="b", mode="replaces", alpha_emitter=False)],
        "a",
    ),
    "a number before undecided": (
        [row(row_id="a", result="undecided"), row(6, row_id="b", mode="adds")],
        "b",
    ),
    "undecided before not required": (
        [row(row_id="a", result="not_required"), row(row_id="b", result="undecided", mode="adds")],
        "b",
    ),
    "what adds beside what replaces": (
        [
            row(1, row_id="a"),
            row(row_id="b", result="not_required", mode="replaces", gas=True),
            row(12, row_id="c", mode="adds", whereabouts="at_location"),
        ],
        "c",
    ),
    "all conditions together": (
        [row(12, row_id="a"), row(1, row_id="b", mode="adds", gas=True, whereabouts="in_gauge")],
        "a",
    ),
}


@pytest.mark.parametrize("case", ROWS)
def test_the_strictest_row_decides(case):
    rows, decided = ROWS[case]
    known = facts(wiped(DAY), schedules=(schedule(*rows),), traits=(Traits(DAY, {"gas": True}),))
    assert decide(known, LEAK_TEST, DAY).value.row == decided


def test_moving_into_a_gauge_can_change_the_row():
    stays = (StaySpan(LONG_AGO, date(2025, 5, 31), None, 1), StaySpan(DAY, OPEN_END, 7, 1))
    rows = (row(6), row(1, row_id="leak.gauge", mode="adds", whereabouts="in_gauge"))
    known = facts(wiped(date(2025, 4, 1)), stays=stays, schedules=(schedule(*rows),))
    assert said(known, date(2025, 5, 31)) == GOOD
    assert said(known, DAY) == LATE


def test_a_new_description_can_change_the_row():
    rows = (row(6), row(row_id="leak.gas", result="undecided", mode="replaces", gas=True))
    traits = (Traits(date(2025, 1, 1), {"gas": False}), Traits(DAY, {"gas": True}))
    known = facts(wiped(date(2025, 4, 1)), traits=traits, schedules=(schedule(*rows),))
    assert (said(known, date(2025, 5, 31)), said(known, DAY)) == (GOOD, UNDECIDED)


# --- explanations ----------------------------------------------------------------------------


def test_changing_the_months_changes_the_date_and_its_explanation():
    for months, due_on in ((6, date(2025, 7, 31)), (3, date(2025, 4, 30))):
        known = facts(wiped(date(2025, 1, 31), 4), schedules=(schedule(row(months)),))
        explained = decide(known, LEAK_TEST, date(2025, 2, 1))
        steps = {inner.code: inner for step in explained.steps for inner in step.walk()}
        assert explained.value.due_on == steps["due_on"].values["due_on"] == due_on
        assert steps["due_row_interval"].values["months"] == months
        assert steps["due_row_interval"].cite == CITE
        by = steps.get("due_by_interval_clipped") or steps["due_by_interval"]
        assert by.values["by_on"] == due_on
        assert steps["due_last_pass"].values == {"seq": 4, "done_on": date(2025, 1, 31)}


@pytest.mark.parametrize("result", ["undecided", "not_required"])
def test_what_needs_no_date_says_by_which_clause(result):
    known = facts(schedules=(schedule(row(result=result, note="Because.")),))
    step = decide(known, LEAK_TEST, DAY).steps[0]
    assert (step.code, step.cite) == (f"due_row_{result}", CITE)
    assert step.values["note"] == "Because."


def test_never_done_names_the_rule_that_asks_for_it():
    step = decide(facts(), LEAK_TEST, DAY).steps[0]
    assert [inner.code for inner in step.walk()] == ["due_never_done", "due_row_interval"]
    assert step.because[0].cite == CITE


def test_it_names_the_rows_that_did_not_decide():
    rows = (row(6), row(12, row_id="b", mode="adds"), row(1, row_id="c", mode="adds", gas=True))
    found = {step.code: step for step in decide(
        facts(wiped(DAY), schedules=(schedule(*rows),), traits=(Traits(DAY, {"gas": False}),)),
        LEAK_TEST, DAY).steps}  # fmt: skip
    assert found["due_row_later"].values["row"] == "b"
    assert found["due_row_not_met"].values == {"row": "c", "row_conditions": '[["gas", true]]'}


def test_what_is_not_known_tightens_and_never_loosens():
    stricter, looser = row(1, row_id="c", mode="adds", gas=True), row(12, row_id="d", gas=True)
    exempt = row(row_id="e", result="not_required", mode="exempts", gas=True)
    known = facts(wiped(DAY), schedules=(schedule(row(6), stricter, looser, exempt),))
    said_of_it = decide(known, LEAK_TEST, DAY)
    assert said_of_it.value.row == "c"
    named = [step.values["row"] for step in said_of_it.steps if step.code == "due_row_unknown"]
    assert named == ["c", "d", "e"]


# --- results awaited -------------------------------------------------------------------------

SENT_ON, CHASE_ON = date(2025, 5, 3), date(2025, 5, 24)


def sent(on: date = SENT_ON, number: int = 50, **fields: Any) -> Event:
    values = {"kind": "wipe_sent", "outcome": "", "accepted": False, "valid_until": CHASE_ON}
    return wiped(on, number, **(values | {"away_to": "Hill Laboratory"} | fields))


def test_of_one_day_a_pass_without_its_time_is_not_the_later_one():
    failed = wiped(DAY, 1, outcome="fail", accuses=True, time=time(9))
    for pass_at, expected in ((None, NEVER_DONE), (time(8), NEVER_DONE), (time(10), GOOD)):
        known = facts(failed, wiped(DAY, 2, time=pass_at))
        assert said(known, DAY) == expected
    both = facts(wiped(DAY, 1, outcome="fail", accuses=True), wiped(DAY, 2))
    assert said(both, DAY) == GOOD


def test_a_result_may_be_waited_for_until_the_end_of_the_calendar():
    line = spans(facts(sent(valid_until=date.max)), LEAK_TEST)
    assert line[-1].decision.state == AWAITED


def test_a_wipe_that_was_taken_before_a_failure_is_not_awaited_though_nothing_ever_passed():
    failed = wiped(SENT_ON + timedelta(days=1), 51, outcome="fail", accuses=True)
    assert said(facts(sent(), failed), SENT_ON + timedelta(days=2)) == NEVER_DONE
    later = sent(SENT_ON + timedelta(days=2), 52)
    assert said(facts(sent(), failed, later), SENT_ON + timedelta(days=2)) == AWAITED


def test_a_wipe_on_its_way_is_awaited_from_the_day_it_was_taken():
    known = facts(sent())
    assert [said(known, day) for day in (date(2025, 5, 2), SENT_ON, CHASE_ON)] == [
        *(NEVER_DONE, AWAITED, AWAITED)
    ]
    decision = decide(known, LEAK_TEST, CHASE_ON).value
    assert (decision.since, decision.warn_on, decision.record) == (SENT_ON, CHASE_ON, 50)
    assert decision.due_on is None


def test_what_was_never_done_is_awaited_until_its_result_must_be_chased_and_no_longer():
    """A wipe that never comes back must not hide for years that nothing shows the source sound."""
    known = facts(sent())
    after = CHASE_ON + timedelta(days=1)
    assert said(known, after) == NEVER_DONE
    assert decide(known, LEAK_TEST, after).steps[0].code == "due_awaited"
    assert after in [span.from_on for span in spans(known, LEAK_TEST)]
    other = facts(sent(), sent(date(2025, 5, 20), 51, valid_until=DAY))
    assert [said(other, day) for day in (after, DAY, DAY + timedelta(days=1))] == [
        *(AWAITED, AWAITED, NEVER_DONE)
    ]


def test_waiting_keeps_the_due_date_and_becomes_late_with_it():
    known = facts(wiped(date(2024, 12, 1)), sent())
    decision = decide(known, LEAK_TEST, DAY).value
    assert (decision.due_on, decision.state) == (DAY, AWAITED)
    assert said(known, DAY) == AWAITED
    assert said(known, DAY + timedelta(days=1)) == LATE
    assert decide(known, LEAK_TEST, DAY + timedelta(days=1)).value == decision


def test_its_explanation_says_where_the_wipe_is_and_why_the_date_is_what_it_is():
    known = facts(wiped(date(2024, 12, 1)), sent())
    step = decide(known, LEAK_TEST, DAY).steps[0]
    assert step.code == "due_awaited"
    assert step.values["laboratory"] == "Hill Laboratory"
    assert step.values["chase_on"] == CHASE_ON
    assert "due_last_pass" in codes(known, DAY)
    assert "due_awaited_undated" in codes(facts(sent(valid_until=None)), DAY)


@pytest.mark.parametrize("day", [SENT_ON - timedelta(days=1), SENT_ON, SENT_ON + timedelta(days=1)])
def test_a_wipe_given_up_lapses_from_that_day_on(day):
    known = facts(wiped(date(2024, 12, 1)), sent(completed_on=SENT_ON))
    assert (
        decide(known, LEAK_TEST, day).value
        == decide(facts(wiped(date(2024, 12, 1))), LEAK_TEST, day).value
    )


@pytest.mark.parametrize(
    "without",
    [
        (sent(live=False),),
        (sent(kind="leak_test"),),
        (sent(), wiped(date(2025, 5, 4))),
        (sent(), wiped(SENT_ON, 51)),
        (sent(), wiped(date(2025, 5, 4), outcome="fail", accuses=True)),
        (wiped(date(2025, 1, 1)), sent(), wiped(DAY, 51, outcome="fail", accuses=True)),
    ],
    ids=["corrected", "another kind", "before a pass", "same day before a pass", "before a failure",
         "before a failure after a pass"],
)  # fmt: skip
def test_a_result_that_could_change_nothing_is_not_awaited(without):
    assert decide(facts(*without), LEAK_TEST, DAY).value.state != AWAITED


@pytest.mark.parametrize(
    "stronger",
    [
        {"follow_ups": (OPEN_POINT,)},
        {"stays": ()},
        {"schedules": ()},
        {"schedules": (schedule(row(result="undecided")),)},
        {"schedules": (schedule(row(result="not_required")),)},
    ],
    ids=["failed", "away", "no schedule", "undecided", "not required"],
)
def test_waiting_hides_no_other_state(stronger):
    waiting = decide(facts(sent(), **stronger), LEAK_TEST, DAY)
    without = decide(facts(**stronger), LEAK_TEST, DAY)
    assert (waiting.value, waiting.steps[0]) == (without.value, without.steps[0])


def test_a_wipe_taken_after_a_failure_is_awaited_again():
    closed = replace(OPEN_POINT, closed_on=date(2025, 5, 2))
    failing = wiped(date(2025, 5, 1), 9, outcome="fail", accuses=True)
    decision = decide(facts(failing, sent(), follow_ups=(closed,)), LEAK_TEST, CHASE_ON).value
    assert (decision.state, decision.due_on) == (AWAITED, None)


def test_of_several_wipes_the_first_one_taken_says_since_when():
    known = facts(sent(), sent(date(2025, 5, 20), 51), sent(date(2025, 5, 1), 52, live=False))
    assert decide(known, LEAK_TEST, CHASE_ON).value.record == 50
    assert codes(known, CHASE_ON).count("due_awaited") == 2


def test_a_calibration_waits_for_no_wipe():
    monitor = facts(sent(), schedules=(schedule(row(requirement=CALIBRATION)),))
    assert decide(monitor, CALIBRATION, DAY).value.state == NEVER_DONE


# --- time lines over random histories --------------------------------------------------------

FIRST = date(2024, 12, 20)
WINDOW = 150
days = st.integers(0, WINDOW - 1).map(lambda n: FIRST + timedelta(days=n))
maybe_day = st.none() | days
times = st.none() | st.sampled_from([time(0), time(8), time(8, 1), time(23, 59)])


@st.composite
def random_rows(draw: Any, requirement: str) -> list[Row]:
    conditions = st.dictionaries(st.sampled_from(["gas", "whereabouts"]), st.none(), max_size=2)
    values = {"gas": st.booleans(), "whereabouts": st.sampled_from(["in_gauge", "at_location"])}
    rows = []
    for number in range(draw(st.integers(1, 4))):
        names = draw(conditions) if number else {}
        rows.append(
            row(
                draw(st.integers(1, 4)),
                row_id=f"{requirement}.{number}",
                requirement=requirement,
                result=draw(st.sampled_from(["interval", "interval", "undecided", "not_required"])),
                lead_days=draw(st.sampled_from([0, 1, 20])),
                mode=draw(st.sampled_from(["default", "replaces", "adds"])),
                **{name: draw(values[name]) for name in names},
            )
        )
    return rows


@st.composite
def random_facts(draw: Any) -> Facts:
    number = iter(range(1, 1000))
    events = []
    for _ in range(draw(st.integers(0, 8))):
        seq = next(number)
        kind = draw(st.sampled_from(["leak_test", "leak_test", "calibration", "wipe_sent"]))
        events.append(
            Event(
                seq + 1000,
                seq,
                kind,
                draw(days),
                time=draw(times),
                outcome=draw(st.sampled_from(["pass", "pass", "pass", "fail", "inconclusive", ""])),
                fit=draw(st.sampled_from([True, True, True, False])),
                accepted=draw(st.sampled_from([True, True, True, False])),
                live=draw(st.sampled_from([True, True, True, False])),
                valid_until=draw(maybe_day),
                place=draw(st.sampled_from([0, 0, seq, 1])),
                accepted_on=draw(maybe_day),
                accuses=draw(st.sampled_from([False, False, True])),
                completed_on=draw(maybe_day) if kind == "wipe_sent" else None,
            )
        )
    follow_ups = []
    for _ in range(draw(st.integers(0, 2))):
        seq = next(number)
        opened = draw(days)
        closed = draw(st.none() | days.filter(lambda day, opened=opened: day >= opened))
        kind = draw(st.sampled_from(["leak_test", "calibration"]))
        follow_ups.append(OpenPoint(seq + 1000, seq, kind, opened, closed))
    cuts = sorted(draw(st.sets(days, max_size=4)))
    ends = [*(day - timedelta(days=1) for day in cuts[1:]), OPEN_END]
    stays = [
        StaySpan(start, end, draw(st.sampled_from([None, 7])), 1)
        for start, end in zip(cuts, ends, strict=False)
        if start != cuts[0] or draw(st.booleans())
    ]
    traits = [
        Traits(day, {"gas": draw(st.sampled_from([True, False, None]))})
        for day in sorted(draw(st.lists(days, max_size=3)))
    ]
    schedules = [
        schedule(*draw(random_rows(LEAK_TEST)), *draw(random_rows(CALIBRATION)), from_on=day)
        for day in sorted(draw(st.lists(days, max_size=3)))
    ]
    return Facts(1, "source", events, stays, traits, follow_ups, schedules)


requirements = st.sampled_from([LEAK_TEST, CALIBRATION])
AROUND = due_by_day.days_from(FIRST - timedelta(days=3), WINDOW + 130)


@FEW
@given(random_facts(), requirements)
def test_it_says_what_a_second_slow_calculation_says(known, requirement):
    for day in AROUND:
        decision = decide(known, requirement, day).value
        assert (
            decision.state_on(day),
            decision.due_on,
            decision.record,
            decision.row,
        ) == due_by_day.answer(known, requirement, day)


@FEW
@given(random_facts(), requirements)
def test_the_time_line_says_on_every_day_what_the_day_says(known, requirement):
    line = spans(known, requirement)
    by_day = {}
    for day in AROUND:
        (span,) = [one for one in line if one.from_on <= day <= one.until_on]
        by_day[day] = span.decision
    assert by_day == {day: decide(known, requirement, day).value for day in AROUND}


@FEW
@given(random_facts(), requirements)
def test_the_time_line_has_no_gap_and_no_equal_neighbours(known, requirement):
    line = spans(known, requirement)
    assert (line[0].from_on, line[-1].until_on) == (LONG_AGO, OPEN_END)
    for one, following in pairwise(line):
        assert one.until_on + timedelta(days=1) == following.from_on
        assert one.decision != following.decision
    assert {one.from_on for one in line} <= set(breakpoints(known, requirement))


#: One month is said in its own words.
EVERY_SO_OFTEN = ("due_row_interval", "due_row_every_month")


@FEW
@given(random_facts(), requirements)
def test_every_date_comes_with_the_row_and_the_record_that_made_it(known, requirement):
    for span in spans(known, requirement):
        explained = decide(known, requirement, span.from_on)
        steps = {inner.code: inner for step in explained.steps for inner in step.walk()}
        assert explained.steps
        if span.decision.state == AWAITED:
            since = {event.record: event.on for event in known.events}[span.decision.record]
            assert span.decision.since == since
        if span.decision.state == DATED:
            assert steps["due_on"].values["due_on"] == span.decision.due_on
            (interval,) = (steps[code] for code in EVERY_SO_OFTEN if code in steps)
            assert interval.values["row"] == span.decision.row
            assert interval.cite is not None


@FEW
@given(random_facts(), st.sampled_from(sorted(BAD)), days)
def test_a_bad_record_more_never_improves_a_state(known, bad, on):
    fields = dict(BAD[bad][0])
    if "accepted_on" in fields:
        fields["accepted_on"] = date.max
    more = replace(known, events=[*known.events, wiped(on, 900, **fields)])
    for day in AROUND:
        assert decide(more, LEAK_TEST, day).value == decide(known, LEAK_TEST, day).value


# ---------------------------------------------------------------- what gives no more time


def test_a_certificate_has_no_grace():
    """Common practice, no source: nobody vouches for a day after a certificate's last one."""
    graced = replace(row(12), grace_days=60)
    known = facts(
        wiped(date(2024, 1, 2), valid_until=date(2024, 7, 1)), schedules=(schedule(graced),)
    )
    assert decide(known, LEAK_TEST, DAY).value.due_on == date(2024, 7, 1)
    without = facts(wiped(date(2024, 1, 2)), schedules=(schedule(graced),))
    assert decide(without, LEAK_TEST, DAY).value.due_on == date(2025, 3, 3)


UNTIL = replace(row(result="until"), trait="working_life_until")
STATED = (Traits(LONG_AGO, {"working_life_until": date(2030, 1, 1)}),)


def until(*events: Event, traits: tuple[Traits, ...] = STATED) -> Facts:
    return facts(*events, traits=traits, schedules=(schedule(UNTIL),))


def test_a_failure_ends_what_was_stated_before_it():
    failed = wiped(date(2024, 6, 1), outcome="fail", accuses=True)
    assert said(until(failed), date(2024, 6, 10)) == NEVER_DONE
    again = wiped(date(2024, 6, 5), 2, valid_until=date(2027, 1, 1))
    assert decide(until(failed, again), LEAK_TEST, DAY).value.due_on == date(2027, 1, 1)


@pytest.mark.parametrize("until_on", [date(2026, 6, 1), date(2035, 6, 1)])
def test_the_newest_word_on_how_long_it_holds_counts(until_on):
    assessed = wiped(date(2024, 6, 1), valid_until=until_on)
    assert decide(until(assessed), LEAK_TEST, DAY).value.due_on == until_on
    newer = (*STATED, Traits(date(2024, 9, 1), {"working_life_until": date(2031, 1, 1)}))
    assert decide(until(assessed, traits=newer), LEAK_TEST, DAY).value.due_on == date(2031, 1, 1)
    same = (*STATED, Traits(date(2024, 9, 1), {**STATED[0].values, "use": "gauge"}))
    assert decide(until(assessed, traits=same), LEAK_TEST, DAY).value.due_on == until_on
