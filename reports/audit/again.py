"""Wipes as they are recorded, and those with counts judged a second time: with the calibration that
was in force when they were counted, as far as it is known at the moment asked about."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.calc.asof import AsOf
from inventory.calc.errors import DomainError
from inventory.ledger import body as bodies
from inventory.ledger.models import Item, ItemKind, Record, RecordItem
from surveys.calc import leak
from surveys.leak.judging import verdict_for
from surveys.leak.models import LEAK_TEST_KIND, Way
from surveys.monitors.in_force import CountersOnDays, InForce


@dataclass(frozen=True, slots=True)
class Held:
    """One wipe's result for one source: as recorded, and judged again where it has counts.

    ``again`` is None without counts; ``refused`` says why it could not be judged again.
    """

    one: knowledge.Known
    event: due.Event
    body: Mapping[str, Any]
    recorded: leak.Verdict
    counter: Item | None = None
    counted_on: date | None = None
    unfit_now: str = ""
    again: leak.Verdict | None = None
    refused: DomainError | None = None

    @property
    def verdict(self) -> leak.Verdict:
        """What must be believed of it now."""
        return self.again or self.recorded

    @property
    def claimed(self) -> str:
        """What the document it was taken from says: passed, failed or nothing."""
        return str(self.body["detail"].get("claimed") or "")

    @property
    def differs(self) -> bool:
        """Whether judging it again gives another outcome than was recorded."""
        return self.again is not None and self.again.outcome != self.recorded.outcome


class Wipes:
    """The wipes of a site by a day; counters are read once, texts a chunk of sources at a time."""

    def __init__(self, site: Site, at: AsOf) -> None:
        self._on = at.on
        monitors = Item.objects.filter(site=site, kind=ItemKind.MONITOR)
        self._monitors = {monitor.pk: monitor for monitor in monitors}
        self._counters = CountersOnDays(list(monitors), at.known)

    def of(self, sources: Collection[knowledge.Known]) -> dict[int, list[Held]]:
        """Everything that is held of these sources, in the order in which it happened."""
        texts = _texts([one.item.pk for one in sources])
        return {one.item.pk: list(self._held(one, texts)) for one in sources}

    def _held(
        self, one: knowledge.Known, texts: Mapping[int, tuple[str, int | None]]
    ) -> Iterator[Held]:
        for event in sorted(one.events, key=lambda each: each.order):
            told = event.kind == LEAK_TEST_KIND and event.outcome and event.live
            if told and event.on <= self._on:
                text, counter = texts[event.record]
                yield self._judged(one, event, json.loads(text), self._monitors.get(counter or 0))

    def _judged(
        self, one: knowledge.Known, event: due.Event, body: dict[str, Any], counter: Item | None
    ) -> Held:
        point = next(each for each in body["points"] if each["item"] == one.item.code)
        recorded = leak.verdict_from_data(point["verdict"])
        detail = body["detail"]
        counted_on = bodies.day(detail.get("counted_on"))
        if detail["way"] != Way.COUNTS or counter is None or counted_on is None:
            return Held(one, event, body, recorded)
        could = self._counters(counter, counted_on)
        again, refused = None, None
        try:
            again = _verdict(one, event.on, detail, could)
        except DomainError as error:
            refused = error
        unfit = could.unfit_because
        return Held(one, event, body, recorded, counter, counted_on, unfit, again, refused)


def _texts(sources: Collection[int]) -> dict[int, tuple[str, int | None]]:
    about = RecordItem.objects.filter(item__in=sources, kind=LEAK_TEST_KIND)
    rows = Record.objects.filter(pk__in=about.values("record"))
    return {
        pk: (text, counter) for pk, text, counter in rows.values_list("pk", "body", "instrument")
    }


def _verdict(
    one: knowledge.Known, wiped_on: date, detail: Mapping[str, Any], could: InForce
) -> leak.Verdict:
    nuclide = one.nuclide_on(wiped_on)
    efficiency = could.efficiencies.get(nuclide.name) if nuclide else None
    counts = leak.Counted(
        gross=_counts(detail["gross"]),
        background=_counts(detail["background"]),
        factor=efficiency.factor() if efficiency else None,
    )
    return verdict_for(one, wiped_on, counts).value


def _counts(told: Any) -> tuple[leak.RawCount, ...]:
    """Counts and seconds as a record's text keeps them."""
    return tuple(
        (float(count), None if seconds is None else float(seconds)) for count, seconds in told
    )
