"""The coming year month by month, worked out by hand."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.ahead import Interval, Need, months_ahead, needs, projected, window_end
from inventory.calc.dates import add_months
from inventory.calc.due import STORED

from .spans import ON, monthly, need, span


def found(*some: Need, on=ON, months=12):
    """The needs of each month, and how often each is projected, by the first day of the month."""
    return {
        month.first: (
            [one.due_on for each in month.rounds for one in each.needs],
            sum(each.projected for each in month.rounds),
        )
        for month in months_ahead(some, on, months)
        if month.rounds
    }


def test_there_is_a_part_for_now_and_one_for_each_month_that_the_year_touches():
    now, *months = months_ahead([], ON)
    assert (now.first, now.last, now.rounds) == (None, None, ())
    assert len(months) == 13  # 2 March 2026 to 1 March 2027
    assert (months[0].first, months[0].last) == (ON, date(2026, 3, 31))
    assert (months[11].first, months[11].last) == (date(2027, 2, 1), date(2027, 2, 28))
    assert (months[12].first, months[12].last) == (date(2027, 3, 1), date(2027, 3, 1))


def test_from_the_first_of_a_month_on_there_are_twelve():
    _now, *months = months_ahead([], date(2026, 3, 1))
    assert len(months) == 12
    assert (months[-1].first, months[-1].last) == (date(2027, 2, 1), date(2027, 2, 28))


def test_each_falls_into_its_month_and_what_is_late_or_undated_is_needed_now():
    late, never = need(date(2026, 3, 1), state="late"), need(None, state="never_done")
    assert found(late, never, need(ON), need(date(2026, 9, 14)), need(date(2027, 3, 1))) == {
        None: ([date(2026, 3, 1), None], 0),
        ON: ([ON], 0),
        date(2026, 9, 1): ([date(2026, 9, 14)], 0),
        date(2027, 3, 1): ([date(2027, 3, 1)], 0),
    }


def test_the_year_ends_before_its_own_day_returns():
    assert found(need(date(2027, 3, 2))) == {}


def test_a_monthly_check_comes_twelve_times():
    """Due on 20 March: that once, then the 20th of eleven months, projected."""
    check = need(date(2026, 3, 20), requirement="accounting_check", interval=monthly())
    months = found(check)
    assert months[ON] == ([date(2026, 3, 20)], 0)
    assert [count for _needs, count in list(months.values())[1:]] == [1] * 11


def test_what_is_late_is_taken_to_be_done_today():
    """Late since January: needed now, then eleven times from 2 April on."""
    late = need(date(2026, 1, 20), state="late", interval=monthly())
    days = projected(late, ON, window_end(ON))
    assert (days[0], days[-1], len(days)) == (date(2026, 4, 2), date(2027, 2, 2), 11)
    never = need(None, state="never_done", interval=monthly())
    assert projected(never, ON, window_end(ON)) == days


def test_what_nobody_has_decided_or_what_failed_is_not_foreseen():
    for state in ("undecided", "failed", "awaited"):
        assert projected(need(None, state=state, interval=monthly()), ON, window_end(ON)) == []
    assert projected(need(ON), ON, window_end(ON)) == []


def test_a_daily_check_comes_every_day():
    daily = need(ON, interval=Interval(days=1))
    assert len(projected(daily, ON, window_end(ON))) == 364


def test_the_end_of_the_calendar_ends_it():
    on = date(9999, 11, 20)
    assert window_end(on) == date.max
    last = need(date(9999, 12, 30), at_once=False, interval=monthly())
    assert found(last, on=on) == {date(9999, 12, 1): ([date(9999, 12, 30)], 0)}


def test_a_round_is_one_kind_of_work_at_one_place():
    some = [
        need(date(2026, 9, day), item=day, place=place, requirement=work)
        for day, place, work in (
            *((1, 7, "leak_test"), (2, 7, "leak_test")),
            *((3, 8, "leak_test"), (4, 7, "shutter_check"), (5, None, "training")),
        )
    ]
    (september,) = [month for month in months_ahead(some, ON) if month.rounds]
    assert [(one.requirement, one.place, len(one.needs)) for one in september.rounds] == [
        *(("leak_test", 7, 2), ("leak_test", 8, 1)),
        *(("shutter_check", 7, 1), ("training", None, 1)),
    ]


# ---------------------------------------------------------------- any time line


DAYS = st.dates(date(2024, 1, 1), date(2029, 12, 31))
INTERVALS = st.none() | st.builds(
    Interval, months=st.integers(1, 60), grace_days=st.integers(0, 40), to_year_end=st.booleans()
)


@st.composite
def time_line(draw, item):
    """A requirement's spans, one after another without a gap."""
    cuts = sorted(draw(st.sets(DAYS, max_size=3)))
    begins = [date(1, 1, 1), *cuts]
    ends = [*(day - timedelta(1) for day in cuts), date(9999, 12, 31)]
    out = []
    for begin, end in zip(begins, ends, strict=True):
        state = draw(st.sampled_from(STORED))
        due_on = draw(DAYS) if state == "dated" else None
        if state == "awaited":
            due_on = draw(st.none() | DAYS)
        out.append(span(due_on, item=item, state=state, from_on=begin, until_on=end))
    return out


def said_by_hand(spans, on):
    """Day by day: the first day on which it is the due date, or is to be looked at at once."""
    day = on
    while day < date(2031, 1, 1):
        now = next(one for one in spans if one.from_on <= day <= one.until_on)
        if now.state in ("failed", "never_done", "undecided") or (
            now.state == "awaited" and now.due_on is None
        ):
            return "now" if day == on else day - timedelta(1)
        if now.state in ("dated", "awaited"):
            if now.due_on == day:
                return day
            if now.due_on < day:
                return "now" if day == on else day - timedelta(1)
        day += timedelta(1)
    return None


@settings(deadline=None)
@given(st.lists(st.integers(1, 4).flatmap(time_line), max_size=4), DAYS, INTERVALS)
def test_each_due_date_of_the_year_is_there_once_and_only_once(lines, on, interval):
    every = {line[0].item: line for line in lines}
    found = needs(
        [one for line in every.values() for one in line], on, interval_of=lambda one: interval
    )
    months = months_ahead(found, on)
    counted = Counter(one.item for month in months for each in month.rounds for one in each.needs)
    for item, line in every.items():
        said = said_by_hand(line, on)
        in_window = said == "now" or (said is not None and on <= said < add_months(on, 12))
        assert counted[item] == in_window
        for month in months:
            there = [one for each in month.rounds for one in each.needs if one.item == item]
            if there and month.first is None:
                assert said == "now"
            elif there:
                assert month.first <= said <= month.last
                assert there[0].due_on == said


@given(DAYS, DAYS, INTERVALS.filter(bool))
def test_what_is_projected_lies_in_the_year_in_order_after_the_first(due_on, on, interval):
    one = need(due_on, at_once=due_on < on, interval=interval)
    days = projected(one, on, window_end(on))
    assert days == sorted(set(days))
    assert all(max(due_on, on) < day < window_end(on) for day in days)
    total = sum(each.projected for month in months_ahead([one], on) for each in month.rounds)
    assert total == len(days)
