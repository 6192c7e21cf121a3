"""What the demo's sites have: places, gauges, sources, monitors with their calibrations."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from inventory.calc.units import parse_activity
from inventory.custody.actions import Movement, move, record_movement
from inventory.items.actions import (
    SourceText,
    describe_new,
    gauge_snapshot,
    location_snapshot,
)
from inventory.ledger.models import ItemKind
from inventory.ledger.write import Ledger, writing
from inventory.requirements.actions import set_schedule
from reports.demo import story as tell
from reports.demo.telling import Act, SiteStory
from surveys.monitors.actions import Certificate, monitor_snapshot, record_calibration
from surveys.monitors.in_force import Efficiency


def gather(story: SiteStory) -> None:
    """Every act that brings things to the site."""
    story.at(tell.BEGINS, lambda at: _begin(story, at))
    story.at(tell.BEGINS - 20, lambda at: _receive(story, at))
    for source in story.told.sources:
        if source.received != tell.BEGINS - 20:
            story.at(source.received, _late_arrival(story, source))
    story.at(tell.BEGINS - 22, lambda at: _install(story, at))
    for monitor in story.told.monitors:
        _calibrations(story, monitor)
    for moved in story.told.moved:
        story.at(moved.days_ago, _moved(story, moved))


def _begin(story: SiteStory, at: datetime) -> None:
    """The schedule, the places, the gauges at them and the monitors."""
    told, on = story.told, story.day(tell.BEGINS)
    rule_set, version = told.rules
    set_schedule(
        story.site,
        by=story.supervisor,
        at=at,
        rule_set=rule_set,
        version=version,
        from_on=on,
    )
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        for place in told.places:
            within = story.items[place.within].code if place.within else None
            snapshot = location_snapshot(place.name, place_kind=place.kind, within=within)
            story.items[place.name] = describe_new(ledger, ItemKind.LOCATION, snapshot, on)
        for gauge in told.gauges:
            snapshot = gauge_snapshot(
                gauge.tag, maker="Invented Gauges", model=gauge.model, whom_to_ask=gauge.ask
            )
            story.items[gauge.tag] = describe_new(ledger, ItemKind.GAUGE, snapshot, on)
            _received(ledger, story, gauge.tag, gauge.place, on)
        for monitor in told.monitors:
            snapshot = monitor_snapshot(
                monitor.tag, monitor_kind=monitor.kind, maker="Invented Instruments"
            )
            story.items[monitor.tag] = describe_new(ledger, ItemKind.MONITOR, snapshot, on)
            _received(ledger, story, monitor.tag, monitor.place, on)


def _received(ledger: Ledger, story: SiteStory, name: str, to: str, on: date) -> None:
    movement = Movement(
        "received", story.items[name], story.items[to], on, supplier=story.told.supplier
    )
    record_movement(ledger, movement)


def _store(story: SiteStory) -> str:
    """Where what belongs into a gauge is kept until it is installed."""
    return next(place.name for place in story.told.places if place.kind == "source_store")


def _receive(story: SiteStory, at: datetime) -> None:
    """The sources that were there from the beginning, all of them on one day."""
    on = story.day(tell.BEGINS - 20)
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        for source in story.told.sources:
            if source.received == tell.BEGINS - 20:
                _arrived(ledger, story, source, on)


def _late_arrival(story: SiteStory, source: tell.Source) -> Act:
    def act(at: datetime) -> None:
        with writing(story.site, by=story.supervisor, at=at) as ledger:
            _arrived(ledger, story, source, story.day(source.received))

    return act


def _arrived(ledger: Ledger, story: SiteStory, source: tell.Source, on: date) -> None:
    snapshot = _stated(story, source).snapshot()
    story.items[source.key] = describe_new(ledger, ItemKind.SOURCE, snapshot, on)
    to = _store(story) if _in_gauge(story, source) else source.to
    _received(ledger, story, source.key, to, on)


def _in_gauge(story: SiteStory, source: tell.Source) -> bool:
    return source.to in {gauge.tag for gauge in story.told.gauges}


def _stated(story: SiteStory, source: tell.Source) -> SourceText:
    activity = parse_activity(source.activity)
    reference = story.day(source.reference)
    by_year = source.precision == "year"
    if by_year:
        reference = date(reference.year, 12, 31)
    return SourceText(
        nuclide=source.nuclide,
        maker="Invented Sources",
        model=source.model,
        serial=source.serial,
        serial_unknown_because=source.serial_unknown_because,
        activity_text=activity.text,
        activity_bq=Decimal(activity.decimal),
        reference_text=str(reference.year) if by_year else reference.isoformat(),
        reference_on=reference,
        reference_precision=source.precision,
    )


def _install(story: SiteStory, at: datetime) -> None:
    """Every source of a gauge into its housing."""
    on = story.day(tell.BEGINS - 22)
    with writing(story.site, by=story.supervisor, at=at) as ledger:
        for source in story.told.sources:
            if _in_gauge(story, source):
                to = story.items[source.to]
                record_movement(ledger, Movement("installed", story.items[source.key], to, on))


def _calibrations(story: SiteStory, monitor: tell.Monitor) -> None:
    days = sorted((*monitor.calibrated, *monitor.failed), reverse=True)
    for number, days_ago in enumerate(days, 1):
        certificate = Certificate(
            on=story.day(days_ago),
            passed=days_ago not in monitor.failed,
            certificate=f"{monitor.tag}/{number}",
            laboratory="Invented Calibration Laboratory",
            efficiencies=[Efficiency(*row) for row in monitor.efficiencies],  # type: ignore[arg-type]
        )
        story.at(days_ago - 3, _calibrated(story, monitor.tag, certificate))


def _calibrated(story: SiteStory, tag: str, certificate: Certificate) -> Act:
    def act(at: datetime) -> None:
        record_calibration(story.items[tag], certificate, by=story.supervisor, at=at, accepted=True)

    return act


def _moved(story: SiteStory, moved: tell.Moved) -> Act:
    def act(at: datetime) -> None:
        movement = Movement(
            moved.verb,
            story.items[moved.item],
            story.items[moved.to] if moved.to else None,
            story.day(moved.days_ago),
            away_to=moved.away_to,
            expected_on=None if moved.back_in is None else story.day(-moved.back_in),
        )
        move(movement, by=story.supervisor, at=at)

    return act
