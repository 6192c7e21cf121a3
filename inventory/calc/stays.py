"""Where an item is, from what happened to it.

Pure functions make the time line of stays from the movements; the state of a day is the state at
its end. What could not have happened is refused with its reason (``inventory.calc.whereabouts``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

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
    KEEPINGS,
    LEFT,
    LOST,
    MISSING,
    MOVED,
    NOT_HERE,
    OPEN_END,
    OUT,
    PACKED,
    RECEIVED,
    REMOVED,
    RETURNED,
    SENT_AWAY,
    STANDBY,
    STORED,
    TO_LOCATION,
    TRANSFERRED,
    VERBS,
    WENT_OUT,
    WHEREABOUTS,
    Move,
)
from inventory.calc.whereabouts import GONE, Histories, Passed, Refusal, walk

#: The words of movements are imported from here by whoever needs stays too.
__all__ = [
    "ARRIVED", "AT_LOCATION", "AWAY", "BACK", "DISPOSED", "FOR_GOOD", "FOUND", "INSTALLED",
    "IN_GAUGE", "IN_STORAGE", "IN_TRANSIT", "IN_USE", "KEEPINGS", "LEFT", "LOST", "MISSING",
    "MOVED", "NOT_HERE", "OPEN_END", "OUT", "PACKED", "RECEIVED", "REMOVED", "RETURNED",
    "SENT_AWAY", "STANDBY", "STORED", "TO_LOCATION", "TRANSFERRED", "VERBS", "WENT_OUT",
    "WHEREABOUTS", "Move", "Refusal", "StaySpan", "at", "resolved", "stays", "timeline", "told",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class StaySpan:
    """From a day until a day (both included): at a location, inside ``gauge``, or somewhere else
    that ``away_to`` names. ``whereabouts`` left out follows from the gauge."""

    from_on: date
    until_on: date
    gauge: int | None
    location: int | None
    whereabouts: str = ""
    keeping: str = IN_USE
    away_to: str = ""
    visiting: bool = False

    def __post_init__(self) -> None:
        if not self.whereabouts:
            inside = IN_GAUGE if self.gauge is not None else AT_LOCATION
            object.__setattr__(self, "whereabouts", inside)

    def covers(self, day: date) -> bool:
        """Whether the item was there at the end of that day."""
        return self.from_on <= day <= self.until_on


def stays(
    moves: Iterable[Move], gauges: Histories | None = None
) -> tuple[list[StaySpan], list[Refusal]]:
    """The time line of an item from its movements, and the movements that are impossible.

    A place without a movement after it lasts for ever. What is refused moves nothing. ``gauges``
    as ``walk`` has them.
    """
    passed, refused = walk(moves, gauges)
    return [span for span in _spans(passed) if span.whereabouts != GONE], refused


def told(moves: Iterable[Move]) -> list[StaySpan]:
    """The time line of an item as its records tell it: what was once recorded is not judged."""
    return [span for span in timeline(moves) if span.whereabouts != GONE]


def timeline(moves: Iterable[Move]) -> list[StaySpan]:
    """The same with the days on which it was gone for good, whereabouts ``GONE``: what is inside a
    gauge needs to know them (see ``resolved``)."""
    return _spans(walk(moves, told=True)[0])


def _spans(passed: Sequence[Passed]) -> list[StaySpan]:
    last_of_day = {one.move.on: one.state for one in passed}  # later movements of a day win
    days = sorted(last_of_day)
    ends = [*(day - timedelta(days=1) for day in days[1:]), OPEN_END]
    states = (last_of_day[day] for day in days)
    return [
        StaySpan(
            *(day, end, state.gauge, state.location, state.whereabouts),
            *(state.keeping, state.away_to, state.visiting),
        )
        for day, end, state in zip(days, ends, states, strict=False)  # no movement, no end
    ]


def resolved(own: Sequence[StaySpan], gauges: Mapping[int, Sequence[StaySpan]]) -> list[StaySpan]:
    """The stays of an item with what its gauge says filled in, cut where the gauge changed.

    Location, keeping and consignee are the gauge's, and so are whereabouts that are neither at a
    location nor inside. While the gauge is gone the item is gone; before anything is known of the
    gauge the location stays None. ``gauges`` holds the stays of each gauge it was ever in; there,
    and in ``own``, days on which it was gone may be left out or be ``GONE``.
    """
    out: list[StaySpan] = []
    for span in own:
        if span.whereabouts == GONE:
            continue
        if span.gauge is None:
            out.append(span)
        else:
            out.extend(_inside(span, gauges.get(span.gauge, ())))
    return out


def _inside(span: StaySpan, of_gauge: Sequence[StaySpan]) -> list[StaySpan]:
    if not of_gauge or span.until_on < of_gauge[0].from_on:
        return [span]
    out: list[StaySpan] = []
    known_from = of_gauge[0].from_on
    if span.from_on < known_from:
        out.append(replace(span, until_on=known_from - timedelta(days=1)))
    for there in of_gauge:
        start, end = max(span.from_on, there.from_on), min(span.until_on, there.until_on)
        if start <= end and there.whereabouts != GONE:
            out.append(_taken_along(replace(span, from_on=start, until_on=end), there))
    return out


def _taken_along(span: StaySpan, gauge: StaySpan) -> StaySpan:
    return replace(
        span,
        location=gauge.location,
        whereabouts=gauge.whereabouts if gauge.whereabouts in NOT_HERE else IN_GAUGE,
        keeping=gauge.keeping,
        away_to=gauge.away_to,
        visiting=span.visiting or gauge.visiting,
    )


def at(spans: Sequence[StaySpan], day: date) -> StaySpan | None:
    """The stay of a day, or None when the item was not here."""
    for span in spans:  # asked so often that a generator would be felt
        if span.from_on <= day <= span.until_on:
            return span
    return None
