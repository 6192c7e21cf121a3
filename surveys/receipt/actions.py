"""Receive a source with the certificate that its maker's leak test has: arrival and test in one
act, or neither."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site, User
from inventory.custody.actions import Movement, receive_in, record_movement
from inventory.knowledge import CAME_WITH
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, Record
from inventory.ledger.write import Ledger, writing
from surveys.leak.actions import Entry, record_wipes
from surveys.leak.models import Reason
from surveys.leak.wipe import DeclaredBy, Wipe


@dataclass(frozen=True, slots=True)
class MakersTest:
    """A leak test that was made before the source came, as its certificate states it.

    ``accepted``: by the supervisor, with ``accept_because``; until then it satisfies nothing.
    """

    on: date
    declared_by: str
    document: str = ""
    passed: bool = True
    accepted: bool = False
    accept_because: str = ""

    def entry(self, source: Item, arrival: Record) -> Entry:
        """The test as it is recorded: somebody's word without figures, dated as on the paper."""
        wipe = Wipe(
            sources=[source],
            wiped_on=self.on,
            result=DeclaredBy(self.passed, self.declared_by, self.document),
            why=Reason.FIRST_USE,
            sampled_by=self.declared_by,
            from_list=True,  # a maker tests before the reference date, and before anything here
        )
        because = self.accept_because if self.accepted else ""
        return Entry(wipe, self.accepted, because, links=[(arrival, CAME_WITH)])


def receive_new(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    kind: str,
    by: User,
    at: datetime,
    on: date | None,
    to: Item,
    test: MakersTest | None = None,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    **said: Any,
) -> Record:
    """Describe a source, receive it and record the maker's test, in one act. As
    ``inventory.custody.actions.receive_new``; raises DomainError and then nothing is saved."""
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        described, arrival = receive_in(ledger, kind, snapshot, on, to, request_key, **said)
        _record_test(ledger, Item.objects.get(mentions__record=described), arrival, test)
        return described


def receive(
    movement: Movement,
    test: MakersTest | None,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Receive a source that is described already, and record the maker's test."""
    with writing(movement.item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, movement.verb):
            return done
        arrival = record_movement(ledger, movement, request_key)
        _record_test(ledger, movement.item, arrival, test)
        return arrival


def _record_test(ledger: Ledger, source: Item, arrival: Record, test: MakersTest | None) -> None:
    if test is not None:
        record_wipes(ledger, [test.entry(source, arrival)])
