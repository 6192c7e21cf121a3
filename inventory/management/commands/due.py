"""What needs doing, for people and programs."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from config import clock
from config.accounts.models import Site
from inventory.doors import day_of, say, say_json, site_named
from inventory.requirements.headlines import headlines
from inventory.requirements.listing import due_rows, late_rows
from inventory.sentences import day_text


class Command(BaseCommand):
    """Prints every requirement that a person must look at, most urgent first."""

    help = "What needs doing on a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", help="short name of one site; all sites without it")
        parser.add_argument("--on", help="the day asked about, like 2026-11-24 (today without it)")
        parser.add_argument(
            "--within",
            type=int,
            choices=range(36501),
            metavar="DAYS",
            help="also what falls due within so many days",
        )
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        sites = [site_named(options["site"])] if options["site"] else list(Site.objects.all())
        found: list[dict[str, Any]] = []
        for site in sites:
            on = day_of(options["on"], site.day(clock.now()))
            ahead = timedelta(days=options["within"] or 0)
            rows = due_rows(site, on, ahead) + late_rows(site, on)
            found += rows
            if not options["json"]:
                self.stdout.write(_("%(site)s on %(on)s") % {"site": site, "on": day_text(on)})
                said = headlines({site.pk: on})[site.pk]
                self.stdout.write(f"{said.sentence} {said.freshness}")
                say(self.stdout, rows, COLUMNS)
                self.stdout.write("")
        if options["json"]:
            say_json(self.stdout, found)


COLUMNS = {
    "sentence": "what",
    "requirement": "requirement",
    "subject": "subject",
    "code": "code",
    "due_date": "due",
    "booked_for": "booked for",
    "last_date": "last done",
    "clause": "clause",
}
