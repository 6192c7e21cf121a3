"""Everything that decides about one subject: what happened, where it was, what it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from datetime import time as time_of_day
from types import MappingProxyType

from inventory.calc.explain import Scalar
from inventory.calc.stays import StaySpan, at
from inventory.rules.schema import Row, RuleSet


@dataclass(frozen=True, slots=True)
class Event:
    """One record about the subject, as far as requirements need to know it."""

    record: int
    seq: int
    kind: str
    on: date
    time: time_of_day | None = None
    outcome: str = ""
    fit: bool = True
    unfit_because: str = ""
    accuses: bool = False
    accepted: bool = True
    live: bool = True
    valid_until: date | None = None
    place: int = 0  # the number of the record that it corrects
    accepted_on: date | None = None  # accepted by a later act: from that day on
    completed_on: date | None = None  # its result came, or it was given up: from that day on
    away_to: str = ""  # who is to give the result
    what: str = ""  # of a happening: damage, repair ...
    #: Of one that was corrected: until when it tells against all the same, for nobody has accepted
    #: the correction; None where it was accepted at once.
    against_until: date | None = None
    came_with: bool = False  # on the maker's certificate that came with the source

    @property
    def order(self) -> tuple[date, time_of_day, int]:
        """Order within a day is the time if given, else the order of recording; a correction
        takes the place of what it corrects."""
        return (self.on, self.time or time_of_day.max, self.place or self.seq)

    def surely_after(self, other: Event) -> bool:
        """Whether it came after another for certain. Of two on one day of which only one has a
        time, nobody knows; what clears must not be taken for the later one then."""
        if self.on == other.on and (self.time is None) is not (other.time is None):
            return False
        return self.order > other.order

    @property
    def clears(self) -> bool:
        """Only an accepted, fit, live pass starts an interval."""
        return self.live and self.accepted and self.fit and self.outcome == "pass"

    def clears_on(self, day: date) -> bool:
        """Whether it clears on a day. An acceptance counts from its own day on, so that what a
        past register said does not change when somebody accepts an old record."""
        return self.clears and self.on <= day and (self.accepted_on or self.on) <= day

    @property
    def tells_against(self) -> bool:
        """Whether it is, or was, a failure or an accusation that was not corrected away."""
        stands = self.live or self.against_until is not None
        return stands and self.accuses and self.outcome != "pass"

    def tells_against_on(self, day: date) -> bool:
        """The same of a day. What somebody corrects takes no failure away before that is
        accepted, and then from that day on."""
        stands = self.live or (self.against_until is not None and day <= self.against_until)
        return self.tells_against and stands and self.on <= day


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """A follow-up on the subject: open from a day until it was closed (then not on that day)."""

    record: int
    seq: int
    kind: str
    opened_on: date
    closed_on: date | None = None

    def open_on(self, day: date) -> bool:
        """Whether it was open at the end of that day."""
        return self.opened_on <= day and (self.closed_on is None or day < self.closed_on)


@dataclass(frozen=True, slots=True)
class Traits:
    """What is known of the subject from a day on (a description in force)."""

    from_on: date
    values: Mapping[str, Scalar]


@dataclass(frozen=True, slots=True)
class Schedule:
    """The site's schedule from a day on. Not adopted: a draft."""

    from_on: date
    rules: RuleSet
    adopted_on: date | None = None
    adopted_by: str = ""
    review_on: date | None = None


@dataclass(frozen=True, slots=True)
class Setting:
    """A row for this subject alone, from a day until a day (both included; None: no end)."""

    from_on: date
    row: Row
    until_on: date | None = None
    record: int = 0

    def holds_on(self, day: date) -> bool:
        """Whether it is in force on a day."""
        return self.from_on <= day and (self.until_on is None or day <= self.until_on)


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A named person has confirmed what decay had changed for a requirement by a day."""

    requirement: str
    on: date


@dataclass(frozen=True, slots=True)
class Holder:
    """What a gauge that the subject was ever inside of says about what it holds."""

    traits: Sequence[Traits] = ()
    settings: Sequence[Setting] = ()


@dataclass(frozen=True, slots=True)
class Companion:
    """Another source that was ever in a gauge with the subject."""

    stays: Sequence[StaySpan]
    traits: Sequence[Traits]


#: What is known of a thing that nobody described: one object, for what is known by identity.
_NOTHING: Mapping[str, Scalar] = MappingProxyType({})


def in_force(described: Sequence[Traits], day: date) -> Mapping[str, Scalar]:
    """The description in force on a day; before the first one, the first one."""
    found = described[0].values if described else _NOTHING
    for one in described:
        if one.from_on > day:
            break
        found = one.values
    return found


def schedule_on(schedules: Sequence[Schedule], day: date) -> Schedule | None:
    """The schedule in force on a day; before the first one, the first one."""
    found = schedules[0] if schedules else None
    for one in schedules:
        if one.from_on > day:
            break
        found = one
    return found


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that decides about one subject."""

    subject: int
    kind: str
    events: Sequence[Event] = ()
    stays: Sequence[StaySpan] = ()
    traits: Sequence[Traits] = ()
    follow_ups: Sequence[OpenPoint] = ()
    schedules: Sequence[Schedule] = ()
    settings: Sequence[Setting] = ()
    confirmations: Sequence[Confirmation] = ()
    holders: Mapping[int, Holder] = field(default_factory=dict)
    companions: Sequence[Companion] = ()
    here_always: bool = False  # a site, a person, a permit, a place: it does not move

    def traits_on(self, day: date) -> Mapping[str, Scalar]:
        """The description in force on a day; before the first one, the first one."""
        return in_force(self.traits, day)

    def schedule_on(self, day: date) -> Schedule | None:
        """The schedule in force on a day."""
        return schedule_on(self.schedules, day)

    def stay_on(self, day: date) -> StaySpan | None:
        """Where it was on a day."""
        return at(self.stays, day)

    def settings_on(self, requirement: str, day: date, stay: StaySpan | None = None) -> list[Row]:
        """The rows for this subject alone, those of the gauge that it is in included. ``stay``:
        where it is that day, if the caller knows."""
        if not self.settings and not self.holders:
            return []
        stay = stay or self.stay_on(day)
        held = self.holders.get(stay.gauge) if stay and stay.gauge is not None else None
        every = [*self.settings, *(held.settings if held else ())]
        return [
            one.row for one in every if one.holds_on(day) and one.row.requirement == requirement
        ]
