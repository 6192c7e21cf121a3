"""What is known of items: the rows of the ledger put in order, now or as they were known then.

``load`` reads a fixed number of queries for any number of items; ``decide_on`` and ``states``
answer for a day through the pure functions of ``inventory.calc``.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site
from inventory import decided, surroundings
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.explain import Explained
from inventory.calc.nuclides import NuclideData
from inventory.described import traits
from inventory.followups import steps as followup_steps
from inventory.followups.models import CLOSED_KIND
from inventory.ledger import body as bodies
from inventory.ledger.models import (
    Item,
    ItemKind,
    Record,
    RecordItem,
    RecordLink,
)
from inventory.nuclides.read import nuclides
from inventory.rules.adopted import assemble
from inventory.rules.schema import CALIBRATION, LEAK_TEST, REQUIREMENTS, Row
from inventory.schedule.models import SETTING_KIND
from inventory.timeline import RequirementSpan

SCHEDULE_KIND = "schedule_set"
#: Things that come and go; everything else is where it is.
MOVING = (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR)
ACCEPTS, CLOSES, COMPLETES = "accepts", "closes", "completes"
#: A leak test that the maker had made, and the arrival that it came with.
CAME_WITH = "came_with"
#: The role of an item that the corrected record named and the correction does not: nothing that
#: the correction says is about it.
WITHDRAWN = "withdrawn"


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
    steps: list[followup_steps.Step] = field(default_factory=list)
    recorded: dict[int, datetime] = field(default_factory=dict)  # record -> when recorded
    corrections: dict[int, int] = field(default_factory=dict)  # record -> the one it replaces
    reasons: dict[int, str] = field(default_factory=dict)  # correcting record -> why
    schedules: Sequence[due.Schedule] = ()
    said: Mapping[str, str] = field(default_factory=dict)  # requirements of the site
    nuclides: Mapping[str, NuclideData] = field(default_factory=dict)
    settings: Sequence[due.Setting] = ()
    confirmations: Sequence[due.Confirmation] = ()
    holders: Mapping[int, due.Holder] = field(default_factory=dict)
    companions: Sequence[due.Companion] = ()

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
            traits=self.traits(),
            follow_ups=self.follow_ups,
            schedules=self.schedules,
            settings=self.settings,
            confirmations=self.confirmations,
            holders=self.holders,
            companions=self.companions,
            here_always=self.item.kind not in MOVING,
        )

    def traits(self) -> list[due.Traits]:
        """What the rules may ask of each description."""
        return [
            due.Traits(one.on, traits(one.data, self.nuclides.get(one.data.get("nuclide", ""))))
            for one in self.descriptions
        ]


_MENTION = (
    "item_id",
    "record_id",
    "record__seq",
    "role",
    "kind",
    "effective_on",
    "record__effective_time",
    "record__recorded_at",
    "record__accepted_by_id",
    "record__instrument__label",
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
    *("record__movement__keeping", "record__movement__away_to", "record__movement__owner"),
)


def load(
    items: Collection[int], known: datetime | None = None, *, companions: bool = False
) -> dict[int, Known]:
    """What is known of these items, now or by the moment ``known``: a fixed number of queries.
    ``companions``: who was in a gauge with whom, also where no schedule of the site asks."""
    found = {item.pk: Known(item) for item in Item.objects.filter(pk__in=items)}
    mentions = _mentions(found, known)
    links = _links(mentions)
    table = _nuclides(found, known)
    sites = {one.item.site_id for one in found.values()}
    schedules = _schedules(sites, known)
    bodies_of = _bodies(mentions)
    moves = _moves(found, known)
    said = {site: requirements_said(schedules.get(site, ())) for site in sites}
    for pk, one in found.items():
        one.nuclides = table
        one.schedules = schedules.get(one.item.site_id, ())
        one.said = said[one.item.site_id]
        one.moves = moves.get(pk, [])
        _put_in_order(one, mentions.get(pk, []), links, bodies_of)
    _fill_stays(found, moves)
    _fill_surroundings(found, known, companions)
    return found


def load_described(
    items: Collection[int], table: Mapping[str, NuclideData], known: datetime | None
) -> dict[int, Known]:
    """Of these items their descriptions, settings and movements, and nothing else."""
    found = {item.pk: Known(item) for item in Item.objects.filter(pk__in=items)}
    mentions = _mentions(found, known, (bodies.DESCRIBED, SETTING_KIND))
    bodies_of = _bodies(mentions)
    for pk, one in found.items():
        one.nuclides = table
        _put_in_order(one, mentions.get(pk, []), _Links(), bodies_of)
    return found


def _nuclides(found: Mapping[int, Known], known: datetime | None) -> dict[str, NuclideData]:
    kinds = (ItemKind.SOURCE, ItemKind.GAUGE)  # a gauge is asked what is inside
    needed = any(one.item.kind in kinds for one in found.values())
    return nuclides(known) if needed else {}


def _mentions(
    items: Collection[int], known: datetime | None, kinds: Collection[str] = ()
) -> dict[int, list[dict[str, Any]]]:
    rows = RecordItem.objects.filter(item__in=items)
    if kinds:
        rows = rows.filter(kind__in=kinds)
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
    completes: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    came_with: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))


def _links(mentions: Mapping[int, list[dict[str, Any]]]) -> _Links:
    records = {row["record_id"] for rows in mentions.values() for row in rows}
    out = _Links()
    by_role = {ACCEPTS: out.accepts, CLOSES: out.closes, COMPLETES: out.completes}
    by_role |= {CAME_WITH: out.came_with}
    for record, target, role in RecordLink.objects.filter(
        record__in=records, role__in=by_role
    ).values_list("record_id", "target_id", "role"):
        by_role[role][record].append(target)
    return out


def _bodies(mentions: Mapping[int, list[dict[str, Any]]]) -> dict[int, Mapping[str, Any]]:
    """The texts of the records that say in words what is needed here."""
    wanted = {
        row["record_id"]
        for rows in mentions.values()
        for row in rows
        if row["kind"] in (bodies.DESCRIBED, *followup_steps.KINDS, *decided.KINDS)
    }
    rows = Record.objects.filter(pk__in=wanted).values_list("pk", "body")
    return {pk: json.loads(text) for pk, text in rows}


def _schedules(
    sites: Collection[int], known: datetime | None
) -> dict[int, tuple[due.Schedule, ...]]:
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
    return _schedules(sites, None)


def schedules_of(site: Site, known: datetime | None = None) -> tuple[due.Schedule, ...]:
    """The schedules of a site in the order of their days."""
    return _schedules([site.pk], known).get(site.pk, ())


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


def movements(items: Collection[int]) -> dict[int, list[stays.Move]]:
    """The movements of these items and nothing else that is known of them: one query."""
    return _moves_of(items, None)


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
            keeping=row["record__movement__keeping"],
            away_to=row["record__movement__away_to"],
            visiting=bool(row["record__movement__owner"]),
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
    accepted_on = _first_days(mentions, links.accepts, replaced)
    completed_on = _first_days(mentions, links.completes, replaced)
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
            event = _event(row, live, accepted_on.get(record), places[record])
            what = decided.happening(bodies_of.get(record))
            if what and row["role"] != WITHDRAWN:
                event = replace(event, what=what)
            if links.came_with.get(record):
                event = replace(event, came_with=True)
            withdrawn = row["effective_on"] if row["role"] == WITHDRAWN else None
            if done_on := withdrawn or completed_on.get(record):
                event = replace(event, completed_on=done_on)
            one.events.append(event)
        if row["kind"] == CLOSED_KIND and live:
            for target in links.closes.get(record, ()):
                one.closings.setdefault(target, record)
    one.descriptions.sort(key=lambda description: (description.on, description.place))
    told = [
        (row["record_id"], bodies_of[row["record_id"]])
        for row in mentions
        if row["kind"] in decided.KINDS and row["record_id"] not in replaced
    ]
    one.settings, one.confirmations = decided.settings(told), decided.confirmations(told)
    one.follow_ups = _follow_ups(one)
    one.steps = followup_steps.steps(mentions, bodies_of)


def _description(row: Mapping[str, Any], body: Mapping[str, Any], place: int) -> Description:
    return Description(
        row["effective_on"],
        row["record__seq"],
        row["record_id"],
        row["record__recorded_at"],
        body["detail"],
        place,
    )


def _first_days(
    mentions: Sequence[Mapping[str, Any]],
    targets: Mapping[int, list[int]],
    replaced: Collection[int],
) -> dict[int, date]:
    """The day from which a live record says something about each of its targets: that it is
    accepted, or that its result is there. A result counts from the day its wipe was taken."""
    out: dict[int, date] = {}
    for row in mentions:
        if row["record_id"] not in replaced:
            for target in targets.get(row["record_id"], ()):
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
        away_to=row["record__instrument__label"] or "",
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
    own = {pk: stays.timeline(of_item) for pk, of_item in moves.items()}
    for pk, one in found.items():
        one.stays = stays.resolved(own.get(pk, []), own)


def _fill_surroundings(
    found: Mapping[int, Known], known: datetime | None, companions: bool
) -> None:
    """The gauges that sources were in, and who else was in them where a schedule asks."""
    gauges_of = surroundings.gauges_of(found)
    table = next(iter(found.values())).nuclides if found else {}
    gauges = {pk for some in gauges_of.values() for pk in some}
    light = load_described(gauges - found.keys(), table, known)
    holders = {pk: surroundings.holder((light | dict(found))[pk]) for pk in gauges}
    for pk, some in gauges_of.items():
        if found[pk].item.kind == ItemKind.SOURCE:
            found[pk].holders = {gauge: holders[gauge] for gauge in some}
    schedules = {id(one.schedules): one.schedules for one in found.values()}
    settings = [setting for one in found.values() for setting in one.settings]
    settings += [setting for held in holders.values() for setting in held.settings]
    asked = any(surroundings.asks_for_companions(of_site) for of_site in schedules.values())
    if gauges and (companions or asked or surroundings.settings_ask(settings)):
        _fill_companions(found, gauges_of, known)


def _fill_companions(
    found: Mapping[int, Known], gauges_of: Mapping[int, set[int]], known: datetime | None
) -> None:
    """For a source who was in its gauges with it, for a gauge what was ever inside."""
    inside = surroundings.inside_of({pk for some in gauges_of.values() for pk in some}, known)
    wanted = {
        pk: {other for gauge in some for other in inside.get(gauge, ())} - {pk}
        for pk, some in gauges_of.items()
    }
    every = {other for some in wanted.values() for other in some}
    table = next(iter(found.values())).nuclides
    light = load_described(every - found.keys(), table, known)
    moves = _moves_of(every - found.keys(), known)
    companions = {pk: surroundings.companion(light[pk], moves.get(pk, [])) for pk in light} | {
        pk: surroundings.companion(found[pk], found[pk].moves) for pk in every & found.keys()
    }
    for pk, some in wanted.items():
        found[pk].companions = [companions[other] for other in sorted(some)]


def requirements_here(items: Collection[Item]) -> set[tuple[int, str]]:
    """The requirements that items have a time line of: item and requirement, one query."""
    spans = RequirementSpan.objects.filter(item__in=[item.pk for item in items])
    return set(spans.values_list("item_id", "requirement").distinct())


def evidence_of(requirement: str) -> str:
    """The kind of record that answers a requirement."""
    return due.evidence_kind(requirement)


def row_of(one: Known, decision: due.Decision, requirement: str, on: date) -> Row | None:
    """The row that decided: of the schedule of the day, or for this thing alone."""
    facts = one.facts()
    schedule = facts.schedule_on(on)
    every = (*(schedule.rules.rows if schedule else ()), *facts.settings_on(requirement, on))
    return next((row for row in every if row.id == decision.row), None)


def decide_on(one: Known, requirement: str, day: date) -> Explained[due.Decision]:
    """What a requirement of an item says on a day, explained."""
    return due.decide(one.facts(), requirement, day)


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


def requirements_for(one: Known) -> list[str]:
    """The requirements of one item, those included that only a setting on it says something about,
    or one on a gauge that it was in. A gauge's setting about what is inside is none of its own."""
    named = [name for name, subject in one.said.items() if subject == one.item.kind]
    settings = [*one.settings, *(s for held in one.holders.values() for s in held.settings)]
    alone = dict.fromkeys(s.row.requirement for s in settings)
    alone |= dict.fromkeys(point.kind for point in one.follow_ups)  # failed, asked for or not
    own = [name for name in alone if _subject_of(one, name) == one.item.kind]
    return [*named, *(name for name in own if name not in named)]


def _subject_of(one: Known, requirement: str) -> str:
    """The kind of item that a requirement is about, one of the site's own kinds included."""
    if requirement in REQUIREMENTS:
        return REQUIREMENTS[requirement][0]
    said = (schedule.rules.subject_of(requirement) for schedule in one.schedules)
    return next(filter(None, said), "")


def states(items: Collection[int], at: AsOf) -> dict[tuple[int, str], due.Decision]:
    """What every requirement of these items says on a day: stored spans for what is known now,
    the slow road through the same functions for what was known then."""
    if at.known is None:
        rows = RequirementSpan.objects.on(at.on).filter(item__in=items)
        return {(row.item_id, row.requirement): row.decision for row in rows}
    return {
        (pk, requirement): decide_on(one, requirement, at.on).value
        for pk, one in load(items, at.known).items()
        for requirement in requirements_for(one)
    }
