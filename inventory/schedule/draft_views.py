"""The draft of a schedule on pages: begin, open, go through it row by row, adopt."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.ledger.models import Record
from inventory.pages import WritingForm
from inventory.rules.differences import altered, differences
from inventory.rules.schema import NOT_DECIDED
from inventory.schedule import actions, edits, other_parts
from inventory.schedule.forms import AdoptForm, GoneThroughForm, KindForm
from inventory.schedule.pieces import Decided
from inventory.schedule.row_form import DECIDED
from inventory.schedule.showing import (
    by_requirement,
    progress_text,
    removed_text,
    shown_row,
)
from inventory.schedule.versions import Version, draft_of, versions
from inventory.schedule.view_acts import act, fresh, gone_through, open_draft, row_url, saved


def page(request: Any, site: str) -> HttpResponse:
    """The draft: how far it is, and its rows. A button opens one, discards it, or says that rows
    were gone through."""
    if request.method == "POST":
        return _do(request, site)
    draft = draft_of(request.site)
    if draft is None:
        form = WritingForm(initial=WritingForm.fresh(request))
        any_there = bool(versions(request.site))
        return render(request, "schedule/open.html", {"form": form, "there": any_there})
    return _show(request, draft, GoneThroughForm(initial=fresh(request, draft)))


def _show(request: Any, draft: Version, form: WritingForm) -> HttpResponse:
    rules, left = draft.rules, draft.rows_left
    marks = draft.detail.get("reviewed") or {}
    context = {
        "form": form,
        "title": rules.name,
        "progress": progress_text(len(left), len(rules.rows)),
        "done": not left,
        "next_url": row_url(request, left[0]) if left else "",
        "requirements": by_requirement(rules, marks, differences(rules, draft.base)),
        "own_kinds": [
            {"name": one.name, "title": one.title, "used": bool(rules.rows_for(one.name))}
            for one in rules.own_kinds
        ],
        "removed": [
            shown_row(row, draft.base) | {"why": removed_text(draft.detail, row.id)}
            for row in draft.base.rows
            if not edits.row_of(rules, row.id)
        ],
        "differ": len(altered(rules, draft.base)),
    }
    return render(request, "schedule/draft.html", context)


def _do(request: Any, site: str) -> HttpResponse:
    """What a button of the draft's page asks for."""
    do = request.POST.get("do", "")
    form = GoneThroughForm(request.POST) if do == "review" else WritingForm(request.POST)
    writes: dict[str, Callable[[], Record]] = {
        "open": lambda: actions.draft_schedule(request.site, **act(request, form)),
        "again": lambda: actions.draft_schedule(request.site, again=True, **act(request, form)),
        "discard": lambda: actions.discard_draft(request.site, **act(request, form)),
        "drop": lambda: actions.drop_kind(
            request.site, request.POST.get("kind", ""), **act(request, form)
        ),
        "restore": lambda: actions.restore_row(
            request.site, request.POST.get("restored", ""), **act(request, form)
        ),
        "review": lambda: gone_through(request, form, request.POST.getlist("row")),
    }
    if do not in writes:
        raise Http404
    if form.is_valid() and saved(form, writes[do]):
        messages.success(request, _said(do))
        return redirect("schedule" if do == "discard" else "schedule-draft", site)
    draft = draft_of(request.site)
    if draft is None:
        context = {"form": form, "there": bool(versions(request.site))}
        return render(request, "schedule/open.html", context)
    return _show(request, draft, form)


def _said(do: str) -> str:
    return {
        "open": _("A draft is open. What is in force stays in force."),
        "again": _("A draft is open, every row of which is to be gone through again."),
        "discard": _("The draft is discarded. What is in force stays in force."),
        "drop": _("The requirement is taken back."),
        "restore": _("The row is back as its rule set has it."),
        "review": _("Recorded."),
    }[do]


def kind_new(request: Any, site: str) -> HttpResponse:
    """A requirement of the site's own."""
    open_draft(request)
    form = KindForm(initial=KindForm.fresh(request))
    if request.method == "POST":
        form = KindForm(request.POST)
        if form.is_valid() and saved(form, partial(_kind, request, form)):
            messages.success(request, _("Recorded. Add a row that says what is asked."))
            return redirect(reverse("schedule-row-new", args=[site]) + f"?requirement={form.name}")
    return render(request, "schedule/kind.html", {"form": form})


def _kind(request: Any, form: KindForm) -> Record:
    data = form.cleaned_data
    return actions.define_kind(
        request.site,
        form.name,
        title=data["title"],
        subject=data["subject"],
        **act(request, form),
    )


def adopt(request: Any, site: str) -> HttpResponse:
    """Adopt the draft, with day, name and day of the next review."""
    draft = draft_of(request.site)
    looser = actions.looser_than_adopted(request.site, draft) if draft else []
    if request.method == "POST":
        form = AdoptForm(request.POST, looser=bool(looser))
        if form.is_valid() and saved(form, partial(_adopt, request, form)):
            messages.success(request, _("The schedule is adopted."))
            return redirect("schedule", site)
    else:
        first = {"adopted_on": request.today, "from_on": request.today}
        form = AdoptForm(initial=AdoptForm.fresh(request, **first), looser=bool(looser))
    if draft is None:
        raise Http404
    left = draft.rows_left
    context = {
        "form": form,
        "title": draft.rules.name,
        "looser": [
            (row_id, row_url(request, row_id) if edits.row_of(draft.rules, row_id) else "")
            for row_id in looser
        ],
        "left": progress_text(len(left), len(draft.rules.rows)) if left else "",
        "undecided": [
            (row.id, row_url(request, row.id))
            for row in draft.rules.rows
            if row.result == NOT_DECIDED
        ],
        "parts": other_parts.sections(draft.rules),
    }
    return render(request, "schedule/adopt.html", context)


def _adopt(request: Any, form: AdoptForm) -> Record:
    names = ("from_on", "adopted_on", "adopted_by", "review_on", "because", "note", "parts_too")
    data = form.cleaned_data
    given = {name: data.get(name) for name in DECIDED}
    decided = Decided(
        given["loosened_because"] or "", given["decided_by"] or "", given["decided_on"]
    )
    adoption = actions.Adoption(**{name: data[name] for name in names}, decided=decided)
    return actions.adopt(request.site, adoption, **act(request, form))
