"""What ends in the years to come, worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta

from inventory.calc.ahead import Ending, by_year, levels_ahead
from inventory.calc.nuclides import read_nuclides

from .spans import ON


def ending(on: date, item: int = 1, what: str = "working_life") -> Ending:
    return Ending(on, item, what)


def test_the_years_come_in_order_and_those_without_an_ending_are_left_out():
    found = by_year(
        [ending(date(2031, 5, 1)), ending(date(2027, 6, 1), 2), ending(date(2027, 1, 1), 3)], ON
    )
    assert [(one.number, [each.item for each in one.endings]) for one in found] == [
        (2027, [3, 2]),
        (2031, [1]),
    ]


def test_what_had_ended_before_stands_first_without_a_year():
    found = by_year([ending(date(2026, 3, 1)), ending(ON, 2), ending(date(2019, 1, 1), 3)], ON)
    assert [(one.number, [each.item for each in one.endings]) for one in found] == [
        (None, [3, 1]),
        (2026, [2]),
    ]


def test_ten_years_end_before_the_day_returns():
    assert by_year([ending(date(2036, 3, 1))], ON)[0].number == 2036
    assert by_year([ending(date(2036, 3, 2))], ON) == []


# ---------------------------------------------------------------- decay

TABLE = read_nuclides()
COBALT = TABLE["Co-60"]  # D = 0.03 TBq (IAEA RS-G-1.9), so 0.01 D is 300 MBq
HALF_LIFE = timedelta(days=int(COBALT.half_life_days) + 1)


def levels(stated_bq, reference_on, on=ON):
    found = levels_ahead(stated_bq, reference_on, COBALT, on)
    return [(one.threshold.times_d, one.first_on) for one in found]


def test_twice_the_level_comes_down_to_it_in_one_half_life():
    """600 MBq of Co-60 is below 300 MBq on the first whole day after 5.27 years."""
    reference = date(2025, 3, 2)
    assert levels(6e8, reference) == [(0.01, reference + HALF_LIFE)]


def test_what_was_passed_before_or_comes_after_ten_years_is_left_out():
    assert levels(6e8, date(2015, 3, 2)) == []  # passed in 2020
    assert levels(1.3e9, date(2026, 3, 1)) == []  # two half-lives and more: 2036 and later


def test_a_level_that_is_passed_on_the_day_itself_counts():
    reference = ON - HALF_LIFE
    assert levels(6e8, reference) == [(0.01, ON)]
    assert levels(6e8, reference, ON + timedelta(1)) == []


def test_an_activity_of_a_later_day_is_taken_back_by_decay():
    """300 MBq stated for a day to come: it is below the level from the day after on."""
    reference = date(2027, 1, 1)
    assert levels(3e8, reference) == [(0.01, reference + timedelta(1))]


def test_a_reference_date_beyond_all_decay_gives_none():
    assert levels_ahead(1e9, date(9000, 1, 1), TABLE["Ir-192"], ON) == []
