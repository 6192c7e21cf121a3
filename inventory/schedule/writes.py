"""What every write about a schedule shares: the open draft, what was adopted, the record."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory.calc.errors import DomainError
from inventory.knowledge import SCHEDULE_KIND
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger
from inventory.rules.schema import RuleSet
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.models import DRAFT_KIND
from inventory.schedule.pieces import Detail, Reviewer
from inventory.schedule.versions import Version, draft_of, versions


def reviewer(ledger: Ledger, who: str) -> Reviewer:
    """Who went through a row today: the one that is named, or whoever writes."""
    return Reviewer(who.strip() or ledger.by.name, ledger.today)


def open_draft(site: Site) -> Version:
    """The draft that is open. Raises DomainError no_draft."""
    draft = draft_of(site)
    if draft is None:
        raise DomainError("no_draft")
    return draft


def standing(site: Site) -> RuleSet | None:
    """The rules that were adopted last: what is looser than they are needs a reason."""
    adopted = [one for one in versions(site) if one.adopted]
    return adopted[-1].rules if adopted else None


Edit = Callable[[Detail, Ledger, RuleSet | None], Detail]


def edit_draft(site: Site, act: Acting, edit: Edit) -> Record:
    """Write the draft as an edit leaves it; what the edit decides on is read inside."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), DRAFT_KIND):
            return done
        detail = edit(open_draft(site).detail, ledger, standing(site))
        return append(ledger, DRAFT_KIND, ledger.today, detail, act)


def append(ledger: Ledger, kind: str, on: date, detail: Detail, act: Acting, **more: Any) -> Record:
    """One record about the site with the whole text of a schedule."""
    site = ledger.chain.site
    item = Item.objects.get(site=site, kind=ItemKind.SITE)
    return ledger.append(
        Draft(
            kind,
            on,
            [About(item)],
            detail=detail,
            accepted=kind == SCHEDULE_KIND,
            performed_by=ledger.by.name,
            request_key=act.get("request_key"),
            **more,
        )
    )
