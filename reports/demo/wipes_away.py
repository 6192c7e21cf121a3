"""The wipes of the demo that a laboratory counts: sent away, and what its report says."""

from __future__ import annotations

from datetime import datetime, timedelta

from inventory.calc.units import parse_activity, parse_result
from inventory.items.actions import describe
from inventory.ledger.models import ItemKind, RecordItem
from reports.demo import told_wipes as tell
from reports.demo.telling import Act, SiteStory
from reports.demo.told_things import BEGINS
from reports.demo.wipes import POINT
from surveys.awaited.actions import Report, record_report
from surveys.awaited.sending import Parcel, send_wipes
from surveys.awaited.sending import Taken as Envelope
from surveys.awaited.waiting import away, shown, waiting
from surveys.calc import leak
from surveys.laboratories.actions import laboratory_snapshot
from surveys.leak.wipe import FromLaboratory


def gather(story: SiteStory) -> None:
    """Every act about laboratories and the wipes they have."""
    for laboratory in story.told.laboratories:
        story.at(BEGINS, _laboratory(story, laboratory))
    for batch in story.told.sent:
        story.at(batch.days_ago, _sent(story, batch), hour=14)
        if batch.reported is not None:
            story.at(batch.reported, _report(story, batch), hour=15)


def _laboratory(story: SiteStory, told: tell.Laboratory) -> Act:
    def act(at: datetime) -> None:
        snapshot = laboratory_snapshot(
            told.name,
            authorisation=told.authorisation,
            valid_until=story.day(-told.valid_for),
            unit="Bq",
            limits=[(nuclide, parse_activity(limit)) for nuclide, limit in told.limits],
        )
        record = describe(
            story.site,
            snapshot,
            kind=ItemKind.LABORATORY,
            by=story.supervisor,
            at=at,
            on=story.day(BEGINS),
        )
        mention = RecordItem.objects.select_related("item").get(record=record)
        story.items[told.name] = mention.item

    return act


def _sent(story: SiteStory, told: tell.Sent) -> Act:
    def act(at: datetime) -> None:
        on = story.day(told.days_ago)
        parcel = Parcel(
            laboratory=story.items[told.laboratory],
            sent_on=on,
            chase_on=on + timedelta(days=told.chase_after),
            method=story.told.method,
        )
        wipes = [
            Envelope([story.items[name]], on, story.technician.name, POINT, f"{on:%m%d}-{number}")
            for number, name in enumerate(told.sources, 1)
        ]
        send_wipes(story.site, parcel, wipes, by=story.supervisor, at=at)

    return act


def _report(story: SiteStory, told: tell.Sent) -> Act:
    assert told.reported is not None
    reported_on = story.day(told.reported)
    said = dict(told.results)

    def act(at: datetime) -> None:
        taken_on = story.day(told.days_ago)
        names = {item.pk: name for name, item in story.items.items()}
        results = [
            (one.seq, _figures(told.laboratory, said[names[one.sources[0].pk]], told))
            for one in away(shown(waiting(story.site)))
            if one.taken_on == taken_on
        ]
        record_report(
            story.items[told.laboratory],
            Report(reported_on),
            results,
            by=story.supervisor,
            at=at,
            accepted=True,
        )

    return act


def _figures(laboratory: str, text: str, told: tell.Sent) -> FromLaboratory:
    """``< 5 Bq`` or ``14 ± 4 Bq`` (expanded, k = 2) as a report states it."""
    if text.startswith("<"):
        less = parse_result(text.removeprefix("<").strip())
        figures = leak.Reported(less_than_bq=less.bq)
        stated = {"less_than": less.text}
    else:
        value, _, uncertainty = (part.strip() for part in text.partition("±"))
        unit = uncertainty.split()[1]
        found, spread = parse_result(f"{value} {unit}"), parse_result(uncertainty)
        figures = leak.Reported(
            activity_bq=found.bq, expanded_uncertainty_bq=spread.bq, coverage_factor=2.0
        )
        stated = {"reported": found.text, "uncertainty": spread.text, "coverage_factor": "2.0"}
    return FromLaboratory(laboratory, figures, stated, report=f"R-{told.days_ago:04d}")
