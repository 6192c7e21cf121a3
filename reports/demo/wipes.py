"""The wipes of the demo: counted here in sessions, sent to a laboratory, or merely declared."""

from __future__ import annotations

from datetime import datetime, timedelta

from inventory.calc.units import parse_activity, parse_result
from inventory.items.actions import describe
from inventory.ledger.models import ItemKind, RecordItem
from reports.demo import story as tell
from reports.demo.telling import Act, SiteStory
from surveys.awaited.actions import Report, record_report
from surveys.awaited.sending import Parcel, send_wipes
from surveys.awaited.sending import Taken as Envelope
from surveys.awaited.waiting import away, shown, waiting
from surveys.calc import leak
from surveys.laboratories.actions import laboratory_snapshot
from surveys.leak.actions import record_leak_test
from surveys.leak.models import LEAK_TEST_KIND
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe
from surveys.sessions.actions import record_session
from surveys.sessions.session import CheckCount, Session, Taken

POINT = "nearest accessible point of the housing"


def gather(story: SiteStory) -> None:
    """Every act about wipes."""
    for laboratory in story.told.laboratories:
        story.at(tell.BEGINS, _laboratory(story, laboratory))
    for session in story.told.sessions:
        story.at(session.days_ago, _session(story, session), hour=14)
    for batch in story.told.sent:
        story.at(batch.days_ago, _sent(story, batch), hour=14)
        if batch.reported is not None:
            story.at(batch.reported, _report(story, batch), hour=15)
    for declared in story.told.declared:
        entered = declared.days_ago - declared.entered_after
        story.at(entered, _declared(story, declared), hour=15)
    for corrected in story.told.corrected:
        story.at(corrected.found, _corrected(story, corrected), hour=15)


def _session(story: SiteStory, told: tell.Session) -> Act:
    def act(at: datetime) -> None:
        by = story.supervisor if told.accepted else story.technician
        session = _counted(story, told)
        record_session(site=story.site, by=by, at=at, session=session, accepted=told.accepted)

    return act


def _counted(story: SiteStory, told: tell.Session) -> Session:
    on, who = story.day(told.days_ago), story.technician.name
    check = None
    if told.check_source is not None:
        serial, number, seconds = told.check_source
        check = CheckCount(story.items[serial], [(number, seconds)])
    return Session(
        counter=story.items[told.counter],
        counted_on=on,
        background=[(told.background, told.background_seconds)],
        counted_by=who,
        check=check,
        wipes=[
            Taken(
                sources=[story.items[name] for name in one.sources],
                wiped_on=on,
                gross=[(one.gross, one.seconds)],
                sampled_by=who,
                point_wiped=POINT,
                remark=one.remark,
            )
            for one in told.counts
        ],
    )


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
            on=story.day(tell.BEGINS),
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


def _declared(story: SiteStory, told: tell.Declared) -> Act:
    def act(at: datetime) -> None:
        record_leak_test(
            site=story.site,
            by=story.supervisor,
            at=at,
            accepted=bool(told.because),
            accept_because=told.because,
            wipe=Wipe(
                [story.items[name] for name in told.sources],
                story.day(told.days_ago),
                DeclaredBy(True, told.by, told.document),
                sampled_by=told.by,
            ),
        )

    return act


def _corrected(story: SiteStory, told: tell.Corrected) -> Act:
    def act(at: datetime) -> None:
        on, item = story.day(told.days_ago), story.items[told.source]
        mention = RecordItem.objects.select_related("record__instrument").get(
            item=item, kind=LEAK_TEST_KIND, effective_on=on
        )
        old = mention.record
        assert old.instrument is not None
        session = next(one for one in story.told.sessions if one.days_ago == told.days_ago)
        counted = Counted(
            old.instrument,
            on,
            [(told.gross, 600.0)],
            [(session.background, session.background_seconds)],
            story.technician.name,
        )
        record_leak_test(
            site=story.site,
            by=story.supervisor,
            at=at,
            accepted=True,
            wipe=Wipe([item], on, counted, sampled_by=story.technician.name, point_wiped=POINT),
            replaces=old,
            because=told.because,
        )

    return act
