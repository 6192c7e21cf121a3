"""What the register of a site holds now, as far as a file can speak of it: read in a fixed number
of queries, whatever the size of the file."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeVar

from django.db.models import Min

from config.accounts.models import Site
from inventory.calc.stays import VERBS
from inventory.custody.wording import place_text
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, Record, RecordItem
from inventory.timeline import Stay

T = TypeVar("T")
FILE_LOADED_KIND = "file_loaded"
#: So many keys in one question to the database.
CHUNK = 900


@dataclass(frozen=True, slots=True)
class Described:
    """One description that an item has, or had before it was corrected."""

    record: int
    seq: int
    on: date
    data: Mapping[str, Any]
    place: int
    live: bool
    loaded: bool  # written by a file that was loaded


@dataclass(slots=True, eq=False)
class Held:
    """An item of the register."""

    item: Item
    described: list[Described] = field(default_factory=list)
    stay: Stay | None = None

    @property
    def in_force(self) -> Described:
        """The description that holds now."""
        live = [one for one in self.described if one.live]
        return max(live, key=lambda one: (one.on, one.place))

    @property
    def data(self) -> Mapping[str, Any]:
        """What it is described as now."""
        return self.in_force.data

    @property
    def as_loaded(self) -> Mapping[str, Any] | None:
        """What the last file that described it said; None: no file has."""
        loaded = [one for one in self.described if one.loaded]
        return loaded[-1].data if loaded else None


class RegisterNow:
    """The places, gauges, monitors and sources of a site on a day."""

    def __init__(self, site: Site, today: date) -> None:
        self.site, self.today = site, today
        self.held = {item.pk: Held(item) for item in Item.objects.filter(site=site)}
        self.loads = list(_loads(site))
        self._read_descriptions()
        for stay in Stay.objects.filter(site=site).on(today):
            self.held[stay.item_id].stay = stay

    def of_kind(self, kind: str) -> list[Held]:
        """Every item of a kind that is described."""
        return [one for one in self.held.values() if one.item.kind == kind and one.described]

    def label(self, pk: int | None) -> str:
        """What an item is called; empty for none."""
        return self.held[pk].item.label if pk is not None else ""

    def place_of(self, one: Held) -> str:
        """Where it is now, in words: gauge and place, or who has it."""
        if one.stay is None:
            return ""
        names = (self.label(one.stay.gauge_id), self.label(one.stay.location_id))
        return place_text(one.stay, names)

    def loaded(self, seq: int) -> bool:
        """Whether a record was written by a file that was loaded."""
        return any(first <= seq <= last for first, last in self.loads)

    def _read_descriptions(self) -> None:
        rows = Record.objects.filter(site=self.site, kind=DESCRIBED).order_by("seq")
        names = ("pk", "seq", "effective_on", "replaces_id", "body", "about__item")
        places: dict[int | None, int] = {}
        found = list(rows.values_list(*names))
        replaced = {replaces for _, _, _, replaces, _, _ in found}
        for pk, seq, on, replaces, body, item in found:
            places[pk] = places.get(replaces, seq)
            data = json.loads(body)["detail"]
            self.held[item].described.append(
                Described(pk, seq, on, data, places[pk], pk not in replaced, self.loaded(seq))
            )

    # ------------------------------------------------------------ asked for where needed

    def first_days(self, kind: str) -> dict[int, date]:
        """The first day of each item of a kind on the site."""
        rows = Stay.objects.filter(site=self.site, item__kind=kind).values("item")
        return dict(rows.annotate(first=Min("from_on")).values_list("item", "first"))

    def inside(self, gauges: Collection[int]) -> dict[int, list[Stay]]:
        """Every stay of a source in these gauges, ever."""
        out: dict[int, list[Stay]] = defaultdict(list)
        for keys in _chunks(gauges):
            for stay in Stay.objects.filter(gauge__in=keys):
                out[stay.gauge_id or 0].append(stay)
        return out

    def loaded_into(self, items: Collection[int]) -> dict[int, tuple[int | None, int | None]]:
        """Gauge and place where the last file that moved them put these items."""
        out: dict[int, tuple[int | None, int | None]] = {}
        names = ("item", "record__seq", "record__movement__gauge", "record__movement__location")
        for keys in _chunks(items):
            rows = RecordItem.objects.filter(item__in=keys, kind__in=VERBS)
            for item, seq, gauge, location in rows.order_by("record__seq").values_list(*names):
                if self.loaded(seq):
                    out[item] = (gauge, location)
        return out

    def evidence(
        self, kind: str, pairs: Collection[tuple[int, date]], what: Callable[[dict[str, Any]], T]
    ) -> dict[tuple[int, date], list[T]]:
        """What the records of a kind say about these items on these days, those that were
        corrected since too; ``what`` takes it from a record's text."""
        out: dict[tuple[int, date], list[T]] = defaultdict(list)
        wanted = frozenset(pairs)
        for keys in _chunks({item for item, _ in wanted}):
            rows = RecordItem.objects.filter(item__in=keys, kind=kind).exclude(role="withdrawn")
            found = rows.values_list("item", "effective_on", "record")
            of_record: dict[int, list[tuple[int, date]]] = defaultdict(list)
            for item, on, record in found:
                if (item, on) in wanted:
                    of_record[record].append((item, on))
            for record, body in _bodies(of_record):
                said = what(body)
                for pair in of_record[record]:
                    out[pair].append(said)
        return out


def _loads(site: Site) -> Iterator[tuple[int, int]]:
    """Numbers of the first and the last record of every file that was loaded."""
    rows = Record.objects.filter(site=site, kind=FILE_LOADED_KIND).order_by("seq")
    for body in rows.values_list("body", flat=True):
        records = json.loads(body)["detail"]["records"]
        yield int(records["first"]), int(records["last"])


def _bodies(records: Collection[int]) -> Iterator[tuple[int, dict[str, Any]]]:
    for keys in _chunks(records):
        for pk, body in Record.objects.filter(pk__in=keys).values_list("pk", "body"):
            yield pk, json.loads(body)


def _chunks(keys: Collection[int]) -> Iterator[list[int]]:
    ordered = sorted(set(keys))
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]
