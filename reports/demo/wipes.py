"""The wipes of the demo that were counted here in sessions, or merely declared."""

from __future__ import annotations

from datetime import datetime

from inventory.ledger.models import RecordItem
from reports.demo import told_wipes as tell
from reports.demo.telling import Act, SiteStory
from surveys.leak.actions import record_leak_test
from surveys.leak.models import LEAK_TEST_KIND
from surveys.leak.wipe import Counted, DeclaredBy, Wipe
from surveys.sessions.actions import record_session
from surveys.sessions.session import CheckCount, Session, Taken

POINT = "nearest accessible point of the housing"


def gather(story: SiteStory) -> None:
    """Every act about wipes that stay here."""
    for session in story.told.sessions:
        story.at(session.days_ago, _session(story, session), hour=14)
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
