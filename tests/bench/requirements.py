"""How long it takes to work out everything that is required, on a large site.

Run from the repository: ``python -m tests.bench.requirements [sources]`` (10,000 without it).
A generated history under a schedule with every kind of row; prints seconds for all requirements
from scratch, for one record that refreshes its own, for a past day, and for a past day as it was
known then; exit code 1 if a target is missed. The reference in the same run: reading the same
records and nothing else. ``DATABASE_URL`` chooses the database, which is made anew and dropped.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")

SCRATCH_S, REFRESH_MS, PAST_S, THEN_S = 20.0, 50.0, 2.0, 30.0
RULE_SETS = (("gb", 2), ("ca", 1))


def say(text: str) -> None:
    print(text, flush=True)


def main(sources: int) -> int:
    import django

    django.setup()
    from django.db import connection

    connection.creation.create_test_db(verbosity=0)
    try:
        return int(_measure(sources))
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)


def _measure(sources: int) -> bool:
    from inventory.requirements.actions import set_schedule
    from tests import factories
    from tests.bench.what_needs_doing import _site
    from tests.pages import NOW, TODAY

    site = _site(sources)
    missed = False
    for rule_set, version in RULE_SETS:
        began = time.perf_counter()
        set_schedule(
            site, by=factories.rps_of(site), at=NOW, rule_set=rule_set, version=version,
            from_on=date(2015, 1, 1),
        )  # fmt: skip
        say(f"{rule_set}-{version}: set and everything brought up to date in "
            f"{time.perf_counter() - began:.1f} s")  # fmt: skip
        missed |= _from_scratch(site)
        missed |= _one_record(site)
        missed |= _past(site, TODAY)
    return missed


def _chunks(site: Any) -> Iterator[list[int]]:
    from inventory.ledger.models import Item

    items = sorted(Item.objects.filter(site=site).values_list("pk", flat=True))
    for start in range(0, len(items), 500):
        yield items[start : start + 500]


def _from_scratch(site: Any) -> bool:
    from config.collector import collector_off
    from inventory import knowledge
    from inventory.calc import due

    reading = working = 0.0
    lines = spans = 0
    for chunk in _chunks(site):
        with collector_off():  # as when everything is derived
            began = time.perf_counter()
            found = knowledge.load(chunk)
            reading += time.perf_counter() - began
            began = time.perf_counter()
            for one in found.values():
                facts = one.facts()
                history = due.History(facts)
                for requirement in knowledge.requirements_for(one):
                    lines += 1
                    spans += len(due.spans(facts, requirement, history))
            working += time.perf_counter() - began
    say(f"  {lines} requirements, {spans} spans: read in {reading:.1f} s, worked out in "
        f"{working:.1f} s ({working / reading:.2f} of the reading; target together "
        f"{SCRATCH_S:.0f} s)")  # fmt: skip
    return reading + working > SCRATCH_S


def _one_record(site: Any) -> bool:
    from django.db import transaction

    from inventory import derive
    from inventory.ledger.models import Item

    taken = []
    for item in Item.objects.filter(site=site, kind="source").order_by("pk")[:40]:
        began = time.perf_counter()
        with transaction.atomic():
            derive.refresh([item.pk])
        taken.append(1000 * (time.perf_counter() - began))
    median = statistics.median(taken)
    say(f"  one record brings its requirements up to date in {median:.1f} ms (target "
        f"{REFRESH_MS:.0f} ms)")  # fmt: skip
    return median > REFRESH_MS


def _past(site: Any, today: date) -> bool:
    from inventory import knowledge
    from inventory.calc.asof import AsOf
    from inventory.ledger.models import Item
    from inventory.timeline import RequirementSpan
    from tests.pages import NOW

    day = today - timedelta(days=730)
    began = time.perf_counter()
    spans = RequirementSpan.objects.filter(site=site).on(day)
    now_known = {(item, requirement): said for item, requirement, said in spans.decisions()}
    past = time.perf_counter() - began
    began = time.perf_counter()
    items = list(Item.objects.filter(site=site).values_list("pk", flat=True))
    known_then = knowledge.states(items, AsOf(day, NOW))
    then = time.perf_counter() - began
    same = sum(known_then[key] == said for key, said in now_known.items())
    say(f"  {len(now_known)} states two years ago in {past:.2f} s (target {PAST_S:.0f} s); as it "
        f"was known then in {then:.1f} s (target {THEN_S:.0f} s), {same} the same")  # fmt: skip
    return past > PAST_S or then > THEN_S


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if sys.argv[1:] else 10_000))
