"""What the demo's sites have: places, gauges, monitors, sources."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from inventory.calc import moves
from inventory.custody.actions import Movement, record_movements
from inventory.items.actions import describe_many, gauge_snapshot, location_snapshot
from inventory.ledger.models import Item, ItemKind
from inventory.ledger.write import Ledger, writing
from reports.demo.snapshots import source_snapshot
from reports.demo.telling import Act, SiteStory
from reports.demo.told_things import BEGINS, FIRST_RECEIVED, Place, Source
from surveys.monitors.actions import monitor_snapshot
from surveys.receipt.actions import MakersTest, receive_new

#: The sources were put into their gauges so many days after the site began.
INSTALLED = BEGINS - 22
Described = tuple[str, str, Mapping[str, Any]]  # its name in the story, its kind, what it is


def gather(story: SiteStory) -> None:
    """Every act that brings things to the site."""
    story.at(BEGINS, lambda at: _begin(story, at))
    story.at(FIRST_RECEIVED, lambda at: _receive(story, at))
    for source in story.told.sources:
        if source.received != FIRST_RECEIVED:
            story.at(source.received, _late_arrival(story, source))
    story.at(INSTALLED, lambda at: _install(story, at))


def _begin(story: SiteStory, at: datetime) -> None:
    """The places, the gauges and monitors at them."""
    told, on = story.told, story.day(BEGINS)
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        outer = [_place(story, place) for place in told.places if not place.within]
        _describe(ledger, story, outer, on)
        inner = [_place(story, place) for place in told.places if place.within]
        _describe(ledger, story, inner, on)
        _describe(ledger, story, [*_gauges(story), *_monitors(story)], on)
        to = {gauge.tag: gauge.place for gauge in told.gauges}
        to |= {monitor.tag: monitor.place for monitor in told.monitors}
        record_movements(ledger, [_received(story, name, to[name], on) for name in to])


def _describe(
    ledger: Ledger, story: SiteStory, described: Sequence[Described], on: date
) -> list[Item]:
    items = describe_many(ledger, [(kind, snapshot, on) for _, kind, snapshot in described])
    story.items.update(zip([name for name, *_ in described], items, strict=True))
    return items


def _place(story: SiteStory, place: Place) -> Described:
    within = story.items[place.within].code if place.within else None
    snapshot = location_snapshot(place.name, place_kind=place.kind, within=within)
    return place.name, ItemKind.LOCATION, snapshot


def _gauges(story: SiteStory) -> list[Described]:
    return [
        (
            gauge.tag,
            ItemKind.GAUGE,
            gauge_snapshot(
                gauge.tag,
                maker="Invented Gauges",
                model=gauge.model,
                whom_to_ask=gauge.ask,
                device_kind=gauge.device_kind,
                portable=gauge.portable,
            ),
        )
        for gauge in story.told.gauges
    ]


def _monitors(story: SiteStory) -> list[Described]:
    return [
        (
            one.tag,
            ItemKind.MONITOR,
            monitor_snapshot(one.tag, monitor_kind=one.kind, maker="Invented Instruments"),
        )
        for one in story.told.monitors
    ]


def _received(story: SiteStory, name: str, to: str, on: date, **said: Any) -> Movement:
    said.setdefault("supplier", story.told.supplier)
    return Movement(moves.RECEIVED, story.items[name], story.items[to], on, **said)


def _store(story: SiteStory) -> str:
    """Where what belongs into a gauge is kept until it is installed."""
    return next(place.name for place in story.told.places if place.kind == "source_store")


def _receive(story: SiteStory, at: datetime) -> None:
    """The sources that were there from the beginning, all of them on one day."""
    first = [one for one in story.told.sources if one.received == FIRST_RECEIVED]
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        _arrive(ledger, story, first, story.day(FIRST_RECEIVED))


def _late_arrival(story: SiteStory, source: Source) -> Act:
    """One that came later, with the leak test of its certificate where it brought one."""

    def act(at: datetime) -> None:
        on = story.day(source.received)
        record = receive_new(
            story.site,
            source_snapshot(source, story.day(source.reference)),
            kind=ItemKind.SOURCE,
            by=story.supervisor,
            at=at,
            on=on,
            to=story.items[source.to],
            test=_certificate(story, source) if source.tested else None,
            **_said(story, source),
        )
        story.items[source.key] = Item.objects.get(mentions__record=record)

    return act


def _certificate(story: SiteStory, source: Source) -> MakersTest:
    return MakersTest(
        story.day(source.tested),
        source.owner,
        f"certificate {source.serial}/3",
        accepted=True,
        accept_because="Certificate of its owner's laboratory seen; below the limit.",
    )


def _said(story: SiteStory, source: Source) -> dict[str, Any]:
    """What its arrival says of a source: from whom, how it is kept, until when it visits."""
    if not source.owner:
        return {"supplier": story.told.supplier, "keeping": source.keeping}
    return {"owner": source.owner, "expected_on": story.day(-source.stays)}


def _arrive(ledger: Ledger, story: SiteStory, sources: Sequence[Source], on: date) -> None:
    described = [
        (one.key, ItemKind.SOURCE.value, source_snapshot(one, story.day(one.reference)))
        for one in sources
    ]
    _describe(ledger, story, described, on)
    record_movements(ledger, [_arrival(story, one, on) for one in sources])


def _arrival(story: SiteStory, source: Source, on: date) -> Movement:
    to = _store(story) if _in_gauge(story, source) else source.to
    return _received(story, source.key, to, on, keeping=source.keeping)


def _in_gauge(story: SiteStory, source: Source) -> bool:
    return source.to in {gauge.tag for gauge in story.told.gauges}


def _install(story: SiteStory, at: datetime) -> None:
    """Every source of a gauge into its housing."""
    on = story.day(INSTALLED)
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        into = [one for one in story.told.sources if _in_gauge(story, one)]
        items = story.items
        record_movements(
            ledger, [Movement(moves.INSTALLED, items[one.key], items[one.to], on) for one in into]
        )
