"""Load a list of sources into a site."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import clock
from inventory.doors import person, site_named
from reports.exchange.load import LoadFault, load


class Command(BaseCommand):
    """All rows or none; loading the same file again changes nothing."""

    help = "Load a CSV file in the shipped template (fixtures/sources-template.csv)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--by", help="the supervisor for whom this is recorded")
        parser.add_argument("--check", action="store_true", help="only say what would be loaded")

    def handle(self, *args: Any, **options: Any) -> None:
        site, now = site_named(options["site"]), clock.now()
        try:
            content = options["file"].read_bytes()
        except OSError as error:
            raise CommandError(f"{options['file']} cannot be read: {error.strerror}.") from error
        by = person(options["by"], site, site.day(now))
        try:
            loaded = load(site, content, by=by, at=now, check=options["check"])
        except LoadFault as fault:
            raise CommandError("Nothing was loaded.\n" + "\n".join(fault.sentences[:50])) from fault
        would = "would be " if options["check"] else ""
        self.stdout.write(
            f"{site.name}: {loaded.added} sources {would}added with {loaded.wipes} last wipes; "
            f"{loaded.already_here} were here already. Results with figures {would}accepted in the "
            f"name of {by.name}; those that only say \u201cpassed\u201d wait to be accepted."
        )
