"""Movements: receive, install, move. What cannot have happened is refused with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from config.accounts.models import User
from inventory import derive
from inventory.calc import stays
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
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

    def draft(self, replaces: Record | None = None, reason: str = "") -> Draft:
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
        )


def record_movement(ledger: Ledger, movement: Movement) -> Record:
    """Record a movement inside an open ledger, refusing what cannot have happened."""
    _check_target(movement)
    _check_possible(movement)
    return ledger.append(movement.draft())


def move(movement: Movement, *, by: User, at: datetime, seen: int | None = None) -> Record:
    """Record one movement as an act of its own."""
    with writing(movement.item.site, by=by, at=at, seen=seen) as ledger:
        return record_movement(ledger, movement)


def correct_movement(
    old: Record, movement: Movement, *, by: User, at: datetime, reason: str
) -> Record:
    """Replace a movement that was recorded wrongly; what follows it must still be possible."""
    with writing(movement.item.site, by=by, at=at) as ledger:
        _check_target(movement)
        _check_possible(movement, correcting=old)
        return ledger.append(movement.draft(replaces=old, reason=reason))


def _check_target(movement: Movement) -> None:
    if movement.to.site_id != movement.item.site_id:
        raise DomainError("item_of_another_site", {"item": movement.to.label}, field="to")
    if movement.to.kind not in (ItemKind.GAUGE, ItemKind.LOCATION):
        raise DomainError("not_a_place", {"place": movement.to.label}, field="to")
    if movement.to.kind == ItemKind.GAUGE and movement.item.kind != ItemKind.SOURCE:
        raise DomainError("only_sources_go_into_gauges", {"item": movement.item.label}, field="to")
    if movement.verb == stays.INSTALLED and movement.to.kind != ItemKind.GAUGE:
        raise DomainError("installed_needs_gauge", {"place": movement.to.label}, field="to")


def _check_possible(movement: Movement, correcting: Record | None = None) -> None:
    known = derive.load([movement.item.pk, movement.to.pk])
    others = known[movement.item.pk].moves
    wrong = None
    if correcting is not None:
        wrong = next((one for one in others if one.seq == correcting.seq), None)
        others = [one for one in others if one is not wrong]
    inside = movement.to.kind == ItemKind.GAUGE
    new = stays.Move(
        movement.on,
        movement.at_time,
        2**31,
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
    if inside and stays.at(known[movement.to.pk].stays, movement.on) is None:
        raise DomainError(
            "gauge_not_here", {"place": movement.to.label, "on": movement.on}, field="to"
        )
