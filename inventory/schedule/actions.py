"""Writes about a site's schedule: begin, go through it as a draft, adopt.

A draft is a record with the whole text of the schedule after the edit; it decides nothing. An
adopted schedule is a record of the kind ``schedule_set``; it decides from ``from_on`` on, which may
lie ahead. The record itself never does: its day is that of the writing, or an earlier ``from_on``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Unpack

from config.accounts.models import Site
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.knowledge import SCHEDULE_KIND
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger
from inventory.rules.schema import Row, RuleSet
from inventory.schedule import edits, own_kinds
from inventory.schedule.acting import Acting, deciding
from inventory.schedule.models import DRAFT_KIND
from inventory.schedule.pieces import NOBODY, Decided, Detail, Reviewer, Taken
from inventory.schedule.versions import Version, draft_of, left, versions

#: How many rows a refusal names.
NAMED = 3


@dataclass(frozen=True, slots=True)
class Adoption:
    """Who adopts a schedule, on which day, from when it decides, when it is looked at again.

    ``because``: why it decides about days that have gone by, or takes the place of one that was to
    come. ``decided``: who decided what another rule set loosens. Needed for nothing else."""

    from_on: date
    adopted_on: date
    adopted_by: str
    review_on: date
    because: str = ""
    note: str = ""
    decided: Decided = NOBODY


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
        return _append(ledger, SCHEDULE_KIND, from_on, {**detail, "from_on": from_on}, act)


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
        return _append(ledger, DRAFT_KIND, ledger.today, detail, act)


def review_rows(
    site: Site, rows: Mapping[str, Row | None], *, who: str = "", **act: Unpack[Acting]
) -> Record:
    """Say that rows were gone through, by whom (empty: whoever writes). ``rows``: each by its id
    as it was shown; None where nobody says what was shown."""
    if not rows:
        raise DomainError("nothing_gone_through")
    return _edit(
        site,
        act,
        lambda detail, ledger, _standing: edits.with_review(detail, rows, _who(ledger, who)),
    )


def change_row(
    site: Site, data: Mapping[str, Any], *, who: str = "", **act: Unpack[Acting]
) -> Record:
    """Put a row of the site's own in the place of the one with its id: a table as rule files have
    it, with authority and, where it loosens, the reason, the name and the day."""

    def edit(detail: Detail, ledger: Ledger, standing: RuleSet | None) -> Detail:
        if edits.row_of(edits.check_whole(detail), str(data.get("id"))) is None:
            raise DomainError("row_unknown", {"row": str(data.get("id"))})
        return edits.with_row(detail, data, _who(ledger, who), standing)

    return _edit(site, act, edit)


def add_row(site: Site, data: Mapping[str, Any], *, who: str = "", **act: Unpack[Acting]) -> Record:
    """Add a row of the site's own under an id that no row has."""

    def edit(detail: Detail, ledger: Ledger, standing: RuleSet | None) -> Detail:
        if edits.row_of(edits.check_whole(detail), str(data.get("id"))):
            raise DomainError("row_id_twice", {"row": str(data.get("id"))}, field="id")
        return edits.with_row(detail, data, _who(ledger, who), standing)

    return _edit(site, act, edit)


def remove_row(site: Site, row_id: str, decided: Decided, **act: Unpack[Acting]) -> Record:
    """Leave a row out of the schedule."""
    return _edit(
        site,
        act,
        lambda detail, _ledger, standing: edits.without_row(detail, row_id, decided, standing),
    )


def restore_row(site: Site, row_id: str, **act: Unpack[Acting]) -> Record:
    """Have a row as its template says it, in place of the site's own or of none."""
    return _edit(
        site, act, lambda detail, _ledger, standing: edits.as_template(detail, row_id, standing)
    )


def choose_templates(site: Site, taken: Sequence[Taken], **act: Unpack[Acting]) -> Record:
    """Other templates for the draft, or other versions of them; see ``preview`` for what that
    changes."""
    return _edit(site, act, lambda detail, _ledger, _: edits.with_templates(detail, taken))


def move_template(site: Site, rule_set: str, version: int, **act: Unpack[Acting]) -> Record:
    """Another version of one template of the draft."""
    return _edit(
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
    return _edit(
        site, act, lambda detail, _ledger, _: own_kinds.with_kind(detail, name, title, subject)
    )


def drop_kind(site: Site, name: str, **act: Unpack[Acting]) -> Record:
    """Take back a kind of the site's own that no row uses."""
    return _edit(site, act, lambda detail, _ledger, _: own_kinds.without_kind(detail, name))


def discard_draft(site: Site, **act: Unpack[Acting]) -> Record:
    """Give the draft up; what is in force stays."""
    return _edit(site, act, lambda detail, _ledger, _: {**detail, "discarded": True})


def adopt(site: Site, adoption: Adoption, **act: Unpack[Acting]) -> Record:
    """Put the draft into force, every row of which was gone through."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), SCHEDULE_KIND):
            return done
        detail = _open_draft(site).detail
        edits.check_whole(detail)
        _check_gone_through(detail)
        _check_days(adoption, ledger.today)
        replaces = _takes_place_of(versions(site), adoption, ledger.today)
        looser = edits.looser_without_reason(detail, _standing(site))
        if looser and not adoption.decided.complete:
            _refuse_looser(looser, adoption.decided)
        said = {
            "loosened": {"rows": looser, **adoption.decided.text()} if looser else None,
            "adopted_on": adoption.adopted_on,
            "adopted_by": adoption.adopted_by.strip(),
            "review_on": adoption.review_on,
            "from_on": adoption.from_on,
            "note": adoption.note.strip() or detail.get("note", ""),
        }
        on = min(adoption.from_on, ledger.today)
        return _append(
            *(ledger, SCHEDULE_KIND, on, {**detail, **said}, act),
            reason=adoption.because.strip(),
            replaces=replaces,
        )


def _check_gone_through(detail: Detail) -> None:
    rows = left(detail)
    if rows:
        names = ", ".join(row.id for row in rows[:NAMED])
        raise DomainError("rows_not_gone_through", {"n": len(rows), "text": names})


def _refuse_looser(rows: Sequence[str], decided: Decided) -> None:
    """The rows are named; the first thing that is missing gets the refusal."""
    try:
        decided.require()
    except DomainError as error:
        values: dict[str, Scalar] = {"n": len(rows), "text": ", ".join(rows[:NAMED])}
        raise DomainError("adoption_loosens", values, field=error.field) from error


def _check_days(adoption: Adoption, today: date) -> None:
    if not adoption.adopted_by.strip():
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


def _who(ledger: Ledger, who: str) -> Reviewer:
    return Reviewer(who.strip() or ledger.by.name, ledger.today)


def _open_draft(site: Site) -> Version:
    draft = draft_of(site)
    if draft is None:
        raise DomainError("no_draft")
    return draft


def _standing(site: Site) -> RuleSet | None:
    """The rules that were adopted last: what is looser than they are needs a reason."""
    adopted = [one for one in versions(site) if one.adopted]
    return adopted[-1].rules if adopted else None


def looser_than_adopted(site: Site, draft: Version) -> list[str]:
    """Rows of a draft for which its adoption must say why they are looser."""
    return edits.looser_without_reason(draft.detail, _standing(site))


Edit = Callable[[Detail, Ledger, RuleSet | None], Detail]


def _edit(site: Site, act: Acting, edit: Edit) -> Record:
    """Write the draft as an edit leaves it; what the edit decides on is read inside."""
    with deciding(site, act) as ledger:
        if done := ledger.already(act.get("request_key"), DRAFT_KIND):
            return done
        detail = edit(_open_draft(site).detail, ledger, _standing(site))
        return _append(ledger, DRAFT_KIND, ledger.today, detail, act)


def _append(
    ledger: Ledger, kind: str, on: date, detail: Detail, act: Acting, **more: Any
) -> Record:
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
