"""Plan a shutdown, change it, take it back: each a record about the site, of the day on which it
was said. The newest says what holds; what was planned before stays readable."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, read_body, writing
from inventory.shutdowns.models import SHUTDOWN_KIND


@dataclass(frozen=True, slots=True)
class Plan:
    """What stands still (no place: the whole site) from a day until a day, both included."""

    name: str
    place: Item | None
    begins_on: date
    ends_on: date
    remark: str = ""


def plan(
    site: Site,
    what: Plan,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Plan a shutdown. Raises DomainError shutdown_needs_name, shutdown_ends_before_it_begins,
    shutdown_is_over, item_of_another_site, shutdown_not_of_a_place."""
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, SHUTDOWN_KIND):
            return done
        _check(what, ledger)
        if what.ends_on < ledger.today:
            raise DomainError("shutdown_is_over", {"ends_on": what.ends_on}, field="ends_on")
        return _append(ledger, site, what, request_key)


def change(
    old: Record,
    what: Plan,
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Other days, another name or place for a planned shutdown, and why. Raises DomainError as
    ``plan`` (one that ended early may be said to be over), shutdown_taken_back, already_corrected,
    shutdown_needs_reason."""
    with _writing_instead_of(old, by, at, seen) as ledger:
        if done := ledger.already(request_key, SHUTDOWN_KIND):
            return done
        _check_replaces(old, reason)
        _check(what, ledger)
        return _append(ledger, old.site, what, request_key, old, reason)


def take_back(
    old: Record,
    *,
    by: User,
    at: datetime,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Say that a shutdown does not take place, and why. Raises DomainError shutdown_taken_back,
    already_corrected, shutdown_needs_reason."""
    with _writing_instead_of(old, by, at, seen) as ledger:
        if done := ledger.already(request_key, SHUTDOWN_KIND):
            return done
        _check_replaces(old, reason)
        detail = read_body(old)["detail"] | {"begins_on": None, "ends_on": None}
        return ledger.append(_draft(ledger, detail, request_key, old, reason))


def _writing_instead_of(old: Record, by: User, at: datetime, seen: int | None) -> Any:
    if old.kind != SHUTDOWN_KIND:
        raise DomainError("correction_of_another_kind", {"seq": old.seq})
    return writing(old.site, by=by, at=at, seen=seen)


def _check_replaces(old: Record, reason: str) -> None:
    if not reason.strip():
        raise DomainError("shutdown_needs_reason", field="reason")
    if read_body(old)["detail"]["begins_on"] is None:
        raise DomainError("shutdown_taken_back", {"seq": old.seq})


def _check(what: Plan, ledger: Ledger) -> None:
    if not what.name.strip():
        raise DomainError("shutdown_needs_name", field="name")
    if what.ends_on < what.begins_on:
        values = {"begins_on": what.begins_on, "ends_on": what.ends_on}
        raise DomainError("shutdown_ends_before_it_begins", dict(values), field="ends_on")
    if what.place is None:
        return
    if what.place.site_id != ledger.chain.site_id:
        raise DomainError("item_of_another_site", {"item": what.place.label}, field="place")
    if what.place.kind != ItemKind.LOCATION:
        raise DomainError("shutdown_not_of_a_place", {"item": what.place.label}, field="place")


def _append(
    ledger: Ledger,
    site: Site | None,
    what: Plan,
    request_key: uuid.UUID | None,
    old: Record | None = None,
    reason: str = "",
) -> Record:
    detail = {
        "name": what.name.strip(),
        "place": what.place.code if what.place else None,
        "begins_on": what.begins_on,
        "ends_on": what.ends_on,
    }
    return ledger.append(_draft(ledger, detail, request_key, old, reason, what.remark.strip()))


def _draft(
    ledger: Ledger,
    detail: dict[str, Any],
    request_key: uuid.UUID | None,
    old: Record | None,
    reason: str,
    remark: str = "",
) -> Draft:
    site = Item.objects.get(site=ledger.chain.site, kind=ItemKind.SITE)
    return Draft(
        SHUTDOWN_KIND,
        ledger.today,
        [About(site)],
        detail=detail,
        performed_by=ledger.by.name,
        request_key=request_key,
        replaces=old,
        reason=reason.strip(),
        remark=remark,
    )
