"""Where an item is, from what happened to it.

A pure function makes the time line of stays from the movements; the state of a day is the state at
its end. What could not have happened is refused with its reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from datetime import time as time_of_day

OPEN_END = date(9999, 12, 31)
RECEIVED, INSTALLED, REMOVED, MOVED, STORED = (
    *("received", "installed", "removed"),
    *("moved", "stored"),
)
OUT, BACK, SENT_AWAY, ARRIVED, RETURNED = "out", "back", "sent_away", "arrived", "returned"
TRANSFERRED, DISPOSED, MISSING, FOUND, LEFT = (
    *("transferred", "disposed", "missing"),
    *("found", "left"),
)
VERBS = (
    *(RECEIVED, INSTALLED, REMOVED, MOVED, STORED),
    *(OUT, BACK, SENT_AWAY, ARRIVED, RETURNED),
    *(TRANSFERRED, DISPOSED, MISSING, FOUND, LEFT),
)
#: Whereabouts a stay can have. Out: at a job and coming back; away: with somebody else.
IN_GAUGE, AT_LOCATION = "in_gauge", "at_location"
WENT_OUT, IN_TRANSIT, AWAY, LOST = "out", "in_transit", "away", "missing"
WHEREABOUTS = (AT_LOCATION, IN_GAUGE, WENT_OUT, IN_TRANSIT, AWAY, LOST)
#: How a thing is kept: in use; in storage; idle but ready; in the maker's shipping container.
IN_USE, IN_STORAGE, STANDBY, PACKED = "in_use", "stored", "standby", "packed"
KEEPINGS = (IN_USE, IN_STORAGE, STANDBY, PACKED)


@dataclass(frozen=True, slots=True)
class Move:
    """One movement: to a gauge or to a location (identifiers, the other is None)."""

    on: date
    time: time_of_day | None
    seq: int
    verb: str
    gauge: int | None = None
    location: int | None = None
    place: int = 0  # the number of the record that it corrects
    keeping: str = IN_USE
    away_to: str = ""  # job site, consignee

    @property
    def order(self) -> tuple[date, time_of_day, int]:
        """Order within a day is the time if given, else the order of recording; a correction
        takes the place of what it corrects. An arrival without a time comes before whatever
        else happened that day, timed or not."""
        untimed = time_of_day.min if self.verb == RECEIVED else time_of_day.max
        return (self.on, self.time or untimed, self.place or self.seq)


@dataclass(frozen=True, slots=True)
class StaySpan:
    """From a day until a day (both included) at one place; ``gauge`` when it is inside one."""

    from_on: date
    until_on: date
    gauge: int | None
    location: int | None
    keeping: str = IN_USE
    away_to: str = ""

    @property
    def whereabouts(self) -> str:
        """``in_gauge`` or ``at_location``."""
        return IN_GAUGE if self.gauge is not None else AT_LOCATION

    def covers(self, day: date) -> bool:
        """Whether the item was there at the end of that day."""
        return self.from_on <= day <= self.until_on


@dataclass(frozen=True, slots=True)
class Refusal:
    """A movement that cannot have happened, and why (a code)."""

    move: Move
    code: str


def stays(moves: Iterable[Move]) -> tuple[list[StaySpan], list[Refusal]]:
    """The time line of an item from its movements, and the movements that are impossible.

    A place without a movement after it lasts for ever. Refused: receiving twice, and anything
    before the item was received.
    """
    accepted: list[Move] = []
    refused: list[Refusal] = []
    for move in sorted(moves, key=lambda one: one.order):
        code = _impossible(move, accepted)
        if code:
            refused.append(Refusal(move, code))
        else:
            accepted.append(move)
    return _spans(accepted), refused


def _impossible(move: Move, before: Sequence[Move]) -> str:
    if move.verb == RECEIVED:
        return "received_twice" if before else ""
    if not before:
        return "moved_before_received"
    last = before[-1]
    if move.verb == INSTALLED and last.gauge == move.gauge:
        return "already_installed"
    if move.verb == MOVED and (last.gauge, last.location) == (move.gauge, move.location):
        return "already_there"
    return ""


def _spans(moves: Sequence[Move]) -> list[StaySpan]:
    last_of_day = {move.on: move for move in moves}  # later movements of a day win
    days = sorted(last_of_day)
    ends = [*(day - timedelta(days=1) for day in days[1:]), OPEN_END]
    return [
        StaySpan(day, end, last_of_day[day].gauge, last_of_day[day].location)
        for day, end in zip(days, ends, strict=False)
    ]


def resolved(own: Sequence[StaySpan], gauges: Mapping[int, Sequence[StaySpan]]) -> list[StaySpan]:
    """The stays of an item with the location of its gauge filled in, cut where the gauge moved.

    ``gauges`` holds the stays of each gauge it was ever in. While a gauge's place is not known,
    the location stays None.
    """
    out: list[StaySpan] = []
    for span in own:
        if span.gauge is None:
            out.append(span)
        else:
            out.extend(_inside(span, gauges.get(span.gauge, ())))
    return out


def _inside(span: StaySpan, of_gauge: Sequence[StaySpan]) -> list[StaySpan]:
    out: list[StaySpan] = []
    start = span.from_on
    for place in of_gauge:
        if place.until_on < start or place.from_on > span.until_on:
            continue
        if place.from_on > start:
            out.append(replace(span, from_on=start, until_on=place.from_on - timedelta(days=1)))
            start = place.from_on
        end = min(place.until_on, span.until_on)
        out.append(replace(span, from_on=start, until_on=end, location=place.location))
        if end == span.until_on:
            return out
        start = end + timedelta(days=1)
    out.append(replace(span, from_on=start))
    return out


def at(spans: Sequence[StaySpan], day: date) -> StaySpan | None:
    """The stay of a day, or None when the item was not here."""
    return next((span for span in spans if span.covers(day)), None)
