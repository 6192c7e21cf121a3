"""How long *what needs doing* takes on a large site.

Run from the repository: ``python -m tests.bench.what_needs_doing [sources]`` (10,000 without it).
A generated history, then bookings for a third of what is late. Prints the median of each page in
milliseconds with its number of queries; exit code 1 if the first page takes more than 150 ms.
``DATABASE_URL`` chooses the database, which is made anew and dropped; the pages are made in a
process of their own, as by a server.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit, urlunsplit

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")

TARGET_MS = 150.0
PAGES = (
    *("", "?page=20", "?state=late", "?booked=-", "?booked=%2B", "?q=1", "?q=G-0", "?group=round"),
    *("?group=kind", "?ahead=90", "?state=good", "?state=late&booked=%2B&group=round"),
    "?on=2032-01-01",  # everything is late then, and each line is looked at for a booking
)


def say(text: str) -> None:
    print(text, flush=True)


def main(sources: int) -> int:
    import django

    django.setup()
    from django.db import connection

    connection.creation.create_test_db(verbosity=0)
    try:
        from config.accounts.models import Role
        from tests.pages import staff

        staff(_site(sources), Role.MANAGER)
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("ANALYZE")  # as the server's own autovacuum does a minute later
        connection.close()
        return _in_a_fresh_process(connection)
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)


def _in_a_fresh_process(connection: Any) -> int:
    """The pages as a server's worker makes them, which has not just written all of it."""
    name = str(connection.settings_dict["NAME"])
    there = os.environ.get("DATABASE_URL", "sqlite://")
    address = (
        f"sqlite:///{name}"
        if connection.vendor == "sqlite"
        else urlunsplit(urlsplit(there)._replace(path=f"/{name}"))
    )
    measure = [sys.executable, "-m", "tests.bench.what_needs_doing", "pages"]
    return subprocess.run(measure, env={**os.environ, "DATABASE_URL": address}).returncode


def pages() -> int:
    """Measures the site that is there; 1 if the first page takes too long."""
    import django

    django.setup()
    from config import clock
    from config.accounts.models import Role, Site, SiteRole
    from tests.pages import NOW, browser

    clock.now = lambda: NOW
    site = Site.objects.get(slug="large")
    roles = SiteRole.objects.filter(site=site).select_related("user")
    of_role = {Role.RPS: "supervisor", Role.MANAGER: "manager"}
    who = {of_role[one.role]: one.user for one in roles.order_by("pk")}
    first = 0.0
    for name, user in who.items():
        client = browser(user)
        for query in PAGES if name == "supervisor" else ("",):
            taken, asked = _median(client, f"/{site.slug}/{query}")
            say(f"{name:10} {query or '(first page)':38} {taken:7.0f} ms {asked:4} queries")
            first = max(first, taken if not query else 0)
    taken, asked = _median(browser(who["supervisor"]), f"/{site.slug}/follow-ups/")
    say(f"{'':10} {'follow-ups':38} {taken:7.0f} ms {asked:4} queries")
    return int(first > TARGET_MS)


def _site(sources: int) -> Any:
    from inventory.calc import due
    from inventory.requirements.booking import Appointment, Line, book
    from inventory.timeline import RequirementSpan
    from reports.exchange.plan import plan
    from reports.exchange.write import write
    from tests import factories
    from tests.bench.generator import content_of, history
    from tests.pages import NOW, TODAY

    site = factories.make_site("large")
    by = factories.rps_of(site)
    understood = history(sources, sources, TODAY)
    write(plan(site, understood, TODAY), content_of(understood), by=by, at=NOW)
    spans = RequirementSpan.objects.filter(site=site).needs_doing(TODAY).select_related("item")
    late = [span for span in spans if span.state_on == due.LATE]
    for start in range(0, len(late) // 3, 100):
        lines = [Line(span.item, span.requirement) for span in late[start : start + 100]]
        what = Appointment(TODAY + timedelta(days=start // 50), f"Firm {start % 5}")
        book(lines, what, by=by, at=NOW)
    say(f"{sources} sources, {len(spans)} lines, {len(late)} of them late.")
    return site


def _median(client: Any, address: str, rounds: int = 15) -> tuple[float, int]:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    taken = []
    for _ in range(rounds):
        began = time.perf_counter()
        answer = client.get(address)
        taken.append(1000 * (time.perf_counter() - began))
        assert answer.status_code == 200, address
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    if os.environ.get("SHOW_QUERIES"):
        for query in sorted(asked, key=lambda one: -float(one["time"]))[:4]:
            say(f"      {query['time']} s {query['sql'][:1500]}")
    return statistics.median(taken), len(asked)


if __name__ == "__main__":
    if sys.argv[1:] == ["pages"]:
        sys.exit(pages())
    sys.exit(main(int(sys.argv[1]) if sys.argv[1:] else 10_000))
