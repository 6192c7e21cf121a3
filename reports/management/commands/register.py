"""Write a register as PDF, CSV or XLSX."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from config import clock
from inventory.calc.asof import AsOf
from inventory.doors import day_of, person, site_named
from reports.ahead.asked import Asked
from reports.ahead.document import KIND as AHEAD
from reports.ahead.document import build as look_ahead
from reports.forms import known_at
from reports.registers.kinds import KINDS, Kind, build
from reports.registers.write import ENDINGS, write

PAPERS = {"a4": "A4", "letter": "Letter"}


class Command(BaseCommand):
    """The ending of the file says which: .pdf, .csv or .xlsx."""

    help = "Write a register of a site as of a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=sorted((*KINDS, AHEAD)))
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--on", help="the day asked about, like 2026-11-24 (today without it)")
        parser.add_argument("--known", help="as it was known at the end of this day")
        parser.add_argument("--from", dest="since", help="only what was done from this day on")
        parser.add_argument("--by", help="who makes it")
        parser.add_argument("--paper", type=str.lower, choices=sorted(PAPERS), default="a4")
        parser.add_argument("--output", type=Path, required=True)

    def handle(self, *args: Any, **options: Any) -> None:
        output: Path = options["output"]
        if output.suffix.lower() not in ENDINGS:
            raise CommandError(f"{output.name}: expected an ending of {', '.join(ENDINGS)}.")
        site, now = site_named(options["site"]), clock.now()
        today = site.day(now)
        known = day_of(options["known"], today) if options["known"] else None
        at = AsOf(day_of(options["on"], today), known_at(known, site))
        kind = KINDS.get(options["kind"])
        since = day_of(options["since"], today) if options["since"] else None
        _refuse(options["kind"], kind, at, since)
        by = person(options["by"], site, today)
        with transaction.atomic():
            if kind is None:
                asked = Asked(site=site, on=at.on, today=today)
                register = look_ahead(asked, made_by=by, made_at=now)
            else:
                register = build(kind, site, at, by=by, made_at=now, since=since)
        try:
            write(register, output, PAPERS[options["paper"]])
        except OSError as error:
            raise CommandError(f"{output} cannot be written: {error.strerror}.") from error
        self.stdout.write(f"{output}: {len(register.rows)} rows, {register.number}")


def _refuse(name: str, kind: Kind | None, at: AsOf, since: date | None) -> None:
    """What cannot be asked of this kind, in one sentence."""
    if since and not (kind and kind.ranged):
        raise CommandError(f"--from: the register {name} is of one day.")
    if since and since > at.on:
        raise CommandError("--from: the first day lies after the last one.")
    if kind is None and at.known:
        raise CommandError("--known: what lies ahead is worked out from all that is known now.")
