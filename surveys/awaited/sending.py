"""Send wipes to a laboratory: one record a wipe, written in one act."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, writing
from surveys.awaited.waiting import still_away, waiting
from surveys.leak.judging import check_wiped_on
from surveys.leak.models import SENT_KIND

#: How long after sending somebody must ask for the result at the latest.
LONGEST_WAIT = timedelta(days=366)


@dataclass(frozen=True, slots=True)
class Taken:
    """A wipe as it goes into its envelope."""

    sources: Sequence[Item]
    wiped_on: date
    wiped_by: str = ""
    point_wiped: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Parcel:
    """What the wipes of one sending share. ``chase_on``: from then on somebody asks for it."""

    laboratory: Item
    sent_on: date
    chase_on: date
    why: str = "routine"
    method: str = ""
    remark: str = ""

    def draft(self, taken: Taken, **more: Any) -> Draft:
        """The record of one wipe. Its envelope says until when waiting is in order."""
        return Draft(
            SENT_KIND,
            taken.wiped_on,
            [About(source, valid_until=self.chase_on) for source in taken.sources],
            detail={
                "laboratory": self.laboratory.code,
                "laboratory_name": self.laboratory.label,
                "sent_on": self.sent_on,
                "chase_on": self.chase_on,
                "why": self.why,
                "method": self.method,
                "point_wiped": taken.point_wiped,
                "label": taken.label,
            },
            performed_by=taken.wiped_by,
            instrument=self.laboratory,
            remark=self.remark,
            **more,
        )


def send_wipes(
    site: Site,
    parcel: Parcel,
    wipes: Sequence[Taken],
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Record the wipes of one sending, one record each; answers with the first.

    From the day on which it was taken the result of each is awaited. Raises DomainError (its
    ``number`` says which wipe) or Overtaken; then nothing has been saved.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, SENT_KIND):
            return done
        _check_parcel(ledger, parcel)
        _check_taken(ledger, parcel, wipes)
        drafts = [parcel.draft(taken) for taken in wipes]
        drafts[0] = replace(drafts[0], request_key=request_key)
        return ledger.append_many(drafts)[0]


def correct_sent(
    old: Record,
    parcel: Parcel,
    taken: Taken,
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Put right what was recorded of a wipe sent away, while its result has not come."""
    assert old.site is not None
    with writing(old.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, SENT_KIND):
            return done
        still_away(waiting(old.site), [old.seq])
        _check_parcel(ledger, parcel)
        _check_taken(ledger, parcel, [taken])
        draft = parcel.draft(taken, replaces=old, reason=reason, request_key=request_key)
        kept = {source.pk for source in taken.sources}
        dropped = old.about.exclude(item__in=kept).select_related("item")
        withdrawn = [About(mention.item, role="withdrawn") for mention in dropped]
        return ledger.append(replace(draft, about=[*draft.about, *withdrawn]))


def _check_parcel(ledger: Ledger, parcel: Parcel) -> None:
    if parcel.laboratory.kind != ItemKind.LABORATORY:
        raise DomainError("not_a_laboratory", {"item": parcel.laboratory.label}, field="laboratory")
    if parcel.sent_on > ledger.today:
        raise DomainError("sent_in_future", {"sent_on": parcel.sent_on}, field="sent_on")
    if parcel.chase_on < parcel.sent_on:
        raise DomainError("chased_before_sent", {"sent_on": parcel.sent_on}, field="chase_on")
    last = min(parcel.sent_on, date.max - LONGEST_WAIT) + LONGEST_WAIT
    if parcel.chase_on > last:
        raise DomainError("chased_too_late", {"last_on": last}, field="chase_on")


def _check_taken(ledger: Ledger, parcel: Parcel, wipes: Sequence[Taken]) -> None:
    if not wipes:
        raise DomainError("nothing_sent")
    known = knowledge.load({source.pk for taken in wipes for source in taken.sources})
    for number, taken in enumerate(wipes):
        try:
            _check_one(parcel, taken, known)
        except DomainError as error:
            error.number = number
            raise


def _check_one(parcel: Parcel, taken: Taken, known: dict[int, knowledge.Known]) -> None:
    if not taken.sources:
        raise DomainError("wipe_needs_source", field="sources")
    for source in taken.sources:
        if source.kind != ItemKind.SOURCE:
            raise DomainError("not_a_source", {"item": source.label}, field="sources")
        if list(taken.sources).count(source) > 1:
            raise DomainError("wipe_names_source_twice", {"item": source.label}, field="sources")
        check_wiped_on(taken.wiped_on, known[source.pk])
    if taken.wiped_on > parcel.sent_on:
        raise DomainError(
            "sent_before_wiped",
            {"wiped_on": taken.wiped_on, "sent_on": parcel.sent_on},
            field="wiped_on",
        )
