"""Record a check that was done, and something that happened to a thing.

A check is one record over several things, each with an outcome of its own. A pass counts once the
supervisor has accepted it; a fail accuses at once, accepted or not, and opens a follow-up. What
happened to a thing has no outcome: it can call for a test and never clears anything.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.evidence.entries import CAN_BEFALL, OUTCOMES, Check, Incident, Result
from inventory.evidence.kinds import THAT_STAY, UNTIL_KINDS, subject_of
from inventory.evidence.models import HAPPENING_KIND
from inventory.ledger.models import Item, Outcome, Record
from inventory.ledger.write import Ledger, writing
from inventory.rules.schema import HAPPENINGS
from inventory.timeline import Stay


def record_checks(
    site: Site,
    check: Check,
    *,
    by: User,
    at: datetime,
    accepted: bool = False,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    replaces: Record | None = None,
    because: str = "",
) -> Record:
    """Record a check of several things, as an act of its own.

    ``accepted``: by somebody who may accept, in the same act. ``replaces`` with ``because``
    corrects an earlier record. Raises DomainError (its ``number`` says which result it is about,
    counted from 0) or Overtaken; then nothing has been saved.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, check.requirement):
            return done
        return record_check(
            ledger,
            check,
            accepted=accepted,
            request_key=request_key,
            replaces=replaces,
            because=because,
        )


def record_check(
    ledger: Ledger,
    check: Check,
    *,
    accepted: bool = False,
    request_key: uuid.UUID | None = None,
    replaces: Record | None = None,
    because: str = "",
) -> Record:
    """Record a check inside an open ledger; see ``record_checks``."""
    if accepted:
        _check_may_accept(ledger)
    _check_it(ledger, check)
    draft = check.draft(
        ledger.by, replaces, accepted=accepted, request_key=request_key, reason=because
    )
    return ledger.append(draft)


def _check_may_accept(ledger: Ledger) -> None:
    site = ledger.chain.site
    if site is None or Role.RPS not in roles_on(ledger.by, site, ledger.today):
        raise DomainError("only_rps_accepts")


def _check_it(ledger: Ledger, check: Check) -> None:
    """What cannot be so is refused, first the whole, then each thing."""
    assert ledger.chain.site is not None
    subject = subject_of(ledger.chain.site, check.requirement)
    if not subject:
        raise DomainError("check_unknown", {"requirement": check.requirement})
    if not check.results:
        raise DomainError("check_names_nothing")
    if check.on > ledger.today:
        raise DomainError("effective_in_future", {"on": check.on}, field="on")
    _check_until(check)
    there = _on_site([one.item for one in check.results], check.on)
    for number, one in enumerate(check.results):
        with _numbered(number):
            _check_one(check, subject, one, there)


def _check_until(check: Check) -> None:
    if check.valid_until is not None and check.valid_until < check.on:
        raise DomainError("valid_until_before_check", {"on": check.on}, field="valid_until")
    extended = any(one.outcome == Outcome.PASS for one in check.results)
    if check.requirement not in UNTIL_KINDS or not extended:
        return
    if check.valid_until is None:
        raise DomainError("extension_needs_day", field="valid_until")
    if not check.document.strip():
        raise DomainError("extension_needs_document", field="document")


def _check_one(check: Check, subject: str, one: Result, there: set[int]) -> None:
    values = {"item": one.item.label, "requirement": check.requirement}
    if one.item.kind != subject:
        raise DomainError("check_of_another_kind", values)
    if one.outcome not in OUTCOMES:
        raise DomainError("check_needs_outcome", values, field="result")
    if sum(other.item.pk == one.item.pk for other in check.results) > 1:
        raise DomainError("check_names_item_twice", values)
    _check_there(one.item, check.on, there)


@contextmanager
def _numbered(number: int) -> Iterator[None]:
    """A refusal says about which of several things it is."""
    try:
        yield
    except DomainError as error:
        error.number = number
        raise


def _on_site(items: Sequence[Item], on: date) -> set[int]:
    """Those of the items that were on the site on a day; on the day on which one left it still
    was there. One query."""
    begun = Stay.objects.filter(item__in=items, from_on__lte=on)
    return {item for item, until in begun.values_list("item_id", "until_on") if _still(until, on)}


def _still(until_on: date, on: date) -> bool:
    """Whether a stay with this last evening had not ended in the morning of a day."""
    return (on - until_on).days <= 1


def _check_there(item: Item, on: date, there: set[int]) -> None:
    if item.kind in THAT_STAY and item.pk not in there:
        raise DomainError("not_on_site_then", {"item": item.label, "on": on}, field="on")


def record_happening(
    incident: Incident,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    replaces: Record | None = None,
    because: str = "",
) -> Record:
    """Record what happened to a thing, as an act of its own. It acts at once: what the schedule
    asks for after such a thing is due, whoever has entered it. Raises DomainError or Overtaken."""
    with writing(incident.item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, HAPPENING_KIND):
            return done
        _check_incident(ledger, incident)
        more = {"request_key": request_key, "reason": because}
        return ledger.append(incident.draft(by, replaces, **more))


def _check_incident(ledger: Ledger, incident: Incident) -> None:
    if incident.what not in HAPPENINGS:
        raise DomainError("happening_needs_what", field="what")
    if incident.on > ledger.today:
        raise DomainError("effective_in_future", {"on": incident.on}, field="on")
    there = _on_site(incident.items, incident.on)
    for one in incident.items:
        if one.kind not in CAN_BEFALL:
            raise DomainError("happening_to_another_kind", {"item": one.label})
        _check_there(one, incident.on, there)
