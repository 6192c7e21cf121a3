"""Record movements and correct them. What cannot have happened is refused with its reason."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.calc.moves import RECEIVED
from inventory.custody.movement import Movement
from inventory.custody.possible import Recorded
from inventory.items.actions import describe_new
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, Record
from inventory.ledger.write import Ledger, writing

__all__ = [
    "Movement",
    "correct_movement",
    "move",
    "receive_in",
    "receive_new",
    "record_movement",
    "record_movements",
]


def record_movement(
    ledger: Ledger, movement: Movement, request_key: uuid.UUID | None = None
) -> Record:
    """Record a movement inside an open ledger, refusing what cannot have happened."""
    Recorded([movement]).check(movement)
    return ledger.append(movement.draft(request_key=request_key))


def record_movements(ledger: Ledger, movements: Sequence[Movement]) -> list[Record]:
    """Record many movements inside an open ledger, in a fixed number of queries; each is checked
    against what is recorded and those before it. Raises DomainError; its ``number`` says which
    movement it is about, counted from 0."""
    known = Recorded(movements)
    for number, movement in enumerate(movements):
        try:
            known.add(movement, known.check(movement))
        except DomainError as error:
            error.number = number
            raise
    return ledger.append_many([movement.draft() for movement in movements])


def move(
    movement: Movement,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Record one movement as an act of its own."""
    with writing(movement.item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, movement.verb):
            return done
        return record_movement(ledger, movement, request_key)


def receive_new(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    kind: str,
    by: User,
    at: datetime,
    on: date | None,
    to: Item,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    **said: Any,
) -> Record:
    """Describe a thing that has arrived and receive it at its first place, in one act.

    ``on`` None: nobody knows the day. Today is used, and the arrival stays an open point. ``said``:
    what else its movement says, by the names of ``Movement``. The record that comes back is the
    description.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        return receive_in(ledger, kind, snapshot, on, to, request_key, **said)[0]


def receive_in(
    ledger: Ledger,
    kind: str,
    snapshot: Mapping[str, Any],
    on: date | None,
    to: Item,
    request_key: uuid.UUID | None = None,
    **said: Any,
) -> tuple[Record, Record]:
    """The same inside an open ledger: the description and the arrival."""
    arrived = on or ledger.today
    if on is None:
        snapshot = {**snapshot, "arrival_unknown": True}
    item = describe_new(ledger, kind, snapshot, arrived, request_key=request_key)
    described = Record.objects.get(about__item=item)
    return described, record_movement(ledger, Movement(RECEIVED, item, to, arrived, **said))


def correct_movement(
    old: Record,
    movement: Movement,
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Replace a movement that was recorded wrongly; what follows it must still be possible."""
    with writing(movement.item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, movement.verb):
            return done
        Recorded([movement]).check(movement, correcting=old)
        return ledger.append(movement.draft(old, reason, request_key))
