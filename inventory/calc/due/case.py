"""One requirement of one subject: its evidence put in order once, asked for many days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from inventory.calc.due.circumstances import Circumstances
from inventory.calc.due.facts import Event, Facts, Schedule, in_force
from inventory.calc.due.presence import there
from inventory.calc.due.records import Records
from inventory.calc.due.states import LONG_AGO
from inventory.calc.due.stretches import Stretch, covering, here, in_use, stored
from inventory.calc.explain import Scalar
from inventory.calc.stays import StaySpan
from inventory.rules.schema import (
    ACCOUNTING,
    ACCUSED_BY,
    AWAITED_AFTER,
    REQUIREMENTS,
    Row,
)

#: Traits that a source has through the gauge that it is in.
OF_THE_GAUGE = frozenset({"portable", "type_approved", "detects_leak_in_water", "quality_on"})


def evidence_kind(requirement: str) -> str:
    """The kind of record that answers a requirement; a site's own kinds answer by their name."""
    return REQUIREMENTS[requirement][1] if requirement in REQUIREMENTS else requirement


class History:
    """What the facts say whatever is asked: put in order once for all requirements."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.by_kind: dict[str, list[Event]] = {}
        for event in sorted(there(facts), key=lambda one: one.order):
            self.by_kind.setdefault(event.kind, []).append(event)
        self._of_kinds: dict[tuple[str, ...], Records] = {}
        #: Activities worked out already, by description and day: each row asks again.
        self.activities: dict[tuple[int, date], float | None] = {}
        #: From each receipt until it left; in use; in storage.
        self.possessions: list[Stretch] = here(facts.stays)
        self.in_use: list[Stretch] = in_use(facts.stays)
        self.stored: list[Stretch] = stored(facts.stays)
        #: The first day of which anything is known: since then decay is looked at.
        self.first_on = _first_on(facts)
        #: Accounting checks and reports that it is missing, in order.
        self.seen = self.of_kinds(ACCOUNTING, *ACCUSED_BY[ACCOUNTING])

    def of_kinds(self, *kinds: str) -> Records:
        """The records of some kinds."""
        if kinds not in self._of_kinds:
            every = [event for kind in kinds for event in self.by_kind.get(kind, ())]
            if len(kinds) > 1:
                every.sort(key=lambda one: one.order)
            self._of_kinds[kinds] = Records(every)
        return self._of_kinds[kinds]


def _first_on(facts: Facts) -> date:
    if facts.stays:
        return facts.stays[0].from_on
    return facts.traits[0].from_on if facts.traits else LONG_AGO


class Case:
    """What the facts say about one requirement, indexed by what the rules ask for."""

    def __init__(self, facts: Facts, requirement: str, history: History | None = None) -> None:
        self.facts = facts
        self.requirement = requirement
        self.history = history or History(facts)
        self.kind = evidence_kind(requirement)
        self.accusing = (self.kind, *ACCUSED_BY.get(requirement, ()))
        #: The kind of record after which the result is awaited; empty for none.
        self.away_kind = AWAITED_AFTER.get(requirement, "")
        #: The records that can answer or accuse, in order.
        self.own = self.history.of_kinds(*self.accusing)
        #: When a condition that changes by decay does: filled while the time line is made.
        self.changes: dict[tuple[object, ...], tuple[bool, date | None]] = {}
        #: The days on which a named person confirmed what decay had changed.
        self.confirmed = [one.on for one in facts.confirmations if one.requirement == requirement]
        #: Whether anything was decided for this subject alone, or for what its gauges hold.
        self.decided_alone = any(
            one.row.requirement == requirement
            for some in (facts.settings, *(held.settings for held in facts.holders.values()))
            for one in some
        )

    def rows_of(self, schedule: Schedule) -> Sequence[Row]:
        """The rows of a schedule for the requirement."""
        return schedule.rules.rows_for(self.requirement)

    def decay_day(self, on: date) -> date:
        """The day of which activities count: that of the last confirmation, else the first."""
        first = self.history.first_on
        return max([first, *(day for day in self.confirmed if day <= on)])


class Question:
    """A case on one day; what is asked for more than once is worked out once."""

    def __init__(self, case: Case, on: date) -> None:
        self.case = case
        self.facts = case.facts
        self.requirement = case.requirement
        self.on = on
        self.stay: StaySpan | None = case.facts.stay_on(on)
        #: The description in force.
        self.traits: Mapping[str, Scalar] = case.facts.traits_on(on)
        self._passes: list[Event] | None = None

    def trait(self, name: str) -> Scalar:
        """What the description says; of what a source has through its gauge, that of the gauge."""
        own = self.traits.get(name)
        gauge = self.stay.gauge if self.stay else None
        if own or name not in OF_THE_GAUGE or gauge is None:
            return own
        holder = self.facts.holders.get(gauge)
        return in_force(holder.traits, self.on).get(name) if holder else None

    @property
    def is_here(self) -> bool:
        """Whether the subject is this site's on the day."""
        if self.facts.here_always:
            return self.case.history.first_on <= self.on
        return self.stay is not None

    @property
    def past(self) -> Sequence[Event]:
        """The records that can answer or accuse, by the day."""
        return self.case.own.by(self.on)

    @property
    def passes(self) -> list[Event]:
        """The records that clear on the day, in order."""
        if self._passes is None:  # asked by each row; cached_property would take a lock each time
            self._passes = self.case.own.clearing(self.on)
        return self._passes

    def rows(self, schedule: Schedule | None) -> Sequence[Row]:
        """The rows of the schedule and those for this subject alone."""
        general = self.case.rows_of(schedule) if schedule else ()
        if not self.case.decided_alone:
            return general
        return [*general, *self.facts.settings_on(self.requirement, self.on, self.stay)]

    def circumstances(self, schedule: Schedule, decay_day: date) -> Circumstances:
        """What holds on the day, with activities of ``decay_day``."""
        return Circumstances(self, schedule.rules, decay_day)

    def clearing(self, kind: str) -> list[Event]:
        """The records of another kind that clear on the day, in order."""
        return self.case.history.of_kinds(kind).clearing(self.on)

    @property
    def received_on(self) -> date | None:
        """When it last came here."""
        stretch = covering(self.case.history.possessions, self.on)
        return stretch[0] if stretch else None
