"""How what falls due stands to a shutdown, worked out by hand."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.ahead import Shutdown, held_against, overlapping, verdict
from inventory.calc.dates import add_months

from .spans import need

#: 3 to 24 August 2026.
STOP = Shutdown(1, 7, date(2026, 8, 3), date(2026, 8, 24))
INSIDE = {7: {7, 8}, 8: {8}, 9: {9}}


@pytest.mark.parametrize(
    ("due_on", "months", "said", "days"),
    [
        (date(2026, 8, 2), 3, "falls_short", 1),
        (date(2026, 7, 22), 3, "falls_short", 12),
        (date(2025, 8, 3), 3, "falls_short", 365),  # late already
        (date(2026, 8, 3), 3, "reached", 0),  # on the due date it is still good
        (date(2026, 8, 24), 3, "reached", 21),
        (date(2026, 8, 25), 3, "take_along", 1),
        (date(2026, 11, 24), 3, "take_along", 92),
        (date(2026, 8, 25), 0, None, 0),
        (date(2026, 11, 25), 3, None, 0),
        (date(2026, 11, 25), 4, "take_along", 93),
        (None, 3, "no_date", 0),
    ],
)
def test_it_says_how_a_need_stands(due_on, months, said, days):
    found = verdict(need(due_on), STOP, months)
    assert (found and found.verdict, found.days if found else 0) == (said, days)


def test_the_months_after_the_end_are_clipped_to_the_end_of_a_month():
    stop = Shutdown(1, None, date(2026, 11, 2), date(2026, 11, 30))
    assert verdict(need(date(2027, 2, 28)), stop, 3).verdict == "take_along"
    assert verdict(need(date(2027, 3, 1)), stop, 3) is None


def test_only_what_is_at_its_place_or_inside_it_counts():
    there = [need(date(2026, 8, 5), item=place, place=place) for place in (7, 8, 9)]
    there.append(need(date(2026, 8, 5), item=4, place=None))  # a person, a permit, what is away
    assert [one.need.item for one in held_against(STOP, there, INSIDE, 3)] == [7, 8]
    whole = Shutdown(1, None, STOP.begins_on, STOP.ends_on)
    assert [one.need.item for one in held_against(whole, there, INSIDE, 3)] == [7, 8, 9]


def test_what_falls_short_comes_first_then_what_has_no_date():
    days = (date(2026, 8, 5), None, date(2026, 8, 30), date(2026, 8, 1), date(2026, 7, 1))
    there = [need(day, item=number) for number, day in enumerate(days)]
    found = held_against(STOP, there, INSIDE, 3)
    assert [(one.need.item, one.verdict) for one in found] == [
        *((4, "falls_short"), (3, "falls_short"), (1, "no_date")),
        *((0, "reached"), (2, "take_along")),
    ]


@pytest.mark.parametrize(
    ("place", "begins_on", "ends_on", "overlaps"),
    [
        (7, date(2026, 8, 24), date(2026, 9, 1), True),
        (7, date(2026, 8, 25), date(2026, 9, 1), False),
        (7, date(2026, 7, 1), date(2026, 8, 2), False),
        (7, date(2026, 7, 1), date(2026, 8, 3), True),
        (8, date(2026, 8, 10), date(2026, 8, 10), True),  # inside it
        (9, date(2026, 8, 10), date(2026, 8, 10), False),
        (None, date(2026, 8, 10), date(2026, 8, 10), True),  # the whole site
    ],
)
def test_two_overlap_that_share_a_day_and_a_place(place, begins_on, ends_on, overlaps):
    other = Shutdown(2, place, begins_on, ends_on)
    assert overlapping(STOP, [STOP, other], INSIDE) == ([other] if overlaps else [])
    assert overlapping(other, [STOP, other], INSIDE) == ([STOP] if overlaps else [])


DAYS = st.dates(date(2026, 1, 1), date(2027, 12, 31))


@given(DAYS, DAYS, DAYS, st.integers(0, 12))
def test_every_day_has_at_most_one_verdict_and_they_follow_each_other(one, other, due_on, months):
    stop = Shutdown(1, None, min(one, other), max(one, other))
    found = verdict(need(due_on), stop, months)
    if due_on > add_months(stop.ends_on, months):
        assert found is None
    else:
        edge = {
            "falls_short": stop.begins_on,
            "reached": stop.begins_on,
            "take_along": stop.ends_on,
        }
        assert found.days == abs((due_on - edge[found.verdict]).days)
        assert (found.verdict == "falls_short") == (due_on < stop.begins_on)
        assert (found.verdict == "reached") == (stop.begins_on <= due_on <= stop.ends_on)
