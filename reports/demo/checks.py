"""Checks of the demo's things, what happened to them, its permits and its people."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import datetime

from inventory.calc import moves
from inventory.evidence.actions import record_check, record_happening
from inventory.evidence.entries import Check, Incident, Result
from inventory.items.actions import describe
from inventory.items.snapshots import permit_snapshot, person_snapshot
from inventory.ledger.models import Item, ItemKind, Outcome, RecordItem
from inventory.ledger.write import writing
from inventory.rules.schema import ACCOUNTING
from reports.demo.telling import Act, SiteStory
from reports.demo.told_checks import Done, Happened, Round
from reports.demo.told_things import BEGINS, Permit, Person

#: After these a source is not there to be seen until it comes back.
GOES = (*moves.FOR_GOOD, moves.SENT_AWAY, moves.MISSING)


def gather(story: SiteStory) -> None:
    """Every act about checks, happenings, permits and people."""
    for permit in story.told.permits:
        story.at(BEGINS, _permit(story, permit), hour=10)
    for person in story.told.persons:
        story.at(person.appointed, _person(story, person), hour=10)
        for days_ago in person.trained:
            story.at(days_ago, _done(story, [Done("training", days_ago, (person.name,))]), hour=16)
    done = [*(_of_round(story, one) for one in story.told.rounds), *story.told.done]
    for entered, some in _by_entering(done).items():
        story.at(entered, _done(story, some), hour=13)
    for happened in story.told.happened:
        story.at(happened.days_ago, _happened(story, happened), hour=12)


def _by_entering(done: Sequence[Done]) -> dict[int, list[Done]]:
    """What is entered on one day is entered in one act, in the order in which it was done."""
    out: dict[int, list[Done]] = defaultdict(list)
    for one in sorted(done, key=lambda one: -one.days_ago):
        out[one.days_ago if one.entered is None else one.entered].append(one)
    return out


def _of_round(story: SiteStory, told: Round) -> Done:
    """A round as a check; which sources were there is known from the story."""
    there = tuple(name for name in _there(story, told) if name not in told.left_out)
    failed = dict(told.not_seen)
    return Done(
        *(ACCOUNTING, told.days_ago, there, failed), remark=told.remark, entered=told.entered
    )


def _there(story: SiteStory, told: Round) -> Iterator[str]:
    portable = {gauge.tag for gauge in story.told.gauges if gauge.portable}
    for source in story.told.sources:
        left = [
            one
            for one in story.told.moved
            if one.item == source.key and one.verb in GOES and one.days_ago >= told.days_ago
        ]
        here = source.received >= told.days_ago and not left
        if here and (source.to in portable or not told.only_portable):
            yield source.key


def _done(story: SiteStory, some: Sequence[Done]) -> Act:
    def act(at: datetime) -> None:
        with writing(story.site, by=story.supervisor, at=at) as ledger:
            for told in some:
                record_check(ledger, _check(story, told), accepted=True)

    return act


def _check(story: SiteStory, told: Done) -> Check:
    return Check(
        told.requirement,
        story.day(told.days_ago),
        [
            Result(story.items[name], _outcome(told, name), told.failed.get(name, ""))
            for name in told.subjects
        ],
        performed_by=told.by or story.technician.name,
        valid_until=None if told.valid_in is None else story.day(-told.valid_in),
        document=told.document,
        remark=told.remark,
    )


def _outcome(told: Done, name: str) -> str:
    return str(Outcome.FAIL if name in told.failed else Outcome.PASS)


def _happened(story: SiteStory, told: Happened) -> Act:
    def act(at: datetime) -> None:
        incident = Incident(
            story.items[told.item],
            told.what,
            story.day(told.days_ago),
            also=[story.items[name] for name in told.also],
            performed_by=story.technician.name,
            remark=told.remark,
        )
        record_happening(incident, by=story.technician, at=at)

    return act


def _permit(story: SiteStory, told: Permit) -> Act:
    def act(at: datetime) -> None:
        snapshot = permit_snapshot(
            told.number,
            issued_by=told.issued_by,
            valid_from=story.day(told.began),
            valid_until=story.day(-told.ends_in),
            conditions=told.conditions,
        )
        record = describe(
            story.site,
            snapshot,
            kind=ItemKind.PERMIT,
            by=story.supervisor,
            at=at,
            on=story.day(BEGINS),
        )
        story.items[told.number] = _described(record.pk)

    return act


def _person(story: SiteStory, told: Person) -> Act:
    """Somebody, with the letter of appointment that says until when."""

    def act(at: datetime) -> None:
        on = story.day(told.appointed)
        snapshot = person_snapshot(told.name, duty=told.duty, since=on)
        record = describe(
            story.site, snapshot, kind=ItemKind.PERSON, by=story.supervisor, at=at, on=on
        )
        story.items[told.name] = _described(record.pk)
        letter = "Letter of appointment"
        appointed = Done(
            *("appointment", told.appointed, (told.name,)),
            valid_in=told.until_in,
            document=letter,
            by=story.supervisor.name,
        )
        _done(story, [appointed])(at)

    return act


def _described(record: int) -> Item:
    """The item that a record describes."""
    return RecordItem.objects.select_related("item").get(record=record).item
