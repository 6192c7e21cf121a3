"""Bring reference data up to date, recording what changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config import clock
from config.accounts.models import User
from inventory.doors import one_sentence
from inventory.nuclides.actions import differences, load_nuclides


class Command(BaseCommand):
    """Loads fixtures/nuclides.csv; running it again changes nothing."""

    help = "Load or update the nuclide table."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="only say what would change")
        parser.add_argument("--by", help="the user for whom this is recorded")
        parser.add_argument("--file", type=Path, help="another table than the shipped one")

    def handle(self, *args: Any, **options: Any) -> None:
        with one_sentence():
            if options["check"]:
                changes = differences(options["file"])
            else:
                by = _user(options["by"])
                changes = load_nuclides(by=by, at=clock.now(), path=options["file"])
        for change in changes:
            if change.before is None:
                self.stdout.write(f"{change.nuclide}: new")
            else:
                self.stdout.write(
                    f"{change.nuclide}, {change.column}: {change.before} -> {change.after}"
                )
        said = "would change" if options["check"] else "changed"
        self.stdout.write(f"{len(changes)} values {said}.")


def _user(username: str | None) -> User:
    users = User.objects.filter(is_active=True)
    found = users.filter(username=username) if username else users[:2]
    if len(found) != 1:
        raise CommandError("Say with --by for which user this is recorded.")
    return found[0]
