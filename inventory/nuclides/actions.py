"""Bring reference data up to date, recording what changed."""

from __future__ import annotations

import csv
import json
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from django.db.models import Min, Q

from config.accounts.models import Site, User
from inventory.calc.nuclides import FIXTURE, read_nuclides
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, ItemKind, Record, RecordItem
from inventory.ledger.write import About, Draft, writing
from inventory.nuclides.models import CHANGED_KIND, Nuclide


@dataclass(frozen=True, slots=True)
class Change:
    """One value of one nuclide that differs from the file. ``before`` None: a new nuclide."""

    nuclide: str
    column: str
    before: str | None
    after: str


def differences(path: Path | None = None) -> list[Change]:
    """What loading the file would change. Raises DomainError when the file is not good."""
    there = dict(Nuclide.objects.values_list("name", "values"))
    out: list[Change] = []
    for name, cells in _cells(path).items():
        before = there.get(name)
        if before is None:
            out.append(Change(name, "", None, cells["half_life_days"]))
            continue
        out += [
            Change(name, column, before.get(column, ""), value)
            for column, value in cells.items()
            if before.get(column, "") != value
        ]
    return out


def load_nuclides(*, by: User, at: datetime, path: Path | None = None) -> list[Change]:
    """Load the file; the change is one record of the installation, and one at each site whose
    sources a changed value touches, so that past registers never change silently."""
    changes = differences(path)
    if not changes:
        return []
    cells = _cells(path)
    names = sorted({change.nuclide for change in changes})
    with writing(None, by=by, at=at) as ledger:
        points = [cells[name] for name in names]
        ledger.append(Draft(CHANGED_KIND, ledger.today, [], points=points))
        Nuclide.objects.bulk_create(
            [Nuclide.from_cells(cells[name]) for name in names],
            update_conflicts=True,
            unique_fields=["name"],
            update_fields=["values", "half_life_days"],
        )
        _tell_sites([change for change in changes if change.before is not None], by=by, at=at)
    return changes


def _tell_sites(changes: list[Change], *, by: User, at: datetime) -> None:
    names = {change.nuclide for change in changes}
    ever = _ever_described_as(names)
    sites = ever.values_list("site", flat=True)
    for site in Site.objects.filter(pk__in=set(sites)).order_by("pk"):
        items = list(ever.filter(site=site))
        points = [
            {
                "nuclide": change.nuclide,
                "column": change.column,
                "before": change.before,
                "after": change.after,
            }
            for change in changes
        ]
        about = [About(item) for item in items]
        with writing(site, by=by, at=at) as ledger:
            ledger.append(Draft(CHANGED_KIND, _since(items), about, points=points))


def _ever_described_as(names: set[str]) -> Any:
    """The sources that any description ever gave one of these nuclides: a past day rests on it
    too. Only the text holds what a description once said."""
    wanted = Q()
    for name in names:
        wanted |= Q(body__contains=f'"nuclide":{json.dumps(name)}')
    said = Record.objects.filter(wanted, kind=DESCRIBED).values("pk")
    mentions = RecordItem.objects.filter(record__in=said).values("item")
    return Item.objects.filter(kind=ItemKind.SOURCE, pk__in=mentions)


def _since(items: list[Item]) -> date:
    """A corrected constant concerns every day the sources have been here."""
    first = RecordItem.objects.filter(item__in=items).aggregate(first=Min("effective_on"))
    day: date = first["first"]
    return day


def _cells(path: Path | None) -> dict[str, dict[str, str]]:
    read_nuclides(path)  # refuses a bad file with one sentence
    with (path or FIXTURE).open(encoding="utf-8", newline="") as file:
        return {
            row["nuclide"]: {name: (value or "").strip() for name, value in row.items()}
            for row in csv.DictReader(file)
        }
