"""What the pages of the draft share: the act of a form, the draft that is open."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django.http import Http404
from django.urls import reverse

from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, Record
from inventory.pages import WritingForm, item_of
from inventory.rules.schema import Row, RuleSet
from inventory.schedule import actions, edits
from inventory.schedule.forms import GoneThroughForm
from inventory.schedule.preview import KINDS
from inventory.schedule.sentences import SENTENCES
from inventory.schedule.showing import digest
from inventory.schedule.versions import Version, draft_of, in_force, versions


def act(request: Any, form: WritingForm, *, seen: bool = True) -> dict[str, Any]:
    """Who writes, when, and what the form knew of."""
    data = form.cleaned_data
    known = {"seen": data["seen"]} if seen else {}
    return {
        "by": request.user,
        "at": request.now,
        "request_key": data["request_key"],
        **known,
    }


def saved(form: WritingForm, write: Callable[[], Record]) -> Record | None:
    """Write; what is refused is said in the form."""
    return form.save_with(write, SENTENCES)


def open_draft(request: Any) -> Version:
    """The draft that is open; without one there is no such page."""
    draft = draft_of(request.site)
    if draft is None:
        raise Http404
    return draft


def row_url(request: Any, row: Row | str, name: str = "schedule-row") -> str:
    """The page of a row of the draft."""
    row_id = row if isinstance(row, str) else row.id
    return reverse(name, args=[request.site.slug, row_id])


def fresh(request: Any, draft: Version) -> dict[str, Any]:
    return GoneThroughForm.fresh(request, who=last_reviewer(request, draft))


def last_reviewer(request: Any, draft: Version) -> str:
    """Who went through the last row: most likely whoever goes on."""
    marks = list((draft.detail.get("reviewed") or {}).values())
    today = request.today.isoformat()
    names = [mark["by"] for mark in marks if mark["on"] == today]
    return names[-1] if names else request.user.name


def gone_through(request: Any, form: WritingForm, sent: list[str]) -> Record:
    """Rows gone through, each sent as ``id|digest`` of what was shown. Two people may go through
    different rows at a time, so nobody is told of what the other did."""
    draft = draft_of(request.site)
    rows: dict[str, Row | None] = {}
    for text in sent:
        row_id, _bar, mark = text.rpartition("|")
        row = edits.row_of(draft.rules if draft else None, row_id)
        if row is None:
            raise DomainError("row_unknown", {"row": row_id})
        if digest(row) != mark:
            raise DomainError("row_changed_meanwhile", {"row": row_id})
        rows[row_id] = row
    who = form.cleaned_data.get("who", "")
    return actions.review_rows(request.site, rows, who=who, **act(request, form, seen=False))


def rules_on(request: Any, on: date) -> RuleSet | None:
    """The rules of the site on a day."""
    found = in_force(versions(request.site), on)
    return found.rules if found else None


def asked_of(request: Any, code: str) -> Item:
    """An item of which something can be required; another one has no such page."""
    item = item_of(request, code)
    if item.kind not in KINDS:
        raise Http404
    return item
