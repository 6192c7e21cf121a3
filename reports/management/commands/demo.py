"""The demo: its own database file, made anew on a later day."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction

from config import clock
from config.accounts.models import Site, User
from inventory.calc.asof import AsOf
from reports.demo.build import SITES, Story
from reports.demo.story import PEOPLE
from reports.registers.kinds import KINDS, build
from reports.registers.write import write

PASSWORD = "sealbook-demo"  # noqa: S105 - the demo's, printed on purpose; only 127.0.0.1 is served


class Command(BaseCommand):
    """Loads the scenario, prints what needs doing, writes the registers, says how to log in."""

    help = "Run the main job on invented data."
    # The database may not exist yet, or be of an older day: checks come after it was made.
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--serve", action="store_true", help="then serve on 127.0.0.1:8000")

    def handle(self, *args: Any, **options: Any) -> None:
        if not getattr(settings, "DEMO", False):
            raise CommandError(
                "The demo has its own database: run it without SEALBOOK_SECRET_KEY, "
                "or with DJANGO_SETTINGS_MODULE=config.settings_demo."
            )
        now = clock.now()
        self._prepare(now)
        for told in SITES:
            call_command("due", site=told.slug, stdout=self.stdout)
        self._registers(now)
        self._say_how()
        if options["serve"]:
            call_command("runserver", "127.0.0.1:8000", use_reloader=False)

    def _prepare(self, now: datetime) -> None:
        """A database of today: the one that is there, or a new one in the place of an older."""
        marker = Path(settings.DATA_DIR) / "loaded-on"
        path = Path(settings.DATABASES["default"]["NAME"])
        today = now.astimezone(ZoneInfo(SITES[0].time_zone)).date().isoformat()
        if path.exists():
            self._refuse_other_sites(path)
            if marker.exists() and marker.read_text().strip() == today:
                call_command("migrate", verbosity=0)
                return
            _remove(path)
        call_command("migrate", verbosity=0)
        with transaction.atomic():
            Story(now, os.environ.get("SEALBOOK_DEMO_PASSWORD", PASSWORD)).tell()
        marker.write_text(today)

    def _refuse_other_sites(self, path: Path) -> None:
        """A database that holds anything but the demo's sites is never touched."""
        tables = connection.introspection.table_names()
        others: list[str] = []
        if Site._meta.db_table in tables:
            found = Site.objects.exclude(slug__in=[told.slug for told in SITES])
            others = list(found.values_list("slug", flat=True))
        elif tables:
            others = ["unknown"]
        connection.close()
        if others:
            raise CommandError(
                f"{path} holds other sites ({', '.join(others)}): the demo does not touch it. "
                "Move the file away, or set SEALBOOK_DEMO_DIR to another folder."
            )

    def _registers(self, now: datetime) -> None:
        """Every register of both sites as PDF; that of the sources also for programs."""
        folder = Path(getattr(settings, "DEMO_OUTPUT", "demo-output"))
        by = User.objects.get(username="supervisor")
        for told in SITES:
            site = Site.objects.get(slug=told.slug)
            for kind in KINDS.values():
                with transaction.atomic():
                    register = build(kind, site, AsOf(site.day(now)), by=by, made_at=now)
                endings = (".pdf", ".csv", ".xlsx") if kind.key == "source" else (".pdf",)
                for ending in endings:
                    path = folder / f"{site.slug}-{kind.key}-register{ending}"
                    write(register, path)
                    self.stdout.write(f"{register.title}, {site.name}: {path}")

    def _say_how(self) -> None:
        names = ", ".join(username for username, *_rest in PEOPLE)
        self.stdout.write("")
        self.stdout.write("To open it: make serve, then http://127.0.0.1:8000/")
        password = os.environ.get("SEALBOOK_DEMO_PASSWORD", PASSWORD)
        self.stdout.write(f"Log in as {names}; the password of each is {password}")


def _remove(path: Path) -> None:
    """Take the old database away with its side files."""
    connection.close()
    for suffix in ("", "-wal", "-shm"):
        Path(f"{path}{suffix}").unlink(missing_ok=True)
