"""A check or something that happened, as it is to be recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from config.accounts.models import User
from inventory.evidence.kinds import THAT_STAY
from inventory.evidence.models import HAPPENING_KIND
from inventory.knowledge import WITHDRAWN
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, Outcome, Record
from inventory.ledger.write import About, Draft

#: What can come of a check for one thing.
OUTCOMES = (Outcome.PASS.value, Outcome.FAIL.value, Outcome.INCONCLUSIVE.value)
#: To these something can happen that calls for a test.
CAN_BEFALL = THAT_STAY


@dataclass(frozen=True, slots=True)
class Result:
    """What came of a check for one thing. ``accuses`` None: a fail accuses, nothing else does."""

    item: Item
    outcome: str
    found: str = ""
    accuses: bool | None = None

    def about(self, valid_until: date | None) -> About:
        """What the record says of the thing; only a pass is valid until a day."""
        fails = self.outcome == Outcome.FAIL
        return About(
            self.item,
            outcome=self.outcome,
            accuses=fails if self.accuses is None else self.accuses,
            valid_until=valid_until if self.outcome == Outcome.PASS else None,
        )


@dataclass(frozen=True, slots=True)
class Check:
    """A check as it was done. ``valid_until``: of an extension or a certificate, its last day;
    ``document``: what it is written in."""

    requirement: str
    on: date
    results: Sequence[Result]
    performed_by: str = ""
    valid_until: date | None = None
    document: str = ""
    remark: str = ""
    attachments: Sequence[Upload] = ()

    def draft(self, by: User, replaces: Record | None, **more: Any) -> Draft:
        """The record of it; what was found on each thing stands in its points."""
        found = [one.found.strip() for one in self.results]
        about = [one.about(self.valid_until) for one in self.results]
        return Draft(
            self.requirement,
            self.on,
            [*about, *_withdrawn(replaces, about)],
            detail={
                "found": found[0] if len(found) == 1 else "",
                "document": self.document.strip(),
            },
            points=[
                {"item": one.item.code, "found": text}
                for one, text in zip(self.results, found, strict=True)
            ],
            performed_by=self.performed_by.strip() or by.name,
            remark=self.remark.strip(),
            attachments=self.attachments,
            replaces=replaces,
            **more,
        )


@dataclass(frozen=True, slots=True)
class Incident:
    """What happened to a thing, and which others it concerns: the sources in a gauge that fell.
    ``at_time``: where it happened on the day of a test, so that the order is known."""

    item: Item
    what: str
    on: date
    also: Sequence[Item] = ()
    at_time: time | None = None
    performed_by: str = ""
    remark: str = ""
    attachments: Sequence[Upload] = ()

    @property
    def items(self) -> list[Item]:
        """Everything that it concerns, each once."""
        return list({one.pk: one for one in (self.item, *self.also)}.values())

    def draft(self, by: User, replaces: Record | None, **more: Any) -> Draft:
        """The record of it: no outcome, so that it can never clear anything."""
        about = [About(one) for one in self.items]
        return Draft(
            HAPPENING_KIND,
            self.on,
            [*about, *_withdrawn(replaces, about)],
            detail={"what": self.what},
            effective_time=self.at_time,
            performed_by=self.performed_by.strip() or by.name,
            remark=self.remark.strip(),
            attachments=self.attachments,
            replaces=replaces,
            **more,
        )


def _withdrawn(replaces: Record | None, about: Sequence[About]) -> list[About]:
    """Things that the corrected record named and this one does not: they must learn of it."""
    if replaces is None:
        return []
    kept = [one.item for one in about]
    dropped = replaces.about.exclude(item__in=kept).select_related("item")
    return [About(mention.item, role=WITHDRAWN) for mention in dropped]
