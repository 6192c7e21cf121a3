"""A draft is adopted: by whom, on which day, from when it decides, when it is looked at again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Unpack

from config.accounts.models import Site
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.calc.texts import says_something
from inventory.knowledge import SCHEDULE_KIND
from inventory.ledger.models import Record
from inventory.schedule import edits
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.pieces import NOBODY, Decided, Detail
from inventory.schedule.versions import Version, in_force, left, versions
from inventory.schedule.writes import append, open_draft, standing

#: How many rows a refusal names.
NAMED = 3


@dataclass(frozen=True, slots=True)
class Adoption:
    """Who adopts a schedule, on which day, from when it decides, when it is looked at again.

    ``because``: why it decides about days that have gone by, or takes the place of one that was to
    come. ``parts_too``: that limit, reports and everything else that is no row was gone through.
    ``decided``: who decided what another rule set loosens, needed for nothing else."""

    from_on: date
    adopted_on: date
    adopted_by: str
    review_on: date
    because: str = ""
    note: str = ""
    parts_too: bool = False
    decided: Decided = NOBODY


def adopt(site: Site, adoption: Adoption, **act: Unpack[Acting]) -> Record:
    """Put the draft into force, every row of which was gone through."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), SCHEDULE_KIND):
            return done
        detail = open_draft(site).detail
        edits.check_whole(detail)
        _check_gone_through(detail, adoption)
        _check_days(adoption, ledger.today)
        replaces = _takes_place_of(versions(site), adoption, ledger.today)
        looser = _looser(site, detail, adoption.from_on)
        if looser:
            _check_decided(looser, adoption.decided, ledger.today)
        said = {
            "loosened": {"rows": looser, **adoption.decided.text()} if looser else None,
            "adopted_on": adoption.adopted_on,
            "adopted_by": adoption.adopted_by.strip(),
            "review_on": adoption.review_on,
            "parts_too": adoption.parts_too,
            "from_on": adoption.from_on,
            "note": adoption.note.strip() or detail.get("note", ""),
        }
        on = min(adoption.from_on, ledger.today)
        return append(
            *(ledger, SCHEDULE_KIND, on, {**detail, **said}, act),
            reason=adoption.because.strip(),
            replaces=replaces,
        )


def _check_gone_through(detail: Detail, adoption: Adoption) -> None:
    rows = left(detail)
    if rows:
        names = ", ".join(row.id for row in rows[:NAMED])
        raise DomainError("rows_not_gone_through", {"n": len(rows), "text": names})
    if not adoption.parts_too:
        raise DomainError("parts_not_gone_through", field="parts_too")


def _looser(site: Site, detail: Detail, from_on: date) -> list[str]:
    """Rows that are looser than in the schedule adopted last, or than in the one whose place it
    takes on its day: one that is to come is no excuse for beginning earlier."""
    adopted = [one for one in versions(site) if one.adopted]
    then = in_force(adopted, from_on)
    baselines = [standing(site), then.rules if then and then.from_on <= from_on else None]
    found = [row for rules in baselines for row in edits.looser_without_reason(detail, rules)]
    return list(dict.fromkeys(found))


def _check_decided(rows: Sequence[str], decided: Decided, today: date) -> None:
    """Where something is missing the rows are named, and the first thing that is gets the
    refusal."""
    try:
        decided.require(today)
    except DomainError as error:
        if decided.complete:
            raise
        values: dict[str, Scalar] = {"n": len(rows), "text": ", ".join(rows[:NAMED])}
        raise DomainError("adoption_loosens", values, field=error.field) from error


def _check_days(adoption: Adoption, today: date) -> None:
    if not says_something(adoption.adopted_by):
        raise DomainError("adopted_needs_day_and_name", field="adopted_by")
    if adoption.adopted_on > today:
        raise DomainError("adopted_in_future", {"on": adoption.adopted_on}, field="adopted_on")
    if adoption.review_on <= max(adoption.adopted_on, adoption.from_on):
        raise DomainError("review_before_adoption", field="review_on")
    if adoption.from_on < today and not adoption.because.strip():
        raise DomainError("past_needs_reason", {"from_on": adoption.from_on}, field="because")


def _takes_place_of(found: Sequence[Version], adoption: Adoption, today: date) -> Record | None:
    """The schedule to come whose place this one takes, for it would begin later and win."""
    if not found or found[-1].from_on <= adoption.from_on:
        return None
    last, before = found[-1], found[:-1]
    too_early = last.from_on <= today or (before and before[-1].from_on > adoption.from_on)
    if too_early:
        earliest = before[-1].from_on if last.from_on > today else last.from_on
        raise DomainError("schedule_begins_later", {"from_on": earliest}, field="from_on")
    if not adoption.because.strip():
        raise DomainError("coming_needs_reason", {"from_on": last.from_on}, field="because")
    return last.record


def looser_than_adopted(site: Site, draft: Version) -> list[str]:
    """Rows of a draft for which its adoption must say why they are looser."""
    return edits.looser_without_reason(draft.detail, standing(site))
