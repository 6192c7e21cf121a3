"""The wipes of a site by a day, read for their register: records, and all that they mention."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import F, QuerySet

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import stays
from inventory.calc.asof import AsOf
from inventory.ledger.models import Item, Record, RecordItem, RecordLink
from reports.registers.base import CHUNK
from reports.registers.late import Places, label, places_of
from surveys.leak.models import GIVEN_UP_KIND, LEAK_TEST_KIND, SENT_KIND

Body = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Mentioned:
    """Everything that the wipes of one chunk mention, as known at the moment asked about."""

    site: Site
    at: AsOf
    sources_of: Mapping[int, Sequence[int]]  # record -> its sources
    known: Mapping[int, knowledge.Known]  # sources and counters
    places: Places
    calibrations: Mapping[str, Body]  # by the record's number
    acceptances: Mapping[int, Body]  # record -> the first one that accepts it
    given_up: Mapping[int, Body]  # record of a wipe sent away -> the one that gives it up
    laboratories: Mapping[str, knowledge.Known]  # by code

    def of_code(self, record: int) -> dict[str, knowledge.Known]:
        """The sources of a record by their codes."""
        found = [self.known[pk] for pk in self.sources_of[record]]
        return {one.item.code: one for one in found}


@dataclass(frozen=True, slots=True)
class Told:
    """One record with its text."""

    record: Record
    body: Body
    among: Mentioned

    @property
    def counter(self) -> knowledge.Known | None:
        """The counter, when it was counted here."""
        return self.among.known.get(self.record.instrument_id or 0)

    @property
    def laboratory(self) -> str:
        """The laboratory's name: written out, or that of the laboratory that the text names."""
        said: str = self.body["detail"].get("laboratory") or ""
        named = self.among.laboratories.get(said)
        return label(named, self.record.effective_on) if named else said


def told(site: Site, at: AsOf, since: date | None) -> Iterator[Told]:
    """The wipes by a day in the order in which they were taken, a chunk at a time, each with the
    same number of queries. A wipe whose result has come is told by its result; one that was given
    up stays, for it says that a result is missing."""
    wipes = recorded(site, at).filter(kind__in=(LEAK_TEST_KIND, SENT_KIND), effective_on__lte=at.on)
    if since is not None:
        wipes = wipes.filter(effective_on__gte=since)
    arrived = _completing(site, at, LEAK_TEST_KIND).values("target")
    wipes = wipes.exclude(kind=SENT_KIND, pk__in=arrived)
    keys = list(
        wipes.order_by("effective_on", F("effective_time").asc(nulls_last=True), "seq").values_list(
            "pk", flat=True
        )
    )
    for start in range(0, len(keys), CHUNK):
        found = Record.objects.in_bulk(keys[start : start + CHUNK])
        bodies = {pk: json.loads(record.body) for pk, record in found.items()}
        among = _mentioned(site, at, found, bodies)
        for pk in keys[start : start + CHUNK]:
            yield Told(found[pk], bodies[pk], among)


def _completing(site: Site, at: AsOf, kind: str) -> QuerySet[RecordLink]:
    """From records of a kind that still stand to the wipes sent away that they complete."""
    known = recorded(site, at)
    links = RecordLink.objects.filter(
        role=knowledge.COMPLETES,
        record__in=known,
        record__kind=kind,
        record__effective_on__lte=at.on,
    )
    corrected = known.filter(replaces__isnull=False).values("replaces")
    return links.exclude(record__in=corrected)


def recorded(site: Site, at: AsOf) -> QuerySet[Record]:
    """The records of the site that were known at the moment asked about."""
    records = Record.objects.filter(site=site)
    return records if at.known is None else records.filter(recorded_at__lte=at.known)


def _mentioned(
    site: Site, at: AsOf, records: Mapping[int, Record], bodies: Mapping[int, Body]
) -> Mentioned:
    sources_of = _sources(records)
    instruments = {record.instrument_id for record in records.values() if record.instrument_id}
    sources = {pk for found in sources_of.values() for pk in found}
    laboratories = _laboratories(site, bodies)
    known = knowledge.load({*sources, *instruments, *laboratories.values()}, at.known)
    there = [
        stays.at(known[pk].stays, records[record].effective_on)
        for record, found in sources_of.items()
        for pk in found
    ]
    numbers = {body["detail"].get("calibration") for body in bodies.values()} - {None}
    return Mentioned(
        site=site,
        at=at,
        sources_of=sources_of,
        known=known,
        places=places_of(there, at),
        calibrations=_texts(site, numbers),
        acceptances=_acceptances(site, at, records),
        given_up=_given_up(site, at, records),
        laboratories={code: known[pk] for code, pk in laboratories.items()},
    )


def _laboratories(site: Site, bodies: Mapping[int, Body]) -> dict[str, int]:
    """The laboratories that the texts name by their codes."""
    named = {body["detail"].get("laboratory") for body in bodies.values()} - {None, ""}
    found = Item.objects.filter(site=site, code__in=named)
    return dict(found.values_list("code", "pk"))


def _sources(records: Mapping[int, Record]) -> dict[int, list[int]]:
    """The sources that each record covers; what a correction withdrew is not among them."""
    out: dict[int, list[int]] = {pk: [] for pk in records}
    rows = RecordItem.objects.filter(record__in=records, item__kind="source").order_by("pk")
    for record, item in rows.values_list("record_id", "item_id"):
        out[record].append(item)
    return out


def _texts(site: Site, numbers: Collection[str]) -> dict[str, Body]:
    rows = Record.objects.filter(site=site, seq__in=[int(number) for number in numbers])
    return {str(seq): json.loads(text) for seq, text in rows.values_list("seq", "body")}


def _acceptances(site: Site, at: AsOf, records: Collection[int]) -> dict[int, Body]:
    """The first record by the day that accepts each of these, unless it was corrected away."""
    known = recorded(site, at)
    links = RecordLink.objects.filter(
        role=knowledge.ACCEPTS, target__in=records, record__in=known
    ).filter(record__effective_on__lte=at.on)
    links = links.exclude(record__in=known.filter(replaces__isnull=False).values("replaces"))
    out: dict[int, Body] = {}
    for target, text in links.order_by("record__effective_on", "record__seq").values_list(
        "target_id", "record__body"
    ):
        out.setdefault(target, json.loads(text))
    return out


def _given_up(site: Site, at: AsOf, records: Collection[int]) -> dict[int, Body]:
    links = _completing(site, at, GIVEN_UP_KIND).filter(target__in=records)
    return {pk: json.loads(text) for pk, text in links.values_list("target_id", "record__body")}


def recorded_on(site: Site, body: Body) -> date:
    """The day on which a record was entered."""
    return site.day(datetime.fromisoformat(body["recorded_at"]))
