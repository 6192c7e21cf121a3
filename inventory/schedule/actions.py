"""Writes about a site's schedule: begin, go through it as a draft, adopt.

A draft is a record with the whole text of the schedule after the edit; it decides nothing. An
adopted schedule is a record of the kind ``schedule_set``; it decides from ``from_on`` on, which may
lie ahead. The record itself never does: its day is that of the writing, or an earlier ``from_on``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Unpack

from config.accounts.models import Site
from inventory.calc.errors import DomainError
from inventory.knowledge import SCHEDULE_KIND
from inventory.ledger.models import Record
from inventory.ledger.write import Ledger
from inventory.rules.schema import Row, RuleSet
from inventory.schedule import edits, own_kinds
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.adopting import Adoption, adopt, looser_than_adopted
from inventory.schedule.models import DRAFT_KIND
from inventory.schedule.pieces import Decided, Detail, Taken
from inventory.schedule.versions import draft_of, versions
from inventory.schedule.writes import append, edit_draft, reviewer

__all__ = [
    "Adoption",
    "add_row",
    "adopt",
    "begin",
    "change_row",
    "choose_templates",
    "define_kind",
    "discard_draft",
    "draft_schedule",
    "drop_kind",
    "looser_than_adopted",
    "move_template",
    "moved",
    "remove_row",
    "restore_row",
    "review_rows",
]


def begin(site: Site, taken: Sequence[Taken], from_on: date, **act: Unpack[Acting]) -> Record:
    """A first schedule, made of templates and adopted by nobody: every page says *draft*."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), SCHEDULE_KIND):
            return done
        if versions(site):
            raise DomainError("schedule_there_already")
        if from_on > ledger.today:
            raise DomainError("effective_in_future", {"on": from_on}, field="on")
        detail = edits.begun(taken)
        return append(ledger, SCHEDULE_KIND, from_on, {**detail, "from_on": from_on}, act)


def draft_schedule(site: Site, *, again: bool = False, **act: Unpack[Acting]) -> Record:
    """Open a draft of the newest schedule. ``again``: every row is to be gone through again."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), DRAFT_KIND):
            return done
        found = versions(site)
        if not found:
            raise DomainError("no_schedule")
        if draft_of(site):
            raise DomainError("draft_open")
        detail = edits.opened(found[-1].detail, again=again)
        return append(ledger, DRAFT_KIND, ledger.today, detail, act)


def review_rows(
    site: Site, rows: Mapping[str, Row | None], *, who: str = "", **act: Unpack[Acting]
) -> Record:
    """Say that rows were gone through, by whom (empty: whoever writes). ``rows``: each by its id
    as it was shown; None where nobody says what was shown."""
    if not rows:
        raise DomainError("nothing_gone_through")
    return edit_draft(
        site,
        act,
        lambda detail, ledger, _standing: edits.with_review(detail, rows, reviewer(ledger, who)),
    )


def change_row(
    site: Site, data: Mapping[str, Any], *, who: str = "", **act: Unpack[Acting]
) -> Record:
    """Put a row of the site's own in the place of the one with its id: a table as rule files have
    it, with authority and, where it loosens, the reason, the name and the day."""

    def edit(detail: Detail, ledger: Ledger, standing: RuleSet | None) -> Detail:
        if edits.row_of(edits.check_whole(detail), str(data.get("id"))) is None:
            raise DomainError("row_unknown", {"row": str(data.get("id"))})
        return edits.with_row(detail, data, reviewer(ledger, who), standing)

    return edit_draft(site, act, edit)


def add_row(site: Site, data: Mapping[str, Any], *, who: str = "", **act: Unpack[Acting]) -> Record:
    """Add a row of the site's own under an id that no row has."""

    def edit(detail: Detail, ledger: Ledger, standing: RuleSet | None) -> Detail:
        if edits.row_of(edits.check_whole(detail), str(data.get("id"))):
            raise DomainError("row_id_twice", {"row": str(data.get("id"))}, field="id")
        return edits.with_row(detail, data, reviewer(ledger, who), standing)

    return edit_draft(site, act, edit)


def remove_row(site: Site, row_id: str, decided: Decided, **act: Unpack[Acting]) -> Record:
    """Leave a row out of the schedule."""
    return edit_draft(
        site,
        act,
        lambda detail, ledger, standing: edits.without_row(
            detail, row_id, decided, standing, ledger.today
        ),
    )


def restore_row(site: Site, row_id: str, **act: Unpack[Acting]) -> Record:
    """Have a row as its template says it, in place of the site's own or of none."""
    return edit_draft(
        site, act, lambda detail, _ledger, standing: edits.as_template(detail, row_id, standing)
    )


def choose_templates(site: Site, taken: Sequence[Taken], **act: Unpack[Acting]) -> Record:
    """Other templates for the draft, or other versions of them; see ``preview`` for what that
    changes."""
    return edit_draft(site, act, lambda detail, _ledger, _: edits.with_templates(detail, taken))


def move_template(site: Site, rule_set: str, version: int, **act: Unpack[Acting]) -> Record:
    """Another version of one template of the draft."""
    return edit_draft(
        site,
        act,
        lambda detail, _ledger, _: edits.with_templates(detail, moved(detail, rule_set, version)),
    )


def moved(detail: Detail, rule_set: str, version: int) -> list[Taken]:
    """The templates of a schedule with one of them in another version."""
    found = edits.taken_of(detail)
    if not any(one.rule_set == rule_set for one in found):
        raise DomainError("template_not_used", {"text": rule_set})
    return [
        Taken(one.rule_set, version if one.rule_set == rule_set else one.version, one.requirements)
        for one in found
    ]


def define_kind(
    site: Site, name: str, *, title: str, subject: str, **act: Unpack[Acting]
) -> Record:
    """A kind of requirement of the site's own: name (own-...), title, kind of its subject."""
    return edit_draft(
        site, act, lambda detail, _ledger, _: own_kinds.with_kind(detail, name, title, subject)
    )


def drop_kind(site: Site, name: str, **act: Unpack[Acting]) -> Record:
    """Take back a kind of the site's own that no row uses."""
    return edit_draft(site, act, lambda detail, _ledger, _: own_kinds.without_kind(detail, name))


def discard_draft(site: Site, **act: Unpack[Acting]) -> Record:
    """Give the draft up; what is in force stays."""
    return edit_draft(site, act, lambda detail, _ledger, _: {**detail, "discarded": True})
