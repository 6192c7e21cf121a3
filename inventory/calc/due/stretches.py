"""Stretches of stays: since when it is here, since when it is kept like this."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta

from inventory.calc.stays import (
    AT_LOCATION,
    IN_GAUGE,
    IN_STORAGE,
    IN_USE,
    PACKED,
    WENT_OUT,
    StaySpan,
)

ONE_DAY = timedelta(days=1)
Stretch = tuple[date, date]


def stretches(stays: Sequence[StaySpan], wanted: Callable[[StaySpan], bool]) -> list[Stretch]:
    """The days on which a stay is as wanted, days that follow one another joined."""
    out: list[Stretch] = []
    for span in stays:
        if not wanted(span):
            continue
        if out and out[-1][1] + ONE_DAY == span.from_on:
            out[-1] = (out[-1][0], span.until_on)
        else:
            out.append((span.from_on, span.until_on))
    return out


def covering(found: Sequence[Stretch], day: date) -> Stretch | None:
    """The stretch that a day lies in."""
    return next((one for one in found if one[0] <= day <= one[1]), None)


def here(stays: Sequence[StaySpan]) -> list[Stretch]:
    """On this site or out of it for a time: from receipt until it left for good."""
    return stretches(stays, lambda _span: True)


def in_use(stays: Sequence[StaySpan]) -> list[Stretch]:
    """In use: not in storage, not packed, not sent away, not missing."""
    places = (AT_LOCATION, IN_GAUGE, WENT_OUT)
    return stretches(stays, lambda span: span.keeping == IN_USE and span.whereabouts in places)


def stored(stays: Sequence[StaySpan]) -> list[Stretch]:
    """In storage, or still as it was packed."""
    return stretches(stays, lambda span: span.keeping in (IN_STORAGE, PACKED))


def kept_so(stays: Sequence[StaySpan], day: date) -> Stretch | None:
    """The stretch of one way of keeping that a day lies in."""
    now = next((span for span in stays if span.covers(day)), None)
    if now is None:
        return None
    return covering(stretches(stays, lambda span: span.keeping == now.keeping), day)
