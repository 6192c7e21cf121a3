"""Movements: receive, install, move. What cannot have happened is refused with its reason."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc import stays
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.items.actions import describe_new
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, writing


@dataclass(frozen=True, slots=True)
class Movement:
    """A movement to be recorded: ``to`` is a gauge or a location."""

    verb: str
    item: Item
    to: Item
    on: date
    at_time: time | None = None
    supplier: str = ""
    performed_by: str = ""
    remark: str = ""

    def draft(
        self,
        replaces: Record | None = None,
        reason: str = "",
        request_key: uuid.UUID | None = None,
    ) -> Draft:
        """The record of it."""
        gauge = self.to.code if self.to.kind == ItemKind.GAUGE else None
        return Draft(
            self.verb,
            self.on,
            [About(self.item)],
            detail={
                "gauge": gauge,
                "location": None if gauge else self.to.code,
                "supplier": self.supplier,
            },
            effective_time=self.at_time,
            performed_by=self.performed_by,
            remark=self.remark,
            replaces=replaces,
            reason=reason,
            accepted=True,
            request_key=request_key,
        )


def record_movement(
    ledger: Ledger, movement: Movement, request_key: uuid.UUID | None = None
) -> Record:
    """Record a movement inside an open ledger, refusing what cannot have happened."""
    _check(_Whereabouts([movement]), movement)
    return ledger.append(movement.draft(request_key=request_key))


def record_movements(ledger: Ledger, movements: Sequence[Movement]) -> list[Record]:
    """Record many movements inside an open ledger, in a fixed number of queries; each is checked
    against what is recorded and those before it. Raises DomainError; its ``number`` says which
    movement it is about, counted from 0."""
    known = _Whereabouts(movements)
    for number, movement in enumerate(movements):
        try:
            known.add(movement, _check(known, movement))
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
    supplier: str = "",
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Describe a thing that has arrived and receive it at its first place, in one act.

    ``on`` None: nobody knows the day. Today is used, and the arrival stays an open point. The
    record that comes back is the description.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DESCRIBED):
            return done
        arrived = on or ledger.today
        said = snapshot if on else {**snapshot, "arrival_unknown": True}
        item = describe_new(ledger, kind, said, arrived, request_key=request_key)
        described = Record.objects.get(about__item=item)
        record_movement(ledger, Movement(stays.RECEIVED, item, to, arrived, supplier=supplier))
        return described


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
        _check(_Whereabouts([movement]), movement, correcting=old)
        return ledger.append(movement.draft(old, reason, request_key))


def _check_target(movement: Movement) -> None:
    if movement.to.site_id != movement.item.site_id:
        raise DomainError("item_of_another_site", {"item": movement.to.label}, field="to")
    if movement.to.kind not in (ItemKind.GAUGE, ItemKind.LOCATION):
        raise DomainError("not_a_place", {"place": movement.to.label}, field="to")
    if movement.to.kind == ItemKind.GAUGE and movement.item.kind != ItemKind.SOURCE:
        raise DomainError("only_sources_go_into_gauges", {"item": movement.item.label}, field="to")
    if movement.verb == stays.INSTALLED and movement.to.kind != ItemKind.GAUGE:
        raise DomainError("installed_needs_gauge", {"place": movement.to.label}, field="to")


class _Whereabouts:
    """The movements and stays of items and of where they go, kept up as movements are added."""

    def __init__(self, movements: Sequence[Movement]) -> None:
        items = {one.item.pk for one in movements}
        gauges = {one.to.pk for one in movements if one.to.kind == ItemKind.GAUGE}
        known = knowledge.movements(items | gauges)
        self.moves = {pk: list(known.get(pk, ())) for pk in items | gauges}
        self._stays = {pk: stays.stays(self.moves[pk])[0] for pk in gauges}
        self._next = 2**31  # after every record that there is

    def add(self, movement: Movement, move: stays.Move) -> None:
        """A movement that is going to be recorded."""
        self.moves[movement.item.pk].append(move)
        if movement.item.pk in self._stays:
            self._stays[movement.item.pk] = stays.stays(self.moves[movement.item.pk])[0]

    def here(self, gauge: Item, on: date) -> bool:
        """Whether a gauge was on site on a day."""
        return stays.at(self._stays[gauge.pk], on) is not None

    def number(self) -> int:
        """The place of the next movement among those of its day."""
        self._next += 1
        return self._next


def _check(known: _Whereabouts, movement: Movement, correcting: Record | None = None) -> stays.Move:
    """The movement as the time line knows it; what cannot have happened is refused."""
    _check_target(movement)
    others = known.moves[movement.item.pk]
    wrong = None
    if correcting is not None:
        wrong = next((one for one in others if one.seq == correcting.seq), None)
        others = [one for one in others if one is not wrong]
    inside = movement.to.kind == ItemKind.GAUGE
    new = stays.Move(
        movement.on,
        movement.at_time,
        known.number(),
        movement.verb,
        movement.to.pk if inside else None,
        None if inside else movement.to.pk,
        wrong.place if wrong else 0,
    )
    refused = stays.stays([*others, new])[1]
    if refused:
        first = refused[0]
        values: dict[str, Scalar] = {
            "item": movement.item.label,
            "place": movement.to.label,
            "on": first.move.on,
        }
        raise DomainError(first.code, values, field="on")
    if inside and not known.here(movement.to, movement.on):
        raise DomainError(
            "gauge_not_here", {"place": movement.to.label, "on": movement.on}, field="to"
        )
    return new
