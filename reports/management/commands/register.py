"""Write a register as PDF, CSV or XLSX."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from config import clock
from inventory.calc.asof import AsOf
from inventory.doors import day_of, person, site_named
from reports.forms import known_at
from reports.registers.kinds import KINDS, build
from reports.registers.write import ENDINGS, write

PAPERS = {"a4": "A4", "letter": "Letter"}


class Command(BaseCommand):
    """The ending of the file says which: .pdf, .csv or .xlsx."""

    help = "Write a register of a site as of a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", choices=sorted(KINDS))
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
        kind = KINDS[options["kind"]]
        since = day_of(options["since"], today) if options["since"] else None
        if since and not kind.ranged:
            raise CommandError(f"--from: the register {kind.key} is of one day.")
        if since and since > at.on:
            raise CommandError("--from: the first day lies after the last one.")
        by = person(options["by"], site, today)
        with transaction.atomic():
            register = build(kind, site, at, by=by, made_at=now, since=since)
        try:
            write(register, output, PAPERS[options["paper"]])
        except OSError as error:
            raise CommandError(f"{output} cannot be written: {error.strerror}.") from error
        self.stdout.write(f"{output}: {len(register.rows)} rows, {register.number}")
