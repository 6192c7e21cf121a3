"""Give or end a dated role of a person on a site."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import clock
from config.accounts.models import Role, Site, SiteRole, User


class Command(BaseCommand):
    """Roles have days: what a person could do then can be told later."""

    help = "Give a person a role on a site, or end it."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("username")
        parser.add_argument("role", choices=Role.values)
        parser.add_argument("--site", required=True, help="short name of the site")
        parser.add_argument("--end", action="store_true", help="the role ends today")

    def handle(self, *args: Any, **options: Any) -> None:
        user = User.objects.filter(username=options["username"]).first()
        site = Site.objects.filter(slug=options["site"]).first()
        if user is None or site is None:
            missing = f"user {options['username']}" if user is None else f"site {options['site']}"
            raise CommandError(f"There is no {missing}.")
        today = clock.today(site.time_zone)
        held = SiteRole.objects.on(today).filter(user=user, site=site, role=options["role"])
        if options["end"]:
            ended = held.update(until_on=today)
            if not ended:
                raise CommandError(f"{user.username} does not hold this role on {site.name}.")
            self.stdout.write(f"{user.name}: {options['role']} on {site.name} until {today}.")
            return
        if not held.exists():
            self._give(user, site, options["role"], today)
        self.stdout.write(f"{user.name}: {options['role']} on {site.name}.")

    def _give(self, user: User, site: Site, role: str, today: date) -> None:
        """A role that ended today is taken up again; otherwise a new one begins."""
        again, made = SiteRole.objects.get_or_create(user=user, site=site, role=role, from_on=today)
        if not made:
            SiteRole.objects.filter(pk=again.pk).update(until_on=SiteRole().until_on)
