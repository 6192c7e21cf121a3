"""Where a thing is after each of its movements, and which movements are possible from there.

One table says what can follow what. What is refused has a code, whose sentence the upper modules
know. A source inside a gauge goes where the gauge goes, so some answers depend on the gauge.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from inventory.calc.moves import (
    ARRIVED,
    AT_LOCATION,
    AWAY,
    BACK,
    DISPOSED,
    FOR_GOOD,
    FOUND,
    IN_GAUGE,
    IN_STORAGE,
    IN_TRANSIT,
    IN_USE,
    INSTALLED,
    LEFT,
    LOST,
    MISSING,
    MOVED,
    OUT,
    PACKED,
    RECEIVED,
    REMOVED,
    RETURNED,
    SENT_AWAY,
    STORED,
    TO_LOCATION,
    TRANSFERRED,
    VERBS,
    WENT_OUT,
    Move,
)

#: Whereabouts from which it is expected back.
NOT_BACK = (WENT_OUT, IN_TRANSIT, AWAY)
#: Not yet received; gone for good. Neither is a stay.
NOWHERE, GONE = "", "gone"

#: What can follow, by whereabouts.
FOLLOWS: Mapping[str, frozenset[str]] = {
    NOWHERE: frozenset({RECEIVED}),
    AT_LOCATION: frozenset(
        {INSTALLED, MOVED, STORED, OUT, SENT_AWAY, TRANSFERRED, DISPOSED, MISSING, LEFT}
    ),
    IN_GAUGE: frozenset({INSTALLED, REMOVED, MISSING}),
    WENT_OUT: frozenset({BACK, MISSING}),
    IN_TRANSIT: frozenset({ARRIVED, RETURNED, MISSING}),
    AWAY: frozenset({RETURNED, TRANSFERRED, DISPOSED, MISSING}),
    LOST: frozenset({FOUND}),
    GONE: frozenset({RECEIVED}),
}
#: Why anything else is refused, by whereabouts ...
REFUSED = {
    NOWHERE: "moved_before_received",
    AT_LOCATION: "not_away",
    IN_GAUGE: "inside_gauge",
    WENT_OUT: "is_out",
    IN_TRANSIT: "is_on_the_way",
    AWAY: "is_away",
    LOST: "is_missing",
}
#: ... and where a verb has a better answer.
REFUSED_AS = {
    (AT_LOCATION, REMOVED): "not_in_gauge",
    (AT_LOCATION, BACK): "not_out",
    (AT_LOCATION, ARRIVED): "not_on_the_way",
    **dict.fromkeys([(IN_GAUGE, verb) for verb in (BACK, ARRIVED, RETURNED)], "comes_with_gauge"),
    (IN_TRANSIT, TRANSFERRED): "not_arrived",
    (IN_TRANSIT, DISPOSED): "not_arrived",
    (AWAY, ARRIVED): "arrived_already",
    (LOST, MISSING): "missing_already",
    **dict.fromkeys(
        [(at, FOUND) for at in (AT_LOCATION, IN_GAUGE, WENT_OUT, IN_TRANSIT, AWAY)], "not_missing"
    ),
    **dict.fromkeys(
        [(at, RECEIVED) for at in (AT_LOCATION, IN_GAUGE, WENT_OUT, IN_TRANSIT, AWAY, LOST)],
        "received_twice",
    ),
}
ENDED_AS = {TRANSFERRED: "was_transferred", DISPOSED: "was_disposed", LEFT: "has_left"}
#: What belongs to somebody else is not ours to send away.
NOT_OURS = frozenset({OUT, SENT_AWAY, TRANSFERRED, DISPOSED})


@dataclass(frozen=True, slots=True)
class State:
    """Where a thing is. ``home``: the location that it was at last."""

    whereabouts: str = NOWHERE
    gauge: int | None = None
    location: int | None = None
    home: int | None = None
    keeping: str = IN_USE
    away_to: str = ""
    visiting: bool = False
    since: date | None = None
    ended_by: str = ""  # one of FOR_GOOD
    expected_on: date | None = None  # as was said when it went, or when it came to visit

    @property
    def awaited_on(self) -> date | None:
        """The day on which it was to be back here, or on which the visit was to end: of a thing
        that is not back, or still visits. None where nobody said, and of what is missing."""
        awaited = self.whereabouts in NOT_BACK or (
            self.visiting and self.whereabouts in (AT_LOCATION, IN_GAUGE)
        )
        return self.expected_on if awaited else None


@dataclass(frozen=True, slots=True)
class Passed:
    """A movement and where it led to."""

    move: Move
    state: State


@dataclass(frozen=True, slots=True)
class Refusal:
    """A movement that cannot have happened, why (a code), and where the thing was before it."""

    move: Move
    code: str
    before: State = field(default=State(), compare=False)


Histories = Mapping[int, Sequence[Passed]]


def walk(
    moves: Iterable[Move], gauges: Histories | None = None, *, told: bool = False
) -> tuple[list[Passed], list[Refusal]]:
    """Every movement in order with where it led, and those that are impossible.

    ``gauges``: the movements of every gauge that is named; without them nothing is asked of a
    gauge. ``told``: the movements are records, and each is taken as it says, possible or not:
    what somebody recorded under other rules is not to be lost.
    """
    passed: list[Passed] = []
    refused: list[Refusal] = []
    state = State()
    for move in sorted(moves, key=lambda one: one.order):
        code = refusal(state, move, gauges)
        if code:
            refused.append(Refusal(move, code, state))
        if told or not code:
            state = after(state, move)
            passed.append(Passed(move, state))
    return passed, refused


def after(state: State, move: Move) -> State:
    """Where it is after a movement. Answers for every pair, possible or not."""
    came = move.verb == RECEIVED
    visiting = move.visiting if came else state.visiting
    until = (move if came else state).expected_on if visiting else None
    here = State(keeping=move.keeping, visiting=visiting, since=move.on, expected_on=until)
    if move.gauge is not None:
        return replace(here, whereabouts=IN_GAUGE, gauge=move.gauge)
    if move.verb in TO_LOCATION:
        to = move.location if move.location is not None else state.home
        keeping = IN_STORAGE if move.verb == STORED else move.keeping
        return replace(here, whereabouts=AT_LOCATION, location=to, home=to, keeping=keeping)
    gone = replace(state, gauge=None, location=None, away_to=move.away_to, since=move.on)
    if move.verb in FOR_GOOD:
        return replace(gone, whereabouts=GONE, ended_by=move.verb)
    if move.verb in (OUT, SENT_AWAY):
        gone = replace(gone, expected_on=move.expected_on)
    if move.verb == OUT:
        return replace(gone, whereabouts=WENT_OUT, keeping=move.keeping)
    if move.verb == ARRIVED:
        return replace(gone, whereabouts=AWAY, away_to=move.away_to or state.away_to)
    return replace(gone, whereabouts=IN_TRANSIT if move.verb == SENT_AWAY else LOST)


def refusal(state: State, move: Move, gauges: Histories | None = None) -> str:
    """Why a movement is impossible (a code), or empty."""
    if state.whereabouts == IN_GAUGE and gauges is not None:
        by_gauge = _by_gauge(move, _during(gauges.get(state.gauge or 0, ()), move))
        if by_gauge is not None:
            return by_gauge or _by_target(move, gauges)
    if move.verb not in FOLLOWS[state.whereabouts]:
        return _why_not(state, move.verb)
    return _by_itself(state, move) or _by_target(move, gauges)


def _why_not(state: State, verb: str) -> str:
    if state.whereabouts == GONE:
        return ENDED_AS[state.ended_by]
    return REFUSED_AS.get((state.whereabouts, verb)) or REFUSED[state.whereabouts]


def _by_itself(state: State, move: Move) -> str:
    """What the thing and the movement say of each other, wherever gauges are."""
    if state.ended_by == DISPOSED:
        return "was_disposed"
    if move.verb == LEFT and not state.visiting:
        return "not_visiting"
    if move.verb in NOT_OURS and state.visiting:
        return "visiting_only_leaves"
    if move.verb == INSTALLED and state.gauge == move.gauge:
        return "already_installed"
    if move.verb in (MOVED, STORED) and _stays_put(state, move):
        return "already_there"
    if move.keeping == PACKED and move.verb in (MOVED, REMOVED) and state.keeping != PACKED:
        return "packed_no_more"
    return ""


def _stays_put(state: State, move: Move) -> bool:
    then = after(state, move)
    now = (state.gauge, state.location, state.keeping)
    return now == (then.gauge, then.location, then.keeping)


def _by_target(move: Move, gauges: Histories | None) -> str:
    if move.gauge is None or gauges is None:
        return ""
    during = _during(gauges.get(move.gauge, ()), move)
    return "" if _was(during, AT_LOCATION) else "gauge_not_here"


def _by_gauge(move: Move, gauge: Sequence[State]) -> str | None:
    """What the gauge that holds a source says of a movement of the source; None: nothing."""
    last = gauge[-1]
    if last.whereabouts == GONE and move.verb == RECEIVED:
        return "gone_with_gauge" if last.ended_by == DISPOSED else ""
    if not _was(gauge, *(FOLLOWS.keys() - {GONE, NOWHERE})):
        return "gone_with_gauge" if last.whereabouts == GONE else None
    if move.verb == FOUND and _was(gauge, LOST):
        return ""
    if move.verb == MISSING and not _was(gauge, *(FOLLOWS.keys() - {GONE, NOWHERE, LOST})):
        return "missing_already"
    if move.verb in (REMOVED, INSTALLED) and not _was(gauge, AT_LOCATION):
        return "its_gauge_not_here"
    return None


def _during(history: Sequence[Passed], move: Move) -> list[State]:
    """Where a gauge may have been when something else moved: when the day began, then after each
    of its movements. Of two movements on one day of which one has no time, either may be the
    earlier; where both have one, what had ended by then and what came later is not meant."""
    before = [one.state for one in history if one.move.on < move.on]
    that_day = [one for one in history if one.move.on == move.on]
    states = [*(before[-1:] or [State()]), *(one.state for one in that_day)]
    if move.time is None:
        return states
    times = [one.move.time for one in that_day]
    ended = [n for n, time in enumerate(times, 1) if time is not None and time < move.time]
    later = {n for n, time in enumerate(times, 1) if time is not None and time > move.time}
    first = max(ended, default=0)
    return [state for n, state in enumerate(states) if n >= first and n not in later]


def _was(states: Iterable[State], *whereabouts: str) -> bool:
    return any(state.whereabouts in whereabouts for state in states)


def possible(state: State, gauge: State | None = None) -> list[str]:
    """The verbs that can follow, in the order of VERBS. ``gauge``: where the one is that it is
    in."""
    if gauge is not None and gauge.whereabouts == GONE:
        return [] if gauge.ended_by == DISPOSED else [RECEIVED]
    follows = FOLLOWS[state.whereabouts]
    if gauge is not None and gauge.whereabouts == LOST:
        follows = frozenset({FOUND})
    elif gauge is not None and gauge.whereabouts not in (AT_LOCATION, NOWHERE):
        follows = frozenset({MISSING})
    if state.ended_by == DISPOSED:
        follows = frozenset()
    barred = NOT_OURS if state.visiting else {LEFT}
    return [verb for verb in VERBS if verb in follows and verb not in barred]
