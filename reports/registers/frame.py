"""What every register has around its rows: number, schedule, head of the chain, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.access import schedule_text
from inventory.calc.asof import AsOf
from inventory.ledger.models import Chain, Item, ItemKind
from inventory.sentences import day_text
from reports.registers.base import CHUNK, Column, ListRows, Register
from reports.registers.cautions import cautions
from reports.registers.late import late_entries, later_sentence, marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What one kind of register found: rows that may carry remarks, notes that concern no row."""

    columns: tuple[Column, ...]
    rows: Sequence[Any]
    totals: Iterable[str]
    more: Sequence[str] = ()
    landscape: bool = True
    from_on: date | None = None


def framed(
    kind: str, title: str, site: Site, at: AsOf, content: Content, by: User, made_at: datetime
) -> Register:
    """A register of a site as of a day, complete."""
    chain, _made = Chain.objects.get_or_create(site=site)
    schedule, about_schedule = _schedule(site, at)
    rows, notes = marked(content.rows, [*content.more, *about_schedule])
    return Register(
        kind=kind,
        title=title,
        site_name=site.name,
        site_address=site.address,
        at=at,
        schedule_line=schedule,
        made_at=made_at,
        made_by=by.name,
        number=_number(site, kind, at, content.from_on, chain.length),
        chain_head=chain.head,
        chain_seq=chain.length,
        columns=content.columns,
        rows=ListRows(rows),
        zone=ZoneInfo(site.time_zone),
        notes=notes,
        totals=(*_ahead_of_its_making(at.on, site.day(made_at)), *content.totals),
        cautions=cautions(),
        from_on=content.from_on,
        landscape=content.landscape,
    )


def _ahead_of_its_making(on: date, made_on: date) -> list[str]:
    """A register of a day to come is no record of anything, and says so first."""
    if on <= made_on:
        return []
    said = _(
        "%(on)s lies ahead of the day on which this was made, %(made)s: it shows what would hold "
        "if nothing more were recorded until then."
    )
    return [said % {"on": day_text(on), "made": day_text(made_on)}]


def _number(site: Site, kind: str, at: AsOf, from_on: date | None, seq: int) -> str:
    """What the document is called: site, kind, days, last record, and what was known."""
    since = f"{from_on:%Y%m%d}-" if from_on else ""
    known = f"-known-{site.day(at.known):%Y%m%d}" if at.known else ""
    return f"{site.slug}-{kind}-{since}{at.on:%Y%m%d}-{seq}{known}"


def _schedule(site: Site, at: AsOf) -> tuple[str, list[str]]:
    """The line of the schedule in force on the day, and what became known of it later."""
    item = Item.objects.get(site=site, kind=ItemKind.SITE)
    one = knowledge.load([item.pk], at.known)[item.pk]
    late = later_sentence(late_entries(one, site, at.on, kinds=(knowledge.SCHEDULE_KIND,)))
    notes = [_("Schedule. %(late)s") % {"late": late}] if late else []
    return schedule_text(one.facts().schedule_on(at.on)), notes


def known_of(site: Site, at: AsOf, *kinds: str) -> Iterator[list[knowledge.Known]]:
    """What is known of the site's things of these kinds, a chunk at a time, each with the same
    number of queries."""
    items = Item.objects.filter(site=site, kind__in=kinds).order_by("pk")
    keys = list(items.values_list("pk", flat=True))
    for start in range(0, len(keys), CHUNK):
        yield list(knowledge.load(keys[start : start + CHUNK], at.known).values())
