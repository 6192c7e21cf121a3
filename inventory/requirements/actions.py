"""The site's schedule, and acceptance of what others entered."""

from __future__ import annotations

import uuid
from datetime import date, datetime

from django.db.models import prefetch_related_objects

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.knowledge import ACCEPTS, SCHEDULE_KIND
from inventory.ledger.models import Item, ItemKind, Record, RecordLink
from inventory.ledger.write import About, Draft, writing
from inventory.rules.load import template

ACCEPTED_KIND = "accepted"


def set_schedule(
    site: Site,
    *,
    by: User,
    at: datetime,
    rule_set: str,
    version: int,
    from_on: date,
    adopted_on: date | None = None,
    adopted_by: str = "",
) -> Record:
    """Put a released rule set into force as the site's schedule from a day on. Without
    ``adopted_on`` and ``adopted_by`` it is a draft, and every page says so."""
    rules = template(rule_set, version)
    if (adopted_on is None) != (not adopted_by.strip()):
        raise DomainError("adopted_needs_day_and_name", field="adopted_by")
    with writing(site, by=by, at=at) as ledger:
        item = Item.objects.get(site=site, kind=ItemKind.SITE)
        detail = {
            "rule_set": rules.id,
            "version": rules.version,
            "title": rules.title,
            "sha256": rules.sha256,
            "adopted_on": adopted_on,
            "adopted_by": adopted_by,
        }
        return ledger.append(
            Draft(SCHEDULE_KIND, from_on, [About(item)], detail=detail, accepted=True)
        )


def accept(
    target: Record,
    *,
    by: User,
    at: datetime,
    reason: str = "",
    needs_reason: bool = False,
    request_key: uuid.UUID | None = None,
) -> Record:
    """Accept a record that somebody entered: from then on it can satisfy a requirement.

    ``needs_reason``: a declared result satisfies only with the name and a reason.
    """
    assert target.site is not None
    if needs_reason and not reason.strip():
        raise DomainError("declared_needs_reason", field="reason")
    with writing(target.site, by=by, at=at) as ledger:
        if done := ledger.already(request_key, ACCEPTED_KIND):
            return done
        if Role.RPS not in roles_on(by, target.site, ledger.today):
            raise DomainError("only_rps_accepts")
        if target.accepted_by_id or RecordLink.objects.filter(target=target, role=ACCEPTS).exists():
            raise DomainError("already_accepted", {"seq": target.seq})
        if Record.objects.filter(replaces=target).exists():
            raise DomainError("already_corrected", {"seq": target.seq})
        prefetch_related_objects([target], "about__item")
        return ledger.append(acceptance(target, by, ledger.today, reason, request_key))


def acceptance(
    target: Record, by: User, on: date, reason: str = "", request_key: uuid.UUID | None = None
) -> Draft:
    """The record that accepts another one; a caller with many fetches their ``about__item``."""
    return Draft(
        ACCEPTED_KIND,
        on,
        [About(mention.item) for mention in target.about.all()],
        detail={"accepts": target.seq},
        links=[(target, ACCEPTS)],
        reason=reason,
        accepted=True,
        request_key=request_key,
        performed_by=by.name,
    )
