"""What lies ahead as a document: title block, sums, rows, and how to read them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.utils.translation import gettext as _

from config.accounts.models import User
from inventory.calc import ahead
from inventory.calc.asof import AsOf
from inventory.requirements.headlines import headlines
from inventory.sentences import day_text
from inventory.shutdowns.wording import shutdown_text
from reports.ahead import notes, stop_words, words
from reports.ahead.asked import Asked
from reports.ahead.read import Ahead, look_ahead
from reports.ahead.rows import rows_of
from reports.registers import columns
from reports.registers.base import Column, Register
from reports.registers.frame import Content, framed

KIND = "ahead"


def build(asked: Asked, *, made_by: User, made_at: datetime) -> Register:
    """The document, complete. Rows are read in the caller's transaction."""
    found = look_ahead(asked)
    said = headlines({asked.site.pk: asked.on})[asked.site.pk]
    content = Content(
        columns=layout(),
        rows=list(rows_of(found)),
        totals=list(_totals(found, words.freshness(said))),
        more=list(_notes(asked.months)),
        landscape=False,
    )
    kind = "-".join(part for part in (KIND, asked.place_code, asked.requirement) if part)
    at = AsOf(asked.on)
    return framed(kind, _("What lies ahead"), asked.site, at, content, made_by, made_at)


def _totals(found: Ahead, fresh: str) -> Iterator[str]:
    asked = found.asked
    only = [asked.place_name, found.kinds.word(asked.requirement) if asked.requirement else ""]
    if any(only):
        yield _("Only: %(only)s.") % {"only": ", ".join(part for part in only if part)}
    yield fresh
    now, *later = found.months
    due = sum(len(one.needs) for month in later for one in month.rounds)
    again = sum(one.projected for month in later for one in month.rounds)
    values = {
        "now": sum(len(one.needs) for one in now.rounds),
        "due": due,
        "again": again,
        "until": day_text(found.end - ahead.ONE_DAY),
    }
    yield _("Needed now: %(now)s; due until %(until)s: %(due)s, and %(again)s projected.") % values
    for stop in found.stops:
        summary = stop_words.stop_summary(stop.verdicts)
        yield f"{shutdown_text(stop.shutdown)}: {summary}."


def _notes(months: int) -> Iterator[str]:
    yield str(notes.PROJECTED)
    yield f"{notes.FALLS_SHORT} {stop_words.beyond_text(months)}"
    yield str(notes.COVER)
    yield str(notes.LEVELS)


def layout() -> tuple[Column, ...]:
    """The columns."""
    return (
        columns.text("part", _("Part"), only="programs"),
        columns.heading("heading", _("Heading")),
        columns.text("when", _("When"), 1.3, only="people"),
        columns.day("first_on", _("First day"), only="programs"),
        columns.day("last_on", _("Last day"), only="programs"),
        columns.text("code", _("Code"), only="programs"),
        columns.text("subject_where", _("What, and where"), 2.4, only="people"),
        columns.text("subject", _("Subject"), only="programs"),
        columns.text("where", _("Where"), only="programs"),
        columns.text("work", _("To be done"), 1.5),
        columns.state("state", _("How it stands"), 2.6),
        columns.number("count", _("How many"), only="programs"),
        columns.text("booked", _("Booked"), 1.7),
    )
