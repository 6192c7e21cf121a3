"""A movement before it is recorded: what its verb needs, and the record that it will be."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from inventory.calc import moves
from inventory.calc.errors import DomainError
from inventory.calc.texts import says_something
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft

#: Verbs that end at a location which must be named, and those that name whom it went to.
NEEDS_LOCATION = (moves.REMOVED, moves.MOVED, moves.STORED, moves.RETURNED, moves.FOUND)
NEEDS_WHOM = {
    moves.OUT: "job_site_needed",
    moves.SENT_AWAY: "consignee_needed",
    moves.TRANSFERRED: "consignee_needed",
    moves.DISPOSED: "disposer_needed",
}
#: Verbs that hand it over for good: only to somebody who may hold it.
NEEDS_AUTHORISATION = (moves.TRANSFERRED,)
#: Verbs after which it is expected somewhere on a day: back, there, or gone again.
EXPECTS = (moves.OUT, moves.SENT_AWAY, moves.RECEIVED)


@dataclass(frozen=True, slots=True)
class Movement:
    """A movement to be recorded. ``to``: a gauge or a location, None where the verb names none.

    ``away_to``: job site, consignee or who disposes of it. ``owner``: it visits, until
    ``expected_on`` if that is known. ``keeping``: one of ``moves.KEEPINGS``.
    """

    verb: str
    item: Item
    to: Item | None
    on: date
    at_time: time | None = None
    supplier: str = ""
    performed_by: str = ""
    remark: str = ""
    keeping: str = moves.IN_USE
    away_to: str = ""
    expected_on: date | None = None
    purpose: str = ""
    owner: str = ""
    authorisation: str = ""
    document: str = ""

    @property
    def gauge(self) -> Item | None:
        """The gauge that it goes into."""
        return self.to if self.to is not None and self.to.kind == ItemKind.GAUGE else None

    @property
    def location(self) -> Item | None:
        """The location that it goes to."""
        return self.to if self.gauge is None else None

    def detail(self) -> dict[str, Any]:
        """What the record says beside its envelope."""
        return {
            "gauge": self.gauge.code if self.gauge else None,
            "location": self.location.code if self.location else None,
            "supplier": self.supplier,
            "keeping": moves.IN_STORAGE if self.verb == moves.STORED else self.keeping,
            "away_to": self.away_to,
            "expected_on": self.expected_on,
            "purpose": self.purpose,
            "owner": self.owner,
            "authorisation": self.authorisation,
            "document": self.document,
        }

    def draft(
        self,
        replaces: Record | None = None,
        reason: str = "",
        request_key: uuid.UUID | None = None,
    ) -> Draft:
        """The record of it. What is missing accuses, so that somebody must follow it up."""
        missing = self.verb == moves.MISSING
        return Draft(
            self.verb,
            self.on,
            [About(self.item, outcome="fail" if missing else "", accuses=missing)],
            detail=self.detail(),
            effective_time=self.at_time,
            performed_by=self.performed_by,
            remark=self.remark,
            replaces=replaces,
            reason=reason,
            accepted=True,
            request_key=request_key,
        )

    def move(self, seq: int, place: int = 0) -> moves.Move:
        """The movement as the time line knows it."""
        return moves.Move(
            on=self.on,
            time=self.at_time,
            seq=seq,
            verb=self.verb,
            gauge=self.gauge.pk if self.gauge else None,
            location=self.location.pk if self.location else None,
            place=place,
            keeping=self.keeping,
            away_to=self.away_to,
            visiting=bool(self.owner),
        )


def check_said(movement: Movement) -> None:
    """Whether it says what its verb needs. Raises DomainError beside the field."""
    _check_place(movement)
    if movement.keeping not in moves.KEEPINGS:
        raise ValueError(f"no such keeping: {movement.keeping}")
    if movement.verb in NEEDS_WHOM and not says_something(movement.away_to):
        raise DomainError(NEEDS_WHOM[movement.verb], field="away_to")
    if movement.verb in NEEDS_AUTHORISATION and not says_something(movement.authorisation):
        raise DomainError("authorisation_needed", field="authorisation")
    until = movement.expected_on
    if until is not None and until < movement.on:
        values = {"until_on": until, "on": movement.on}
        raise DomainError("expected_before_it_went", values, field="expected_on")
    if movement.verb == moves.RECEIVED and until is not None and not movement.owner.strip():
        raise DomainError("visitor_needs_owner", field="owner")


def _check_place(movement: Movement) -> None:
    item, to = movement.item, movement.to
    if to is None:
        if movement.verb in (moves.RECEIVED, moves.INSTALLED, *NEEDS_LOCATION):
            raise DomainError("place_needed", {"item": item.label}, field="to")
        return
    if to.site_id != item.site_id:
        raise DomainError("item_of_another_site", {"item": to.label}, field="to")
    if to.kind not in (ItemKind.GAUGE, ItemKind.LOCATION):
        raise DomainError("not_a_place", {"place": to.label}, field="to")
    if movement.gauge and item.kind != ItemKind.SOURCE:
        raise DomainError("only_sources_go_into_gauges", {"item": item.label}, field="to")
    if movement.verb == moves.INSTALLED and not movement.gauge:
        raise DomainError("installed_needs_gauge", {"place": to.label}, field="to")
    if movement.gauge and movement.verb not in (moves.RECEIVED, moves.INSTALLED):
        raise DomainError("not_a_location", {"place": to.label}, field="to")
    if movement.verb not in (moves.RECEIVED, moves.INSTALLED, moves.BACK, *NEEDS_LOCATION):
        raise DomainError("names_no_place", {"item": item.label}, field="to")
