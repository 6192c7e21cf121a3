"""Everything derived: made from records, kept as rows, rebuilt and compared by one code path.

``load`` reads a fixed number of queries for any number of items; pure functions of
``inventory.calc`` make the time lines; ``_sync`` compares them with the rows that are there.
``refresh`` writes, ``rebuild`` reports, ``decide_on`` answers for a day.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Model

from config.accounts.models import OPEN_END, Site
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.explain import Explained, Scalar
from inventory.calc.nuclides import NuclideData
from inventory.followups.models import CLOSED_KIND, FollowUp
from inventory.ledger import body as bodies
from inventory.ledger.models import (
    Item,
    ItemDetail,
    ItemKind,
    Record,
    RecordItem,
    RecordLink,
    sort_key,
)
from inventory.nuclides.read import nuclides
from inventory.rules.load import template
from inventory.rules.schema import CONDITIONS, REQUIREMENTS
from inventory.timeline import RequirementSpan, Stay

SCHEDULE_KIND = "schedule_set"
ACCEPTS, CLOSES = "accepts", "closes"
CHUNK = 500


@dataclass(frozen=True, slots=True)
class Description:
    """A description of an item, in force from a day on. ``late``: entered after that day."""

    on: date
    seq: int
    record: int
    recorded_at: datetime
    data: Mapping[str, Any]
    place: int = 0  # a correction takes the place of what it corrects


@dataclass(slots=True)
class Known:
    """What is known of one item: the rows of the ledger, put in order."""

    item: Item
    descriptions: list[Description] = field(default_factory=list)
    all_described: list[Description] = field(default_factory=list)  # corrected ones too
    events: list[due.Event] = field(default_factory=list)
    moves: list[stays.Move] = field(default_factory=list)
    stays: list[stays.StaySpan] = field(default_factory=list)
    follow_ups: list[due.OpenPoint] = field(default_factory=list)
    closings: dict[int, int] = field(default_factory=dict)  # opening record -> closing record
    recorded: dict[int, datetime] = field(default_factory=dict)  # record -> when recorded
    corrections: dict[int, int] = field(default_factory=dict)  # record -> the one it replaces
    reasons: dict[int, str] = field(default_factory=dict)  # correcting record -> why
    schedules: Sequence[due.Schedule] = ()
    nuclides: Mapping[str, NuclideData] = field(default_factory=dict)

    def description_on(self, day: date) -> Description | None:
        """The description in force on a day; before the first one, the first one."""
        found = [one for one in self.descriptions if one.on <= day] or self.descriptions[:1]
        return found[-1] if found else None

    def snapshot_on(self, day: date) -> Mapping[str, Any]:
        """The data of the description in force on a day."""
        found = self.description_on(day)
        return found.data if found else {}

    def nuclide_on(self, day: date) -> NuclideData | None:
        """The source's nuclide on a day."""
        return self.nuclides.get(self.snapshot_on(day).get("nuclide", ""))

    def facts(self) -> due.Facts:
        """What ``decide`` needs."""
        return due.Facts(
            subject=self.item.pk,
            kind=self.item.kind,
            events=self.events,
            stays=self.stays,
            traits=[due.Traits(one.on, self._traits(one.data)) for one in self.descriptions],
            follow_ups=self.follow_ups,
            schedules=self.schedules,
        )

    def _traits(self, data: Mapping[str, Any]) -> dict[str, Scalar]:
        """The traits that rules may ask for: from the description, then from the nuclide."""
        nuclide = self.nuclides.get(data.get("nuclide", ""))
        return {
            name: data.get(name, getattr(nuclide, name, None))
            for name in CONDITIONS
            if name != "whereabouts"
        }


_MENTION = (
    "item_id",
    "record_id",
    "record__seq",
    "kind",
    "effective_on",
    "record__effective_time",
    "record__recorded_at",
    "record__accepted_by_id",
    "record__replaces_id",
    "record__reason",
    "outcome",
    "fit",
    "unfit_because",
    "accuses",
    "valid_until",
)


_MOVE = (
    *("item_id", "record_id", "record__seq", "record__replaces_id", "kind"),
    *("effective_on", "record__effective_time"),
    *("record__movement__gauge_id", "record__movement__location_id"),
)


def load(items: Collection[int], known: datetime | None = None) -> dict[int, Known]:
    """What is known of these items, now or by the moment ``known``: a fixed number of queries."""
    found = {item.pk: Known(item) for item in Item.objects.filter(pk__in=items)}
    mentions = _mentions(found, known)
    links = _links(mentions)
    table = _nuclides(found, known)
    schedules = _schedules({one.item.site_id for one in found.values()}, known)
    bodies_of = _bodies(mentions)
    moves = _moves(found, known)
    for pk, one in found.items():
        one.nuclides = table
        one.schedules = schedules.get(one.item.site_id, ())
        one.moves = moves.get(pk, [])
        _put_in_order(one, mentions.get(pk, []), links, bodies_of)
    _fill_stays(found, moves)
    return found


def _nuclides(found: Mapping[int, Known], known: datetime | None) -> dict[str, NuclideData]:
    needed = any(one.item.kind == ItemKind.SOURCE for one in found.values())
    return nuclides(known) if needed else {}


def _mentions(items: Collection[int], known: datetime | None) -> dict[int, list[dict[str, Any]]]:
    rows = RecordItem.objects.filter(item__in=items)
    if known is not None:
        rows = rows.filter(record__recorded_at__lte=known)
    out: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.order_by("record__seq").values(*_MENTION):
        out[row["item_id"]].append(row)
    return out


@dataclass(slots=True)
class _Links:
    accepts: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    closes: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))


def _links(mentions: Mapping[int, list[dict[str, Any]]]) -> _Links:
    records = {row["record_id"] for rows in mentions.values() for row in rows}
    out = _Links()
    for record, target, role in RecordLink.objects.filter(
        record__in=records, role__in=(ACCEPTS, CLOSES)
    ).values_list("record_id", "target_id", "role"):
        if role == ACCEPTS:
            out.accepts[record].append(target)
        else:
            out.closes[record].append(target)
    return out


def _bodies(mentions: Mapping[int, list[dict[str, Any]]]) -> dict[int, Mapping[str, Any]]:
    described = {
        row["record_id"]
        for rows in mentions.values()
        for row in rows
        if row["kind"] == bodies.DESCRIBED
    }
    rows = Record.objects.filter(pk__in=described).values_list("pk", "body")
    return {pk: json.loads(text) for pk, text in rows}


def _schedules(
    sites: Collection[int], known: datetime | None
) -> dict[int, tuple[due.Schedule, ...]]:
    rows = Record.objects.filter(site__in=sites, kind=SCHEDULE_KIND)
    if known is not None:
        rows = rows.filter(recorded_at__lte=known)
    rows = rows.exclude(pk__in=rows.filter(replaces__isnull=False).values("replaces"))
    out: dict[int, list[due.Schedule]] = defaultdict(list)
    for site, text in rows.order_by("effective_on", "seq").values_list("site_id", "body"):
        out[site].append(schedule_of(json.loads(text)))
    return {site: tuple(found) for site, found in out.items()}


def schedules_of(site: Site, known: datetime | None = None) -> tuple[due.Schedule, ...]:
    """The schedules of a site in the order of their days."""
    return _schedules([site.pk], known).get(site.pk, ())


def schedule_of(body: Mapping[str, Any]) -> due.Schedule:
    """A schedule from its record's text."""
    detail = body["detail"]
    return due.Schedule(
        from_on=date.fromisoformat(body["effective_on"]),
        rules=template(detail["rule_set"], int(detail["version"])),
        adopted_on=bodies.day(detail["adopted_on"]),
        adopted_by=detail["adopted_by"],
    )


def _moves(found: Mapping[int, Known], known: datetime | None) -> dict[int, list[stays.Move]]:
    """The movements of the items, and of every gauge that one of them was ever in."""
    out = _moves_of(found, known)
    inside = {move.gauge for moves in out.values() for move in moves if move.gauge}
    return out | _moves_of(inside - found.keys(), known)


def _moves_of(items: Collection[int], known: datetime | None) -> dict[int, list[stays.Move]]:
    rows = RecordItem.objects.filter(item__in=items, kind__in=stays.VERBS)
    if known is not None:
        rows = rows.filter(record__recorded_at__lte=known)
    mentions: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.order_by("record__seq").values(*_MOVE):
        mentions[row["item_id"]].append(row)
    return {item: _moves_from(of_item) for item, of_item in mentions.items()}


def _moves_from(mentions: Sequence[Mapping[str, Any]]) -> list[stays.Move]:
    replaced = {row["record__replaces_id"] for row in mentions}
    places = _places(mentions)
    return [
        stays.Move(
            on=row["effective_on"],
            time=row["record__effective_time"],
            seq=row["record__seq"],
            verb=row["kind"],
            gauge=row["record__movement__gauge_id"],
            location=row["record__movement__location_id"],
            place=places[row["record_id"]],
        )
        for row in mentions
        if row["record_id"] not in replaced
    ]


def _places(mentions: Sequence[Mapping[str, Any]]) -> dict[int, int]:
    """The number that gives each record its place within a day. A correction takes the place of
    what it corrects: putting the first of two records of a day right must not make it the last."""
    out: dict[int, int] = {}
    for row in mentions:  # in the order of their numbers, so what is corrected comes first
        out[row["record_id"]] = out.get(row["record__replaces_id"], row["record__seq"])
    return out


def _put_in_order(
    one: Known,
    mentions: Sequence[Mapping[str, Any]],
    links: _Links,
    bodies_of: Mapping[int, Mapping[str, Any]],
) -> None:
    replaced = {row["record__replaces_id"] for row in mentions}
    accepted_on = _accepted_on(mentions, links, replaced)
    places = _places(mentions)
    for row in mentions:
        record = row["record_id"]
        one.recorded[record] = row["record__recorded_at"]
        if row["record__replaces_id"]:
            one.corrections[record] = row["record__replaces_id"]
            one.reasons[record] = row["record__reason"]
        live = record not in replaced
        if row["kind"] == bodies.DESCRIBED:
            description = _description(row, bodies_of[record], places[record])
            one.all_described.append(description)
            if live:
                one.descriptions.append(description)
        else:
            one.events.append(_event(row, live, accepted_on.get(record), places[record]))
        if row["kind"] == CLOSED_KIND and live:
            for target in links.closes.get(record, ()):
                one.closings.setdefault(target, record)
    one.descriptions.sort(key=lambda description: (description.on, description.place))
    one.follow_ups = _follow_ups(one)


def _description(row: Mapping[str, Any], body: Mapping[str, Any], place: int) -> Description:
    return Description(
        row["effective_on"],
        row["record__seq"],
        row["record_id"],
        row["record__recorded_at"],
        body["detail"],
        place,
    )


def _accepted_on(
    mentions: Sequence[Mapping[str, Any]], links: _Links, replaced: Collection[int]
) -> dict[int, date]:
    """The day from which each later accepted record counts as accepted."""
    out: dict[int, date] = {}
    for row in mentions:
        if row["record_id"] not in replaced:
            for target in links.accepts.get(row["record_id"], ()):
                out[target] = min(row["effective_on"], out.get(target, row["effective_on"]))
    return out


def _event(row: Mapping[str, Any], live: bool, accepted_on: date | None, place: int) -> due.Event:
    at_once = row["record__accepted_by_id"] is not None
    return due.Event(
        record=row["record_id"],
        seq=row["record__seq"],
        kind=row["kind"],
        on=row["effective_on"],
        time=row["record__effective_time"],
        outcome=row["outcome"],
        fit=row["fit"],
        unfit_because=row["unfit_because"],
        accuses=row["accuses"],
        accepted=at_once or accepted_on is not None,
        live=live,
        valid_until=row["valid_until"],
        place=place,
        accepted_on=None if at_once else accepted_on,
    )


def _follow_ups(one: Known) -> list[due.OpenPoint]:
    """One for every record that accuses, relied on or not, corrected or not."""
    by_record = {event.record: event for event in one.events}
    out = []
    for event in one.events:
        if event.accuses:
            closing = by_record.get(one.closings.get(event.record, 0))
            closed_on = closing.on if closing else None
            out.append(due.OpenPoint(event.record, event.seq, event.kind, event.on, closed_on))
    return out


def _fill_stays(found: Mapping[int, Known], moves: Mapping[int, list[stays.Move]]) -> None:
    own = {pk: stays.stays(of_item)[0] for pk, of_item in moves.items()}
    for pk, one in found.items():
        one.stays = stays.resolved(own.get(pk, []), own)


# ---------------------------------------------------------------- answers for a day


def decide_on(one: Known, requirement: str, day: date) -> Explained[due.Decision]:
    """What a requirement of an item says on a day, explained."""
    return due.decide(one.facts(), requirement, day)


def requirements_of(kind: str) -> list[str]:
    """The requirements that a kind of item can be the subject of."""
    return [name for name, (subject, _) in REQUIREMENTS.items() if subject == kind]


def states(items: Collection[int], at: AsOf) -> dict[tuple[int, str], due.Decision]:
    """What every requirement of these items says on a day: stored spans for what is known now,
    the slow road through the same functions for what was known then."""
    if at.known is None:
        rows = RequirementSpan.objects.on(at.on).filter(item__in=items)
        return {(row.item_id, row.requirement): _stored(row) for row in rows}
    return {
        (pk, requirement): decide_on(one, requirement, at.on).value
        for pk, one in load(items, at.known).items()
        for requirement in requirements_of(one.item.kind)
    }


def _stored(row: RequirementSpan) -> due.Decision:
    return due.Decision(row.state, row.due_on, row.warn_on, row.record_id, row.row)


# ---------------------------------------------------------------- rows kept and compared


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
)
FOLLOW_UP_FIELDS = (
    *("site_id", "item_id", "kind", "opened_by_id", "opened_on"),
    *("closed_by_id", "closed_on"),
)
SPAN_FIELDS = (
    *("site_id", "item_id", "requirement", "from_on", "until_on"),
    *("state", "due_on", "warn_on", "record_id", "row", "closed"),
)


def _stay_rows(one: Known) -> Iterator[Row]:
    for span in one.stays:
        yield (
            *(one.item.site_id, one.item.pk, span.from_on, span.until_on),
            *(span.gauge, span.location, span.whereabouts),
        )


def _follow_up_rows(one: Known) -> Iterator[Row]:
    for point in one.follow_ups:
        closing = one.closings.get(point.record) if point.closed_on else None
        yield (
            *(one.item.site_id, one.item.pk, point.kind, point.record, point.opened_on),
            *(closing, point.closed_on),
        )


def _span_rows(one: Known) -> Iterator[Row]:
    facts = one.facts()
    for requirement in requirements_of(one.item.kind):
        for span in due.spans(facts, requirement):
            said = span.decision
            yield (
                *(one.item.site_id, one.item.pk, requirement, span.from_on, span.until_on),
                *(said.state, said.due_on, said.warn_on, said.record, said.row),
                span.until_on < OPEN_END,
            )


_TIMELINES: tuple[tuple[type[Model], Sequence[str], Callable[[Known], Iterator[Row]]], ...] = (
    (Stay, STAY_FIELDS, _stay_rows),
    (FollowUp, FOLLOW_UP_FIELDS, _follow_up_rows),
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
        objects.bulk_create([model(**dict(zip(fields, row, strict=True))) for row in lacking])


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


def affected(touched: Collection[int]) -> set[int]:
    """The items whose derived rows can change when these were written about: a gauge takes its
    sources along; a site's own record (its schedule) concerns everything there."""
    items = set(touched)
    items |= set(
        RecordItem.objects.filter(record__movement__gauge__in=touched).values_list(
            "item_id", flat=True
        )
    )
    sites = Item.objects.filter(pk__in=touched, kind=ItemKind.SITE).values("site")
    items |= set(Item.objects.filter(site__in=sites).values_list("pk", flat=True))
    return items


def _chunks(items: Collection[int]) -> Iterator[list[int]]:
    ordered = sorted(items)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


def refresh(touched: Collection[int]) -> None:
    """Bring everything derived from these items up to date, in the caller's transaction."""
    if not touched:
        return
    for chunk in _chunks(affected(touched)):
        for _ in _sync(load(chunk), write=True):
            pass


def rebuild(*, write: bool) -> Iterator[Difference]:
    """Compare everything derived with what the records say; with ``write`` put it right."""
    for chunk in _chunks(Item.objects.values_list("pk", flat=True)):
        yield from _sync(load(chunk), write=write)
