"""Gaps in monitor cover, worked out by hand and day by day."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.ahead import cover, in_date

from .spans import FOR_EVER, LONG_AGO, ON, span

END = date(2027, 3, 2)
ALWAYS = [(LONG_AGO, FOR_EVER)]


def calibration(due_on, **fields):
    return span(due_on, requirement="calibration", **fields)


def test_a_monitor_is_in_date_until_its_due_date():
    assert in_date([calibration(date(2026, 9, 1))], ALWAYS) == [(LONG_AGO, date(2026, 9, 1))]


def test_while_it_is_away_it_is_of_no_use_here():
    here = [(date(2020, 1, 1), date(2026, 5, 31)), (date(2026, 7, 1), FOR_EVER)]
    assert in_date([calibration(date(2026, 9, 1))], here) == [
        (date(2020, 1, 1), date(2026, 5, 31)),
        (date(2026, 7, 1), date(2026, 9, 1)),
    ]


def test_what_failed_was_never_calibrated_or_is_being_calibrated_is_not_in_date():
    states = ("failed", "never_done", "undecided", "not_required")
    spans = [
        calibration(None, state=state, from_on=day, until_on=day)
        for day, state in ((ON + timedelta(number), state) for number, state in enumerate(states))
    ]
    spans.append(calibration(date(2026, 9, 1), state="awaited", from_on=ON + timedelta(9)))
    assert in_date(spans, ALWAYS) == []


def test_while_any_check_of_it_failed_it_is_out_of_use():
    """A function check failed from 10 to 20 May; from 1 August on another is open for good."""
    failed = [
        span(requirement="function_check", state="failed", from_on=first, until_on=last)
        for first, last in (
            (date(2026, 5, 10), date(2026, 5, 20)),
            (date(2026, 8, 1), FOR_EVER),
        )
    ]
    assert in_date([calibration(date(2026, 9, 1)), *failed], ALWAYS) == [
        (LONG_AGO, date(2026, 5, 9)),
        (date(2026, 5, 21), date(2026, 7, 31)),
    ]


def test_what_else_is_required_of_it_does_not_matter():
    others = [span(date(2026, 3, 1), requirement="function_check")]
    assert in_date([calibration(date(2026, 9, 1)), *others], ALWAYS) == [
        (LONG_AGO, date(2026, 9, 1))
    ]


def test_a_span_that_begins_late_covers_nothing():
    assert in_date([calibration(date(2026, 3, 1), from_on=ON)], ALWAYS) == []


def gaps(*days, on=ON, end=END):
    (found,) = cover({1: {"wipe_counter"}}, {1: days}, on, end)
    return list(found.gaps)


def test_with_nothing_in_date_the_whole_year_is_a_gap():
    assert gaps() == [(ON, date(2027, 3, 1))]


def test_the_gap_begins_the_day_after_the_due_date():
    assert gaps((LONG_AGO, date(2027, 2, 2))) == [(date(2027, 2, 3), date(2027, 3, 1))]
    assert gaps((LONG_AGO, date(2027, 3, 1))) == []
    assert gaps((LONG_AGO, date(2027, 2, 28))) == [(date(2027, 3, 1), date(2027, 3, 1))]


def test_a_gap_lies_between_two_stretches():
    days = (LONG_AGO, date(2026, 5, 31)), (date(2026, 7, 1), FOR_EVER)
    assert gaps(*days) == [(date(2026, 6, 1), date(2026, 6, 30))]
    assert gaps((LONG_AGO, date(2026, 5, 31)), (date(2026, 6, 1), FOR_EVER)) == []


def test_one_monitor_covers_for_another_of_the_same_ability_only():
    can = {1: {"contamination:beta"}, 2: {"contamination:beta"}, 3: {"contamination:alpha"}}
    days = {
        1: [(LONG_AGO, date(2026, 6, 30))],
        2: [(date(2026, 7, 10), date(2026, 12, 31))],
        3: [(LONG_AGO, FOR_EVER)],
    }
    alpha, beta = cover(can, days, ON, END)
    assert (alpha.what, alpha.monitors, alpha.gaps) == ("contamination:alpha", (3,), ())
    assert (beta.what, beta.monitors) == ("contamination:beta", (1, 2))
    assert beta.gaps == (
        (date(2026, 7, 1), date(2026, 7, 9)),
        (date(2027, 1, 1), date(2027, 3, 1)),
    )


def test_without_monitors_nothing_is_asked_for():
    assert cover({}, {}, ON, END) == []


DAYS = st.dates(date(2025, 12, 1), date(2027, 6, 30))
STRETCHES = st.lists(st.tuples(DAYS, DAYS).map(lambda two: (min(two), max(two))), max_size=5)


@given(STRETCHES, DAYS)
def test_a_day_is_in_a_gap_exactly_when_nothing_covers_it(stretches, on):
    end = on + timedelta(120)
    found = gaps(*stretches, on=on, end=end)
    for number in range(120):
        day = on + timedelta(number)
        covered = any(first <= day <= last for first, last in stretches)
        assert sum(first <= day <= last for first, last in found) == (not covered)
    assert all(on <= first <= last < end for first, last in found)
    # two gaps never touch: they would be one
    assert all(one[1] + timedelta(1) < other[0] for one, other in pairwise(found))
