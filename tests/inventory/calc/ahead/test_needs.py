"""What a requirement asks for next, worked out by hand from its time line."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.calc.ahead import Interval, needs

from .spans import ON, span

DUE = date(2026, 9, 14)


def only(*spans, on=ON, **more):
    found = needs(spans, on, **more)
    assert len(found) == 1
    return found[0]


def test_a_due_date_to_come_is_what_it_asks_for():
    found = only(span(DUE))
    assert (found.due_on, found.state, found.at_once) == (DUE, "good", False)


@pytest.mark.parametrize(
    ("on", "state", "now"),
    [
        (date(2026, 7, 15), "good", False),  # 60 days before is 16 July
        (date(2026, 7, 16), "due_soon", False),
        (DUE, "due_soon", False),  # on the due date it is still good
        (date(2026, 9, 15), "late", True),
    ],
)
def test_its_state_is_that_of_the_day(on, state, now):
    found = only(span(DUE), on=on)
    assert (found.state, found.at_once, found.due_on) == (state, now, DUE)


@pytest.mark.parametrize("state", ["failed", "never_done", "undecided", "awaited"])
def test_what_has_no_date_is_to_be_looked_at_now(state):
    found = only(span(state=state))
    assert (found.state, found.at_once, found.due_on) == (state, True, None)


def test_an_awaited_result_keeps_its_due_date():
    found = only(span(DUE, state="awaited"))
    assert (found.state, found.at_once, found.due_on) == ("awaited", False, DUE)


@pytest.mark.parametrize("state", ["on_hold", "not_required"])
def test_what_asks_for_nothing_has_no_need(state):
    assert needs([span(state=state)], ON) == []


def test_what_will_hold_before_the_due_date_has_the_word():
    """From 1 August on a stricter interval: due on 10 August instead of 14 September."""
    first = span(DUE, until_on=date(2026, 7, 31))
    then = span(date(2026, 8, 10), from_on=date(2026, 8, 1))
    assert only(first, then).due_on == date(2026, 8, 10)


def test_a_due_date_on_the_last_day_of_its_span_counts():
    first = span(DUE, until_on=DUE)
    then = span(state="not_required", from_on=date(2026, 9, 15))
    assert only(first, then).due_on == DUE


def test_what_ends_before_its_due_date_asks_for_nothing():
    first = span(DUE, until_on=date(2026, 9, 13))
    then = span(state="not_required", from_on=DUE)
    assert needs([first, then], ON) == []


@pytest.mark.parametrize(
    ("later", "state"),
    [
        (span(state="never_done", from_on=date(2026, 5, 1)), "never_done"),
        (span(state="undecided", from_on=date(2026, 5, 1)), "undecided"),
        (span(date(2026, 1, 9), from_on=date(2026, 5, 1)), "late"),  # late as soon as it begins
    ],
)
def test_a_hold_that_lapses_was_good_until_the_day_before(later, state):
    found = only(span(state="on_hold", until_on=date(2026, 4, 30)), later)
    assert (found.state, found.at_once, found.due_on) == (state, False, date(2026, 4, 30))


def test_what_has_ended_says_nothing_any_more():
    old = span(state="failed", until_on=date(2026, 3, 1))
    assert only(old, span(DUE, from_on=ON)).due_on == DUE


def test_each_requirement_of_each_item_has_one_and_the_most_pressing_comes_first():
    found = needs(
        [
            span(DUE),
            span(date(2026, 4, 1), requirement="accounting_check"),
            span(item=2),
            span(item=3, state="failed"),
            span(date(2026, 2, 1), item=4),
        ],
        ON,
    )
    assert [(one.item, one.requirement) for one in found] == [
        *((3, "leak_test"), (4, "leak_test"), (2, "leak_test")),
        *((1, "accounting_check"), (1, "leak_test")),
    ]


def test_it_knows_its_place_and_the_interval_of_its_row():
    every = Interval(months=24)
    found = only(
        span(DUE, row="leak.default", key=9),
        places={1: 7},
        interval_of=lambda one: {"leak.default": every}[one.row],
    )
    assert (found.place, found.interval, found.key) == (7, every, 9)


@pytest.mark.parametrize(
    ("interval", "due_on", "then"),
    [
        (Interval(months=24), date(2026, 9, 14), date(2028, 9, 14)),
        (Interval(months=1), date(2026, 1, 31), date(2026, 2, 28)),
        (Interval(days=1), date(2026, 2, 28), date(2026, 3, 1)),
        (Interval(days=7), date(2026, 12, 28), date(2027, 1, 4)),
        # once in a calendar year: 31 December of the year in which the anniversary falls
        (Interval(months=12, to_year_end=True), date(2026, 12, 31), date(2027, 12, 31)),
        # with 30 days of grace due on 30 March: done on 28 February, so due on 28 March and grace
        (Interval(months=1, grace_days=30), date(2026, 3, 30), date(2026, 4, 27)),
        (Interval(months=600), date(9999, 6, 1), date.max),
        (Interval(days=3660), date(9999, 6, 1), date.max),
        (Interval(months=1, grace_days=30), date(1, 1, 5), date(1, 3, 3)),
    ],
)
def test_an_interval_counts_from_what_is_done_in_time(interval, due_on, then):
    assert interval.after(due_on) == then
