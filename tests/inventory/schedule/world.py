"""A site under invented rules: what the tests of its schedule share."""

from __future__ import annotations

from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory.ledger.models import Record
from inventory.schedule.actions import Adoption, adopt, begin, draft_schedule, review_rows
from inventory.schedule.pieces import Taken
from inventory.schedule.versions import draft_of
from tests import factories

#: The factories write in January 2026.
TODAY = date(2026, 1, 5)
FIRST = date(2018, 1, 1)
REVIEW = date(2028, 1, 5)


def act(site: Site) -> dict[str, Any]:
    """The supervisor, a moment later than every one before."""
    return {"by": factories.rps_of(site), "at": factories.tick()}


def make_site(*taken: Taken, slug: str = "") -> Site:
    """A site with a schedule that nobody has adopted: Alpha, version 1, unless others are named."""
    site = factories.make_site(slug, schedule=False)
    begin(site, taken or [Taken("aa", 1)], FIRST, **act(site))
    return site


def drafted(site: Site, **more: Any) -> Record:
    return draft_schedule(site, **more, **act(site))


def go_through(site: Site) -> Record | None:
    """Every row that is left, unless there is none."""
    draft = draft_of(site)
    assert draft is not None
    rows = {row.id: row for row in draft.rows_left}
    return review_rows(site, rows, **act(site)) if rows else None


def adopted(site: Site, **more: Any) -> Record:
    """The draft, gone through and adopted today."""
    go_through(site)
    return adopt(site, adoption(**more), **act(site))


def adoption(**more: Any) -> Adoption:
    values: dict[str, Any] = {
        **{"from_on": TODAY, "adopted_on": TODAY, "adopted_by": "A. Adviser"},
        **{"review_on": REVIEW, "parts_too": True},
    }
    return Adoption(**(values | more))


def detail_of(site: Site) -> dict[str, Any]:
    draft = draft_of(site)
    assert draft is not None
    return draft.detail
