"""A named person confirms what decay has changed: until then the requirement stays as it was."""

from __future__ import annotations

from datetime import date
from typing import Unpack

from inventory import knowledge
from inventory.calc import due
from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.models import CONFIRMED_KIND


def confirm_change(
    item: Item, requirement: str, *, on: date, reason: str, **act: Unpack[Acting]
) -> Record:
    """From ``on`` the row decides that was proposed on that day. It ends no permit and allows no
    disposal. Only the radiation protection supervisor confirms, with a reason."""
    with deciding(item.site, act) as ledger:
        if done := ledger.already(act.get("request_key"), CONFIRMED_KIND):
            return done
        if not reason.strip():
            raise DomainError("confirming_needs_reason", field="reason")
        if on > ledger.today:
            raise DomainError("effective_in_future", {"on": on}, field="on")
        proposed = proposed_on(item, requirement, on).proposed
        if not proposed:
            raise DomainError("nothing_proposed", {"item": item.label, "on": on}, field="on")
        return ledger.append(
            Draft(
                CONFIRMED_KIND,
                on,
                [About(item)],
                detail={"requirement": requirement, "row": proposed},
                accepted=True,
                reason=reason.strip(),
                performed_by=ledger.by.name,
                request_key=act.get("request_key"),
            )
        )


def proposed_on(item: Item, requirement: str, on: date) -> due.Decision:
    """What a requirement of an item says on a day, with the row that decay proposes."""
    known = knowledge.load([item.pk])[item.pk]
    if requirement not in knowledge.requirements_for(known):
        raise DomainError("requirement_not_of_item", {"item": item.label}, field="requirement")
    return knowledge.decide_on(known, requirement, on).value
