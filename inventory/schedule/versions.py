"""The schedules of a site as they were recorded: what was set, and the draft that is open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.ledger.body import day
from inventory.ledger.models import Record
from inventory.ledger.write import read_body
from inventory.rules.adopted import assemble, base
from inventory.rules.schema import Row, RuleSet
from inventory.schedule.models import DRAFT_KIND

KINDS = (knowledge.SCHEDULE_KIND, DRAFT_KIND)


@dataclass(frozen=True, slots=True)
class Version:
    """A schedule as a record has it."""

    record: Record
    body: Mapping[str, Any]

    @property
    def detail(self) -> dict[str, Any]:
        """What the record says of the schedule."""
        found: dict[str, Any] = self.body["detail"]
        return found

    @property
    def seq(self) -> int:
        """The number of its record."""
        return self.record.seq

    @property
    def rules(self) -> RuleSet:
        """The rules that it stands for."""
        return assemble(self.detail)

    @property
    def base(self) -> RuleSet:
        """What its templates alone say."""
        return base(self.detail)

    @property
    def schedule(self) -> due.Schedule:
        """As ``decide`` knows it."""
        return knowledge.schedule_of(self.body)

    @property
    def from_on(self) -> date:
        """The day from which it decides."""
        return self.schedule.from_on

    @property
    def adopted(self) -> bool:
        """Whether a named person has adopted it."""
        return bool(self.detail["adopted_on"])

    @property
    def review_on(self) -> date | None:
        """The day by which it is to be looked at again."""
        return day(self.detail.get("review_on"))

    @property
    def rows_left(self) -> list[Row]:
        """The rows that nobody has gone through."""
        return left(self.detail)


def left(detail: Mapping[str, Any]) -> list[Row]:
    """The rows of a schedule that nobody has gone through, in its order."""
    reviewed = detail.get("reviewed") or {}
    return [row for row in assemble(detail).rows if row.id not in reviewed]


def versions(site: Site) -> list[Version]:
    """Every schedule that was set and not corrected away, in the order of the days from which
    they decide: one query."""
    records = Record.objects.filter(site=site, kind=knowledge.SCHEDULE_KIND)
    gone = records.filter(replaces__isnull=False).values("replaces")
    found = records.exclude(pk__in=gone).select_related("recorded_by").order_by("seq")
    out = [Version(record, read_body(record)) for record in found]
    return sorted(out, key=lambda one: one.from_on)


def in_force(found: Sequence[Version], on: date) -> Version | None:
    """The one in force on a day; before the first one, the first one."""
    begun = [one for one in found if one.from_on <= on] or list(found[:1])
    return begun[-1] if begun else None


def coming(found: Sequence[Version], on: date) -> list[Version]:
    """Those that come into force after a day."""
    now = in_force(found, on)
    return [one for one in found if one.from_on > on and one is not now]


def draft_of(site: Site) -> Version | None:
    """The draft that is being gone through. It ends when a schedule is set or it is discarded."""
    newest = Record.objects.filter(site=site, kind__in=KINDS).order_by("-seq").first()
    if newest is None or newest.kind != DRAFT_KIND:
        return None
    body = read_body(newest)
    return None if body["detail"].get("discarded") else Version(newest, body)
