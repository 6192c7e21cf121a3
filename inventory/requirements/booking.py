"""Book what is due, take a booking back, say why something was not done.

None of it is evidence of anything: a due date never moves by it.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from config.accounts.models import User
from inventory.calc.errors import DomainError
from inventory.knowledge import requirements_here
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, Ledger, writing
from inventory.requirements.models import BOOKED_KIND, NOT_DONE_KIND, Booking


@dataclass(frozen=True, slots=True)
class Line:
    """One requirement of one item: what a line of the list is about."""

    item: Item
    requirement: str


@dataclass(frozen=True, slots=True)
class Appointment:
    """When, with whom, under which work order."""

    booked_for: date
    with_whom: str = ""
    work_order: str = ""
    note: str = ""


def book(
    lines: Sequence[Line],
    what: Appointment,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> list[Record]:
    """Book lines for a day, a record each; the newest booking of a line is the one that holds."""
    with _writing_about(lines, by, at, seen) as ledger:
        if done := ledger.already(request_key, BOOKED_KIND):
            return [done]
        if what.booked_for < ledger.today:
            raise DomainError("booked_in_past", {"on": what.booked_for}, field="booked_for")
        texts = {
            "booked_for": what.booked_for,
            "with_whom": what.with_whom.strip(),
            "work_order": what.work_order.strip(),
        }
        drafts = [
            _draft(ledger, line, texts, None if place else request_key, remark=what.note.strip())
            for place, line in enumerate(lines)
        ]
        return ledger.append_many(drafts)


def no_longer_booked(
    lines: Sequence[Line],
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> list[Record]:
    """Say that nobody has these lines booked any more, and why."""
    if not reason.strip():
        raise DomainError("unbooking_needs_reason", field="reason")
    with _writing_about(lines, by, at, seen) as ledger:
        if done := ledger.already(request_key, BOOKED_KIND):
            return [done]
        for line in lines:
            if not _booked(line):
                raise DomainError("not_booked", {"item": line.item.label})
        texts = {"booked_for": None, "with_whom": "", "work_order": ""}
        drafts = [
            _draft(ledger, line, texts, None if place else request_key, reason=reason.strip())
            for place, line in enumerate(lines)
        ]
        return ledger.append_many(drafts)


def not_done(
    line: Line,
    *,
    by: User,
    at: datetime,
    on: date,
    because: str,
    meanwhile: str = "",
    performed_by: str = "",
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Somebody tried and could not: why, and what is done meanwhile."""
    if not because.strip():
        raise DomainError("not_done_needs_why", field="because")
    with _writing_about([line], by, at, seen) as ledger:
        if done := ledger.already(request_key, NOT_DONE_KIND):
            return done
        detail = {
            "requirement": line.requirement,
            "because": because.strip(),
            "meanwhile": meanwhile.strip(),
        }
        return ledger.append(
            Draft(
                NOT_DONE_KIND,
                on,
                [About(line.item)],
                detail=detail,
                request_key=request_key,
                performed_by=performed_by.strip() or by.name,
            )
        )


def _writing_about(lines: Sequence[Line], by: User, at: datetime, seen: int | None) -> Any:
    if not lines:
        raise DomainError("nothing_chosen")
    there = requirements_here([line.item for line in lines])
    for line in lines:
        if (line.item.pk, line.requirement) not in there:
            raise DomainError("requirement_not_of_item", {"item": line.item.label})
    return writing(lines[0].item.site, by=by, at=at, seen=seen)


def _draft(
    ledger: Ledger,
    line: Line,
    texts: dict[str, Any],
    request_key: uuid.UUID | None,
    *,
    remark: str = "",
    reason: str = "",
) -> Draft:
    return Draft(
        BOOKED_KIND,
        ledger.today,
        [About(line.item)],
        detail={"requirement": line.requirement, **texts},
        request_key=request_key,
        remark=remark,
        reason=reason,
        performed_by=ledger.by.name,
    )


def _booked(line: Line) -> bool:
    last = (
        Booking.objects.filter(record__about__item=line.item, requirement=line.requirement)
        .filter(record__replaced_by__isnull=True)
        .order_by("-record__seq")
        .first()
    )
    return last is not None and last.booked_for is not None
