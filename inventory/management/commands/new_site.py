"""Open a site, with its supervisor, its nuclides and a draft schedule."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction

from config import clock
from config.accounts.models import User
from inventory.doors import one_sentence
from inventory.items.actions import open_site
from inventory.nuclides.actions import load_nuclides
from inventory.requirements.actions import set_schedule


class Command(BaseCommand):
    """The person named becomes radiation protection supervisor of the site from today on."""

    help = "Open a site."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("slug", help="short name in addresses; it can never change")
        parser.add_argument("--name", required=True)
        parser.add_argument("--time-zone", required=True, help="such as Europe/London")
        parser.add_argument("--address", default="")
        parser.add_argument("--rps", required=True, help="user name of the supervisor")
        parser.add_argument("--rule-set", default="gb", help="which rule set the draft starts from")
        parser.add_argument("--version", dest="rule_version", type=int, default=1)

    # Django has a --version of its own; here it is the rule set's.
    def create_parser(self, prog_name: str, subcommand: str, **kwargs: Any) -> CommandParser:
        return super().create_parser(prog_name, subcommand, conflict_handler="resolve", **kwargs)

    def handle(self, *args: Any, **options: Any) -> None:
        by = User.objects.filter(username=options["rps"]).first()
        if by is None:
            raise CommandError(
                f"There is no user {options['rps']}: make one with manage.py createsuperuser."
            )
        try:
            with one_sentence(), transaction.atomic():
                now = clock.now()
                load_nuclides(by=by, at=now)
                site = open_site(
                    slug=options["slug"],
                    name=options["name"],
                    time_zone=options["time_zone"],
                    address=options["address"],
                    by=by,
                    at=now,
                )
                set_schedule(
                    site,
                    by=by,
                    at=now,
                    rule_set=options["rule_set"],
                    version=options["rule_version"],
                    from_on=site.day(now),
                )
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        except FileNotFoundError as error:
            raise CommandError("There is no such rule set in fixtures/rulesets.") from error
        self.stdout.write(f"{site.name} is open; its schedule is a draft until it is adopted.")
