"""The history audit of a site as of a day: what an adviser would want to know about the past.

It is a register like the others, so page, PDF, CSV and XLSX come from one mechanism. It works
nothing out by itself: what was due when is read off ``due.spans``, what a wipe shows is judged by
``surveys.calc.leak``. It only lays the answers beside each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc.asof import AsOf
from inventory.ledger.models import ItemKind
from inventory.rules.schema import CALIBRATION, LEAK_TEST
from reports.audit import gaps, row, times, wipes
from reports.audit.again import Held, Wipes
from reports.audit.row import Finding, layout
from reports.audit.summary import Seen, totals
from reports.registers.base import Register
from reports.registers.frame import Content, framed, known_of

KIND = "audit"


def build(site: Site, at: AsOf, *, made_by: User, made_at: datetime) -> Register:
    """The audit of a site's history up to a day, complete."""
    seen = Seen(at.on)
    found = [*_sources(site, at, seen), *_monitors(site, at, seen)]
    found.sort(key=lambda one: one.sort)
    content = Content(columns=layout(), rows=found, totals=totals(seen, found), more=explanations())
    return framed(KIND, _("History audit"), site, at, content, made_by, made_at)


def _sources(site: Site, at: AsOf, seen: Seen) -> Iterator[Finding]:
    held_of = Wipes(site, at)
    for known in known_of(site, at, ItemKind.SOURCE):
        held = held_of.of(known)
        for one in known:
            if not one.descriptions or min(each.on for each in one.descriptions) > at.on:
                continue
            yield from _source(gaps.told(one, LEAK_TEST, at.on), held[one.item.pk], seen)


def _source(found: gaps.Told, held: Sequence[Held], seen: Seen) -> Iterator[Finding]:
    seen.source(found, held)
    yield from gaps.failures(found)
    for each in held:
        yield from wipes.findings(each, found.on)
    yield from gaps.without(found, row.NO_EVIDENCE)
    yield from gaps.late(found, row.LATE)
    yield from gaps.old(found)
    yield from gaps.punctuality(found)
    yield from gaps.not_known(found)


def _monitors(site: Site, at: AsOf, seen: Seen) -> Iterator[Finding]:
    monitors: dict[int, knowledge.Known] = {}
    for known in known_of(site, at, ItemKind.MONITOR):
        monitors |= {one.item.pk: one for one in known}
    yield from wipes.counted_unfit(seen.unfit, monitors, at.on)
    for pk, one in monitors.items():
        found = gaps.told(one, CALIBRATION, at.on)
        seen.monitor(found)
        counted = _Counted(seen.counted_on[pk], at.on)
        yield from gaps.failures(found)
        yield from gaps.without(found, row.NO_CALIBRATION, counted)
        yield from gaps.late(found, row.CALIBRATION_LATE, counted)


@dataclass(frozen=True, slots=True)
class _Counted:
    """How many wipes were counted on a monitor during a gap."""

    days: Sequence[date]
    on: date

    def __call__(self, gap: times.Gap) -> str:
        end = gap.ended_on or self.on + timedelta(days=1)
        inside = [day for day in self.days if gap.from_on <= day < end]
        if not inside:
            return ""
        return _("%(wipes)s counted meanwhile") % {"wipes": row.wipes_text(len(inside))}


def explanations() -> list[str]:
    """What the words of the audit mean."""
    return [
        _(
            "It is made from the records of this site alone. What was done and never recorded here "
            "looks as if it was never done."
        ),
        _(
            "In date: at the end of the day a pass that counts is not older than its interval. "
            "Days away from the site, out of use after a failure, or without a decided interval "
            "are not counted. In totals the days of all sources are added up."
        ),
        _(
            "Wipes with counts are judged again with the calibration that was in force when they "
            "were counted. Nothing that was recorded is changed by it."
        ),
    ]
