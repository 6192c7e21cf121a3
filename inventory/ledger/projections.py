"""What is kept beside the records for speed (things, sites, nuclides and all that is derived),
compared with what the records say."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from django.apps import apps

from config.accounts.models import Site
from inventory import derive, knowledge
from inventory.ledger import body as bodies
from inventory.ledger.fault import DERIVED_DIFFERS, NO_ROW, Fault
from inventory.ledger.models import Item, ItemDetail, ItemKind, Record, RecordItem
from inventory.nuclides.models import CHANGED_KIND, Nuclide

ITEM, SITE = Item._meta.db_table, Site._meta.db_table
NUCLIDE = Nuclide._meta.db_table


def differs(
    chain: str, table: str, column: str, expected: object, found: object, seq: int | None = None
) -> Fault:
    """A row that is not what the records say."""
    return Fault(chain, seq, None, table, column, DERIVED_DIFFERS, str(expected), str(found))


def items() -> Iterator[Fault]:
    """Every item has the code, kind and site under which it was described, and no item stands
    there that was never described."""
    things = {item.pk: item for item in Item.objects.select_related("site").order_by("pk")}
    described = RecordItem.objects.filter(kind=bodies.DESCRIBED).order_by("record")
    texts = described.values_list("item", "record__seq", "record__site", "record__body")
    seen: set[int] = set()
    for pk, seq, site, text in texts.iterator():
        item, said = things.get(pk), _only_item(text)
        if item is None or said is None:
            continue  # named by the check of the records
        if pk not in seen:
            seen.add(pk)
            want = {"code": said["item"], "kind": said["kind"], "site_id": site}
            for column, value in want.items():
                if getattr(item, column) != value:
                    found = getattr(item, column)
                    yield differs(item.site.slug, ITEM, column, value, found, seq)
    for pk, item in things.items():
        if pk not in seen:
            yield differs(item.site.slug, ITEM, "", NO_ROW, f"{item.code} {item.label}")
    for model in apps.get_models():
        if issubclass(model, ItemDetail):
            for row in model._default_manager.exclude(item__kind=model.KIND).order_by("pk"):
                item = things[row.pk]
                expected, found = f"{item.code}: {NO_ROW}", f"{item.code}: {row}"
                yield differs(item.site.slug, model._meta.db_table, "", expected, found)


def _only_item(text: str) -> Mapping[str, Any] | None:
    try:
        (said,) = json.loads(text)["items"]
        return said if {"item", "kind"} <= said.keys() else None
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def sites() -> Iterator[Fault]:
    """The row of a site says what the description of the site in force says."""
    of_sites = list(Item.objects.filter(kind=ItemKind.SITE).values_list("pk", flat=True))
    for one in knowledge.load(of_sites).values():
        if not one.descriptions:
            continue
        data, site = one.descriptions[-1].data, one.item.site
        for column in ("name", "time_zone", "address"):
            if column in data and data[column] != getattr(site, column):
                yield differs(site.slug, SITE, column, data[column], getattr(site, column))


def nuclides() -> Iterator[Fault]:
    """The nuclide table is what the installation's records of changes made of it."""
    want: dict[str, Mapping[str, Any]] = {}
    changes = Record.objects.filter(kind=CHANGED_KIND, site__isnull=True).order_by("seq")
    for text in changes.values_list("body", flat=True):
        for point in json.loads(text)["points"]:
            want[point["nuclide"]] = point
    have = {row.name: row for row in Nuclide.objects.order_by("name")}
    for name in sorted(want.keys() | have.keys()):
        if name not in want or name not in have:
            row = f"{name}: a row"
            yield differs("installation", NUCLIDE, "", *_one_of(row, name in want))
            continue
        columns = dict(have[name].values) if isinstance(have[name].values, dict) else {}
        for column in sorted(want[name].keys() | columns.keys()):
            pair = want[name].get(column), columns.get(column)
            if pair[0] != pair[1]:
                expected, found = (f"{name}: {value}" for value in pair)
                yield differs("installation", NUCLIDE, column, expected, found)
        days = float(want[name]["half_life_days"])
        if have[name].half_life_days != days:
            expected, found = f"{name}: {days}", f"{name}: {have[name].half_life_days}"
            yield differs("installation", NUCLIDE, "half_life_days", expected, found)


def _one_of(row: str, wanted: bool) -> tuple[str, str]:
    return (row, NO_ROW) if wanted else (NO_ROW, row)


def derived() -> Iterator[Fault]:
    """Every derived row that is not what the records say, or is missing."""
    things = {item.pk: item for item in Item.objects.select_related("site")}
    found = list(derive.rebuild(write=False))
    found.sort(key=lambda one: (one.table, one.item, one.expected or "", one.found or ""))
    for one in found:
        item = things[one.item]
        expected, there = (
            f"{item.code}: {row}" if row else f"{item.code}: {NO_ROW}"
            for row in (one.expected, one.found)
        )
        yield differs(item.site.slug, one.table, "", expected, there)
