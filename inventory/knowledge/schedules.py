"""The schedules of sites, and what they ask for."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site
from inventory.calc import due
from inventory.knowledge.known import SCHEDULE_KIND
from inventory.ledger import body as bodies
from inventory.ledger.models import Record
from inventory.rules.adopted import assemble
from inventory.rules.schema import CALIBRATION, LEAK_TEST, REQUIREMENTS


def read_schedules(
    sites: Collection[int], known: datetime | None
) -> dict[int, tuple[due.Schedule, ...]]:
    """The schedules of several sites by a moment, in the order of their days: one query."""
    rows = Record.objects.filter(site__in=sites, kind=SCHEDULE_KIND)
    if known is not None:
        rows = rows.filter(recorded_at__lte=known)
    rows = rows.exclude(pk__in=rows.filter(replaces__isnull=False).values("replaces"))
    out: dict[int, list[due.Schedule]] = defaultdict(list)
    for site, text in rows.order_by("seq").values_list("site_id", "body"):
        out[site].append(schedule_of(json.loads(text)))
    # One that comes into force later than it was recorded stands behind those before that day.
    return {site: tuple(sorted(found, key=lambda one: one.from_on)) for site, found in out.items()}


def schedules_of_sites(sites: Collection[int]) -> dict[int, tuple[due.Schedule, ...]]:
    """The schedules of several sites, each in the order of their days: one query."""
    return read_schedules(sites, None)


def schedules_of(site: Site, known: datetime | None = None) -> tuple[due.Schedule, ...]:
    """The schedules of a site in the order of their days."""
    return read_schedules([site.pk], known).get(site.pk, ())


def schedule_of(body: Mapping[str, Any]) -> due.Schedule:
    """A schedule from its record's text."""
    detail = body["detail"]
    return due.Schedule(
        from_on=date.fromisoformat(detail.get("from_on") or body["effective_on"]),
        rules=assemble(detail),
        adopted_on=bodies.day(detail["adopted_on"]),
        adopted_by=detail["adopted_by"],
        review_on=bodies.day(detail.get("review_on")),
    )


def requirements_said(schedules: Sequence[due.Schedule]) -> dict[str, str]:
    """The requirements of a site and the kind of item of each: the leak test and the calibration
    always, others when one of its schedules says something about them."""
    said = {
        name: one.rules.subject_of(name) for one in schedules for name in one.rules.requirements
    }
    every = {name: REQUIREMENTS[name][0] for name in (LEAK_TEST, CALIBRATION)} | said
    known = [name for name in REQUIREMENTS if name in every]
    own = [name for name in every if name not in REQUIREMENTS]
    return {name: every[name] for name in (*known, *own)}
