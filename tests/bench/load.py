"""How long it takes to plan and to load a list, and how that grows.

Run from the repository: ``python -m tests.bench.load [sources ...]`` (10,000 is the order's size).
First a plain list of 1,000 rows, each a source with its gauge, place and last wipe, loaded while
another process saves a wipe on the same site; then generated histories of so many sources. Prints
seconds; exit code 1 if a target is missed. ``DATABASE_URL`` chooses the database, which is made
anew and dropped.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")

ROWS = 1000
PLAN_SECONDS, WRITE_SECONDS, ALL_SECONDS = 1.5, 2.0, 60.0


def say(text: str) -> None:
    print(text, flush=True)


def timed(what: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds, and what came of it."""
    started = time.perf_counter()
    found = what()
    return time.perf_counter() - started, found


def plain_list(rows: int) -> Any:
    """The list that most sites have: one row a source, with its last wipe."""
    from tests.reports.exchange import handmade as hand

    entries = [
        hand.source(f"S-{n:05}", place=f"Area {n % 25}", gauge=f"G-{n:05}") for n in range(rows)
    ]
    return hand.file_of(*entries)


def main(*sizes: int) -> int:
    import django

    django.setup()
    from django.db import connection

    connection.creation.create_test_db(verbosity=0)
    try:
        missed = [_plain(), *(_history(size) for size in sizes)]
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)
    return int(any(missed))


def _plain() -> bool:
    """The plain list, while somebody else saves wipes."""
    from inventory.ledger.verify import check_everything
    from reports.exchange.plan import plan
    from reports.exchange.write import write
    from tests import factories
    from tests.pages import NOW, TODAY

    site = factories.make_site("plain")
    source, counter = factories.make_source(site), factories.make_monitor(site)
    understood = plain_list(ROWS)
    planning, made = timed(lambda: plan(site, understood, TODAY))
    by = factories.rps_of(site)
    other = _other(source.pk, counter.pk, by.pk)
    writing, _loaded = timed(lambda: write(made, b"a list", by=by, at=NOW))
    waited = json.loads(other.communicate(timeout=120)[0].splitlines()[-1])
    again, same = timed(lambda: plan(site, understood, TODAY))
    faults = list(check_everything())
    say(
        f"{ROWS} rows: planned in {planning:.2f} s, written in {writing:.2f} s, planned again in "
        f"{again:.2f} s. Meanwhile another process saved {len(waited)} wipes, the longest of them "
        f"took {max(waited):.2f} s. Faults of the records: {len(faults)}."
    )
    late = planning > PLAN_SECONDS or writing > WRITE_SECONDS
    return late or bool(faults) or same.changes or max(waited) > 20


def _other(source: int, counter: int, by: int) -> subprocess.Popen[str]:
    """Another process that saves a wipe again and again, ready when this returns."""
    from django.conf import settings
    from django.db import connection

    name = str(connection.settings_dict["NAME"])
    kind = "sqlite" if connection.vendor == "sqlite" else "postgresql"
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.bench.load", "other", str(source), str(counter), str(by)],
        cwd=settings.BASE_DIR,
        env={**os.environ, "DATABASE_URL": f"{kind}:///{name}"},
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    process.stdout.readline()
    return process


def other(source: int, counter: int, by: int) -> None:
    """What the other process does: a wipe now and then, for three seconds."""
    import django

    django.setup()
    from config.accounts.models import User
    from inventory.ledger.models import Item
    from surveys.leak.actions import record_leak_test
    from tests import factories
    from tests.pages import NOW, TODAY

    wiped, used = Item.objects.get(pk=source), Item.objects.get(pk=counter)
    user = User.objects.get(pk=by)
    took = []
    say("ready")
    ends = time.monotonic() + 3
    while time.monotonic() < ends:
        seconds, _record = timed(
            lambda: record_leak_test(
                site=wiped.site,
                by=user,
                at=NOW,
                wipe=factories.make_wipe(wiped, used, TODAY),
                accepted=True,
            )
        )
        took.append(seconds)
        time.sleep(0.2)
    say(json.dumps(took))


def _history(sources: int) -> bool:
    """A generated history of one site."""
    from reports.exchange.plan import plan
    from reports.exchange.write import write
    from tests import factories
    from tests.bench.generator import content_of, history
    from tests.pages import NOW, TODAY

    site = factories.make_site(f"site-{sources}")
    made, understood = timed(lambda: history(sources, sources, TODAY))
    planning, planned = timed(lambda: plan(site, understood, TODAY))
    by = factories.rps_of(site)
    content = content_of(understood)
    started = time.process_time()
    writing, loaded = timed(lambda: write(planned, content, by=by, at=NOW))
    busy = time.process_time() - started
    counts = planned.counts
    whole = made + planning + writing
    say(
        f"{sources} sources, {counts['gauges']} gauges, {counts['wipes']} wipes, {loaded.seq} "
        f"records: made in {made:.2f} s, planned in {planning:.2f} s, written in {writing:.2f} s "
        f"({busy:.2f} s of processor), together {whole:.1f} s, "
        f"{1000 * whole / sources:.2f} ms a source."
    )
    return sources >= 10_000 and whole > ALL_SECONDS


if __name__ == "__main__":
    if sys.argv[1:2] == ["other"]:
        other(*map(int, sys.argv[2:]))
    else:
        sys.exit(main(*map(int, sys.argv[1:])))
