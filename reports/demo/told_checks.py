"""Rules and checks of a demo site as plain data: its schedule, settings, checks, happenings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.schedule.pieces import Taken


@dataclass(frozen=True, slots=True)
class OwnRow:
    """A row of the site's own; ``because``: why it may be looser than it was."""

    data: Mapping[str, Any]
    because: str = ""


@dataclass(frozen=True, slots=True)
class Adopted:
    """A schedule that was gone through and adopted; ``by`` is the adviser whose word its rows and
    settings are."""

    drafted: int  # days ago
    days_ago: int
    by: str
    taken: tuple[Taken, ...]
    rows: tuple[OwnRow, ...]
    review_in: int  # days from the demo day
    note: str = ""


@dataclass(frozen=True, slots=True)
class Setting:
    """A row for one thing alone, on the word of its label, of a permit or of the adviser."""

    item: str
    requirement: str
    authority: str
    days_ago: int
    months: int
    document: str
    clause: str


@dataclass(frozen=True, slots=True)
class Confirmed:
    """A named person confirmed what decay had changed."""

    item: str
    requirement: str
    days_ago: int
    reason: str


@dataclass(frozen=True, slots=True)
class Done:
    """A check of several things at once; ``failed``: thing -> what was found."""

    requirement: str
    days_ago: int
    subjects: tuple[str, ...]
    failed: Mapping[str, str] = field(default_factory=dict)
    valid_in: int | None = None  # days from the demo day
    document: str = ""
    remark: str = ""
    by: str = ""
    entered: int | None = None  # days ago, where it stood on paper until then


@dataclass(frozen=True, slots=True)
class Round:
    """An accounting check of every source that was on the site that day, or of the portable ones
    alone; ``left_out`` was not looked for, ``not_seen`` was not found."""

    days_ago: int
    only_portable: bool = False
    left_out: tuple[str, ...] = ()
    not_seen: tuple[tuple[str, str], ...] = ()
    remark: str = ""
    entered: int | None = None


@dataclass(frozen=True, slots=True)
class Happened:
    """What happened to a gauge, and which sources it concerns."""

    item: str
    what: str
    days_ago: int
    also: tuple[str, ...]
    remark: str


def monthly(last: int, times: int, *, late: Mapping[int, int] | None = None) -> tuple[int, ...]:
    """Days ago of rounds about a month apart, the oldest first, ending ``last`` days ago; ``late``
    says which of them (0 the oldest) came so many days after the others' rhythm."""
    days = [last + round(30.4 * back) for back in range(times - 1, -1, -1)]
    return tuple(day - (late or {}).get(place, 0) for place, day in enumerate(days))


def entered_by(days: tuple[int, ...], together: int) -> dict[int, int]:
    """Round sheets are typed in a few at a time, with the last of each heap; the two newest ones
    on their own day: day of the round -> day of entering."""
    heaps = [days[:-2][place : place + together] for place in range(0, len(days) - 2, together)]
    return {day: heap[-1] for heap in heaps for day in heap}
