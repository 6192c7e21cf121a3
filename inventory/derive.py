"""Everything derived: made from records, kept as rows, rebuilt and compared by one code path.

Pure functions of ``inventory.calc`` make the time lines from what ``inventory.knowledge`` reads;
``_sync`` compares them with the rows that are there. ``refresh`` writes, ``rebuild`` reports.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Model

from config.accounts.models import OPEN_END, Site
from config.collector import collector_off
from inventory.calc import due
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.knowledge import Known, load, requirements_for, schedules_of_sites
from inventory.knowledge.surroundings import asks_for_companions, settings_of_sites_ask
from inventory.ledger import body as bodies
from inventory.ledger.bulk import insert_many
from inventory.ledger.models import (
    Item,
    ItemDetail,
    ItemKind,
    RecordItem,
    sort_key,
)
from inventory.timeline import RequirementSpan, Stay

CHUNK = 500


@dataclass(frozen=True, slots=True)
class Difference:
    """A derived row that is not what the records say. ``expected`` None: it should not be."""

    table: str
    item: int
    expected: str | None
    found: str | None


Row = tuple[Any, ...]
STAY_FIELDS = (
    "site_id",
    "item_id",
    "from_on",
    "until_on",
    "gauge_id",
    "location_id",
    "whereabouts",
    "keeping",
    "away_to",
)
FOLLOW_UP_FIELDS = (
    *("site_id", "item_id", "kind", "opened_by_id", "opened_on"),
    *("closed_by_id", "closed_on"),
)
STEP_FIELDS = (
    *("site_id", "item_id", "opened_by_id", "added_by_id", "text", "who", "by_on"),
    *("done_by_id", "done_on"),
)
SPAN_FIELDS = (
    *("site_id", "item_id", "requirement", "from_on", "until_on"),
    *("state", "due_on", "warn_on", "record_id", "row", "proposed", "since", "closed"),
)


def _stay_rows(one: Known) -> Iterator[Row]:
    for span in one.stays:
        yield (
            *(one.item.site_id, one.item.pk, span.from_on, span.until_on),
            *(span.gauge, span.location, span.whereabouts, span.keeping, span.away_to),
        )


def _follow_up_rows(one: Known) -> Iterator[Row]:
    for point in one.follow_ups:
        closing = one.closings.get(point.record) if point.closed_on else None
        yield (
            *(one.item.site_id, one.item.pk, point.kind, point.record, point.opened_on),
            *(closing, point.closed_on),
        )


def _step_rows(one: Known) -> Iterator[Row]:
    for step in one.steps:
        yield (
            *(one.item.site_id, one.item.pk, step.opened_by, step.added_by),
            *(step.text, step.who, step.by_on, step.done_by, step.done_on),
        )


def _span_rows(one: Known) -> Iterator[Row]:
    facts = one.facts()
    history = due.History(facts)
    for requirement in requirements_for(one):
        for span in due.spans(facts, requirement, history):
            said = span.decision
            yield (
                *(one.item.site_id, one.item.pk, requirement, span.from_on, span.until_on),
                *(
                    said.state,
                    said.due_on,
                    said.warn_on,
                    said.record,
                    said.row,
                    said.proposed,
                    said.since,
                ),
                span.until_on < OPEN_END,
            )


_TIMELINES: tuple[tuple[type[Model], Sequence[str], Callable[[Known], Iterator[Row]]], ...] = (
    (Stay, STAY_FIELDS, _stay_rows),
    (FollowUp, FOLLOW_UP_FIELDS, _follow_up_rows),
    (FollowUpStep, STEP_FIELDS, _step_rows),
    (RequirementSpan, SPAN_FIELDS, _span_rows),
)


def _sync(found: Mapping[int, Known], write: bool) -> Iterator[Difference]:
    for model, fields, rows_of in _TIMELINES:
        wanted = {row for one in found.values() for row in rows_of(one)}
        yield from _sync_rows(model, fields, found, wanted, write)
    for kind in {one.item.kind for one in found.values()}:
        same = {pk: one for pk, one in found.items() if one.item.kind == kind}
        yield from _sync_details(kind, same, write)
    yield from _sync_labels(found, write)


def _sync_rows(
    model: type[Model],
    fields: Sequence[str],
    items: Collection[int],
    wanted: set[Row],
    write: bool,
) -> Iterator[Difference]:
    objects = model._default_manager
    there = {row[1:]: row[0] for row in objects.filter(item__in=items).values_list("pk", *fields)}
    at = fields.index("item_id")
    excess, lacking = there.keys() - wanted, wanted - there.keys()
    for row in excess:
        yield Difference(model._meta.db_table, row[at], None, _row_text(fields, row))
    for row in lacking:
        yield Difference(model._meta.db_table, row[at], _row_text(fields, row), None)
    if write and excess:
        objects.filter(pk__in=[there[row] for row in excess]).delete()
    if write and lacking:
        insert_many(model, fields, list(lacking))


def _row_text(fields: Sequence[str], row: Row) -> str:
    return ", ".join(
        f"{name}={value}" for name, value in zip(fields, row, strict=True) if name != "item_id"
    )


def _sync_details(kind: str, found: Mapping[int, Known], write: bool) -> Iterator[Difference]:
    codes = _codes_in(found)
    for model in bodies.item_models(kind):
        fields = ("item_id", *[f.attname for f in model._meta.concrete_fields if not f.primary_key])
        wanted = set()
        for pk, one in found.items():
            if one.descriptions:
                columns = model.project(one.descriptions[-1].data, codes)
                wanted.add(_detail_row(model, pk, columns))
        yield from _sync_rows(model, fields, found, wanted, write)


def _detail_row(model: type[ItemDetail], pk: int, columns: Mapping[str, Any]) -> Row:
    """Column values as the database gives them back: a day is a date, not its text."""
    values = {
        column.attname: column.to_python(columns[column.attname])
        for column in model._meta.concrete_fields
        if not column.primary_key
    }
    return (pk, *values.values())


def _codes_in(found: Mapping[int, Known]) -> dict[str, int]:
    codes = {
        value
        for one in found.values()
        for value in (one.descriptions[-1].data if one.descriptions else {}).values()
        if isinstance(value, str) and len(value) == 8
    }
    return dict(Item.objects.filter(code__in=codes).values_list("code", "pk")) if codes else {}


def _sync_labels(found: Mapping[int, Known], write: bool) -> Iterator[Difference]:
    changed = []
    for pk, one in found.items():
        if not one.descriptions:
            continue
        data = one.descriptions[-1].data
        label, key = data["label"], sort_key(data["key"]) or "?"
        item = one.item
        if (item.label, item.label_sort, item.key) != (label, sort_key(label), key):
            yield Difference("inventory_item", pk, f"label={label}", f"label={item.label}")
            item.label, item.label_sort, item.key = label, sort_key(label), key
            changed.append(item)
    if write and changed:
        Item.objects.bulk_update(changed, ["label", "label_sort", "key"])
    if write:
        _sync_sites(found)


def _sync_sites(found: Mapping[int, Known]) -> None:
    """The site's own row follows its description; its short name never changes."""
    for one in found.values():
        if one.item.kind == ItemKind.SITE and one.descriptions:
            data = one.descriptions[-1].data
            columns = {name: data[name] for name in ("name", "time_zone", "address")}
            Site.objects.filter(pk=one.item.site_id).update(**columns)


def affected(touched: Collection[int], whole_site: Site | None = None) -> set[int]:
    """The items whose derived rows can change when these were written about: a gauge takes its
    sources along; where a schedule looks at everything in a device together, a source its
    neighbours. ``whole_site``: its schedule changed, so everything there."""
    items = set(touched)
    for some in _chunks(touched):  # a database takes only so many values at once
        gauges = {*some, *_shared_gauges(some)}
        items |= gauges
        inside = RecordItem.objects.filter(record__movement__gauge__in=gauges)
        items.update(inside.values_list("item_id", flat=True))
    if whole_site is not None:
        items.update(Item.objects.filter(site=whole_site).values_list("pk", flat=True))
    return items


def _shared_gauges(some: Collection[int]) -> set[int]:
    """The gauges that these sources were ever in, where it matters who else was."""
    sites = set(
        Item.objects.filter(pk__in=some, kind=ItemKind.SOURCE).values_list("site", flat=True)
    )
    schedules = schedules_of_sites(sites) if sites else {}
    asked = any(asks_for_companions(of_site) for of_site in schedules.values())
    if not asked and not settings_of_sites_ask(sites):
        return set()
    moves = RecordItem.objects.filter(item__in=some, record__movement__gauge__isnull=False)
    return set(moves.values_list("record__movement__gauge_id", flat=True))


def _chunks(items: Collection[int]) -> Iterator[list[int]]:
    ordered = sorted(items)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


def refresh(touched: Collection[int], *, whole_site: Site | None = None) -> None:
    """Bring everything derived from these items up to date, in the caller's transaction."""
    if not touched:
        return
    with collector_off():
        for chunk in _chunks(affected(touched, whole_site)):
            for _ in _sync(load(chunk), write=True):
                pass


def rebuild(*, write: bool) -> Iterator[Difference]:
    """Compare everything derived with what the records say; with ``write`` put it right."""
    for chunk in _chunks(Item.objects.values_list("pk", flat=True)):
        with collector_off():
            found = list(_sync(load(chunk), write=write))
        yield from found
