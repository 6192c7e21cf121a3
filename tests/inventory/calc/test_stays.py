"""Where an item is, from its movements."""

from __future__ import annotations

from datetime import date, time, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.stays import (
    AT_LOCATION,
    IN_GAUGE,
    INSTALLED,
    MOVED,
    OPEN_END,
    RECEIVED,
    REMOVED,
    Move,
    StaySpan,
    at,
    resolved,
    stays,
)

FEW = settings(max_examples=200, deadline=None)
D = date(2025, 3, 10)
STORE, SHOP, GAUGE, OTHER = 1, 2, 7, 8


def day(n: int) -> date:
    return D + timedelta(days=n)


def received(n: int, seq: int = 1, to: int = STORE, **more: Any) -> Move:
    return Move(day(n), more.pop("time", None), seq, RECEIVED, location=to, **more)


def installed(n: int, seq: int, into: int = GAUGE, **more: Any) -> Move:
    return Move(day(n), more.pop("time", None), seq, INSTALLED, gauge=into, **more)


def removed(n: int, seq: int, to: int = SHOP, **more: Any) -> Move:
    return Move(day(n), more.pop("time", None), seq, REMOVED, location=to, **more)


def moved(n: int, seq: int, to: int = SHOP, **more: Any) -> Move:
    return Move(day(n), more.pop("time", None), seq, MOVED, location=to, **more)


def test_a_place_lasts_until_the_day_before_the_next():
    line, refused = stays([received(0), installed(5, 2), removed(9, 3)])
    assert not refused
    assert line == [
        StaySpan(day(0), day(4), None, STORE),
        StaySpan(day(5), day(8), GAUGE, None),
        StaySpan(day(9), OPEN_END, None, SHOP),
    ]
    assert [span.whereabouts for span in line] == [AT_LOCATION, IN_GAUGE, AT_LOCATION]


def test_without_movements_it_is_nowhere():
    assert stays([]) == ([], [])
    assert at([], D) is None


def test_before_it_was_received_it_is_nowhere():
    line, _ = stays([received(0)])
    assert at(line, day(-1)) is None
    assert at(line, day(0)) == line[0]


def test_a_day_is_what_it_is_at_its_end():
    line, _ = stays([received(0), installed(0, 2), removed(0, 3)])
    assert line == [StaySpan(day(0), OPEN_END, None, SHOP)]


def test_within_a_day_the_time_orders_and_then_the_recording():
    late, early = removed(1, 2, time=time(15)), installed(1, 3, time=time(8))
    line, _ = stays([received(0), late, early])
    assert line[-1].location == SHOP
    line, _ = stays([received(0), moved(1, 2), installed(1, 3)])
    assert line[-1].gauge == GAUGE
    line, _ = stays([received(0), removed(1, 9, time=time(8)), installed(1, 3, time=time(8))])
    assert line[-1].location == SHOP


def test_a_correction_takes_the_place_of_what_it_corrects():
    line, refused = stays([received(0), removed(1, 3), installed(1, 4, into=OTHER, place=2)])
    assert not refused
    assert line[-1].location == SHOP


def test_the_order_in_which_movements_come_does_not_matter():
    moves = [received(0), installed(5, 2), removed(9, 3)]
    assert stays(moves) == stays(reversed(moves))


@pytest.mark.parametrize(
    ("moves", "code"),
    [
        ([received(0), received(3, 2, to=SHOP)], "received_twice"),
        ([moved(0, 1)], "moved_before_received"),
        ([received(3), installed(0, 2)], "moved_before_received"),
        ([received(0), installed(1, 2), installed(2, 3)], "already_installed"),
        ([received(0), moved(1, 2, to=STORE)], "already_there"),
        ([received(0), moved(1, 2), moved(1, 3)], "already_there"),
    ],
)
def test_it_refuses_what_cannot_have_happened(moves, code):
    _, refused = stays(moves)
    assert [one.code for one in refused] == [code]


def test_a_refused_movement_moves_nothing():
    line, _ = stays([received(0), received(3, 2, to=SHOP)])
    assert line == [StaySpan(day(0), OPEN_END, None, STORE)]


def test_it_may_go_from_one_gauge_to_another_and_back():
    line, refused = stays([received(0), installed(1, 2), installed(2, 3, OTHER), installed(3, 4)])
    assert not refused
    assert [span.gauge for span in line] == [None, GAUGE, OTHER, GAUGE]


# --- inside a gauge that moves ---------------------------------------------------------------


def test_a_gauge_takes_its_source_along():
    own, _ = stays([received(0), installed(5, 2)])
    gauge, _ = stays([received(0, to=STORE), moved(8, 2)])
    assert resolved(own, {GAUGE: gauge}) == [
        StaySpan(day(0), day(4), None, STORE),
        StaySpan(day(5), day(7), GAUGE, STORE),
        StaySpan(day(8), OPEN_END, GAUGE, SHOP),
    ]


def test_a_source_taken_out_stays_where_it_was_put():
    own, _ = stays([received(0), installed(5, 2), removed(8, 3, to=STORE)])
    gauge, _ = stays([received(0), moved(8, 2), moved(9, 3, to=STORE), moved(10, 4)])
    assert resolved(own, {GAUGE: gauge})[-1] == StaySpan(day(8), OPEN_END, None, STORE)


def test_a_place_that_nobody_knows_stays_unknown():
    own, _ = stays([received(0), installed(5, 2)])
    gauge, _ = stays([received(8)])
    assert [span.location for span in resolved(own, {GAUGE: gauge})] == [STORE, None, STORE]
    assert resolved(own, {})[-1] == StaySpan(day(5), OPEN_END, GAUGE, None)


# --- random movements -------------------------------------------------------------------------

moves_of = st.lists(
    st.builds(
        Move,
        on=st.integers(0, 12).map(day),
        time=st.none() | st.sampled_from([time(0), time(9), time(17)]),
        seq=st.integers(1, 10**6),
        verb=st.just(MOVED),
        gauge=st.just(None),
        location=st.sampled_from([STORE, SHOP, 3]),
    ),
    max_size=8,
    unique_by=lambda move: move.seq,
)


@st.composite
def histories(draw: Any, inside: bool) -> list[Move]:
    moves = [received(draw(st.integers(-3, 0)), seq=0)]
    for move in draw(moves_of):
        if inside and draw(st.booleans()):
            into = draw(st.sampled_from([GAUGE, OTHER]))
            moves.append(Move(move.on, move.time, move.seq, INSTALLED, gauge=into))
        else:
            moves.append(move)
    return moves


def moment(move: Move) -> tuple[date, time, int]:
    untimed = time.min if move.verb == RECEIVED else time.max
    return (move.on, move.time or untimed, move.seq)


def place_at_the_end_of(moves: list[Move], refused: list[Any], on: date) -> tuple[Any, Any] | None:
    """Walks through every movement, one after the other; an arrival comes first on its day."""
    not_happened = [one.move for one in refused]
    found = None
    for move in sorted(moves, key=moment):
        if move.on <= on and move not in not_happened:
            found = (move.gauge, move.location)
    return found


@FEW
@given(histories(inside=True), histories(inside=False), histories(inside=False))
def test_it_is_every_day_where_the_last_movement_put_it(moves, of_gauge, of_other):
    own, refused = stays(moves)
    gauges = {GAUGE: stays(of_gauge)[0], OTHER: stays(of_other)[0]}
    line = resolved(own, gauges)
    for one, following in pairwise(line):
        assert one.until_on + timedelta(days=1) == following.from_on
    assert line[-1].until_on == OPEN_END
    for on in (day(n) for n in range(-5, 20)):
        expected = place_at_the_end_of(moves, refused, on)
        found = at(line, on)
        if expected is None or found is None:
            assert found is expected is None
            continue
        gauge, location = expected
        if gauge is not None:
            there = at(gauges[gauge], on)
            location = there.location if there else None
        assert (found.gauge, found.location) == (gauge, location)


@FEW
@given(histories(inside=True))
def test_what_it_accepts_it_accepts_again(moves):
    _, refused = stays(moves)
    wrong = [one.move for one in refused]
    assert stays([move for move in moves if move not in wrong])[1] == []
