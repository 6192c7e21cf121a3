"""What is known of one item, in order: what ``load`` gives and the pure functions ask for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from inventory.calc import due, stays
from inventory.calc.nuclides import NuclideData
from inventory.followups import steps as followup_steps
from inventory.knowledge.described import traits
from inventory.ledger.models import Item, ItemKind

SCHEDULE_KIND = "schedule_set"
#: Things that come and go; everything else is where it is.
MOVING = (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR)
ACCEPTS, CLOSES, COMPLETES = "accepts", "closes", "completes"
#: A leak test that the maker had made, and the arrival that it came with.
CAME_WITH = "came_with"
#: The role of an item that the corrected record named and the correction does not: nothing that
#: the correction says is about it.
WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class Description:
    """A description of an item, in force from a day on. ``late``: entered after that day."""

    on: date
    seq: int
    record: int
    recorded_at: datetime
    data: Mapping[str, Any]
    place: int = 0  # a correction takes the place of what it corrects


@dataclass(slots=True)
class Known:
    """What is known of one item: the rows of the ledger, put in order."""

    item: Item
    descriptions: list[Description] = field(default_factory=list)
    all_described: list[Description] = field(default_factory=list)  # corrected ones too
    events: list[due.Event] = field(default_factory=list)
    lost_with: list[due.Event] = field(default_factory=list)  # its gauge was reported missing
    moves: list[stays.Move] = field(default_factory=list)
    stays: list[stays.StaySpan] = field(default_factory=list)
    follow_ups: list[due.OpenPoint] = field(default_factory=list)
    closings: dict[int, int] = field(default_factory=dict)  # opening record -> closing record
    steps: list[followup_steps.Step] = field(default_factory=list)
    recorded: dict[int, datetime] = field(default_factory=dict)  # record -> when recorded
    corrections: dict[int, int] = field(default_factory=dict)  # record -> the one it replaces
    reasons: dict[int, str] = field(default_factory=dict)  # correcting record -> why
    schedules: Sequence[due.Schedule] = ()
    said: Mapping[str, str] = field(default_factory=dict)  # requirements of the site
    nuclides: Mapping[str, NuclideData] = field(default_factory=dict)
    settings: Sequence[due.Setting] = ()
    confirmations: Sequence[due.Confirmation] = ()
    holders: Mapping[int, due.Holder] = field(default_factory=dict)
    companions: Sequence[due.Companion] = ()

    def description_on(self, day: date) -> Description | None:
        """The description in force on a day; before the first one, the first one."""
        found = [one for one in self.descriptions if one.on <= day] or self.descriptions[:1]
        return found[-1] if found else None

    def snapshot_on(self, day: date) -> Mapping[str, Any]:
        """The data of the description in force on a day."""
        found = self.description_on(day)
        return found.data if found else {}

    def nuclide_on(self, day: date) -> NuclideData | None:
        """The source's nuclide on a day."""
        return self.nuclides.get(self.snapshot_on(day).get("nuclide", ""))

    def facts(self) -> due.Facts:
        """What ``decide`` needs."""
        return due.Facts(
            subject=self.item.pk,
            kind=self.item.kind,
            events=[*self.events, *self.lost_with],
            stays=self.stays,
            traits=self.traits(),
            follow_ups=self.follow_ups,
            schedules=self.schedules,
            settings=self.settings,
            confirmations=self.confirmations,
            holders=self.holders,
            companions=self.companions,
            here_always=self.item.kind not in MOVING,
        )

    def traits(self) -> list[due.Traits]:
        """What the rules may ask of each description."""
        return [
            due.Traits(one.on, traits(one.data, self.nuclides.get(one.data.get("nuclide", ""))))
            for one in self.descriptions
        ]
