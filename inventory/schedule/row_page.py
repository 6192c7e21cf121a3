"""One row of the draft: gone through, and on to the next one that is left."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.rules.differences import Difference, altered, differences
from inventory.rules.schema import Row
from inventory.schedule import actions, edits
from inventory.schedule.forms import GoneThroughForm
from inventory.schedule.showing import progress_text, shown_difference, shown_row
from inventory.schedule.spoken import title_of
from inventory.schedule.versions import Version, versions
from inventory.schedule.view_acts import act, fresh, gone_through, open_draft, row_url, saved


def row(request: Any, site: str, row: str) -> HttpResponse:
    """One row of the draft: what it says, what differs, and the way to the next one."""
    draft = open_draft(request)
    rules = draft.rules
    one = edits.row_of(rules, row)
    if one is None:
        raise Http404
    form = GoneThroughForm(initial=fresh(request, draft))
    if request.method == "POST":
        restore = request.POST.get("do") == "restore"
        form = GoneThroughForm(request.POST)
        write = (
            (lambda: actions.restore_row(request.site, row, **act(request, form)))
            if restore
            else (lambda: gone_through(request, form, request.POST.getlist("row")))
        )
        if form.is_valid() and saved(form, write):
            return redirect(row_url(request, row)) if restore else _go_on(request, site, row)
        draft = open_draft(request)
        rules = draft.rules
        one = edits.row_of(rules, row) or one
    ids = [each.id for each in rules.rows]
    marks = draft.detail.get("reviewed") or {}
    context = {
        "form": form,
        "row": shown_row(one, rules, marks, _difference(draft, one)),
        "title": title_of(one.requirement, rules),
        "subject": rules.subject_of(one.requirement),
        "place": _("Row %(n)s of %(of)s") % {"n": ids.index(row) + 1, "of": len(ids)},
        "progress": progress_text(len(draft.rows_left), len(ids)),
        "differences": _differences(request, draft, one),
        "restorable": _restorable(draft, one),
        "skip_url": _next_url(request, draft, row),
    }
    return render(request, "schedule/row.html", context)


def _difference(draft: Version, one: Row) -> Difference | None:
    found = differences(draft.rules, draft.base)
    return next((each for each in found if each.row_id == one.id), None)


def _differences(request: Any, draft: Version, one: Row) -> list[dict[str, Any]]:
    """The row beside that of its rule set, and beside the one that was adopted."""
    out = []
    adopted = [each for each in versions(request.site) if each.adopted]
    against = [(_("Beside the rule set"), draft.base)]
    against += [(_("Beside the adopted schedule"), adopted[-1].rules)] if adopted else []
    for title, rules in against:
        found = [each for each in altered(draft.rules, rules) if each.row_id == one.id]
        out += [{"title": title, **shown_difference(each, draft.rules, rules)} for each in found]
    return out


def _restorable(draft: Version, one: Row) -> bool:
    """Whether the rule set has the row, and otherwise."""
    there = edits.row_of(draft.base, one.id)
    return there is not None and there != one


def _next_url(request: Any, draft: Version, row: str) -> str:
    """The next row that nobody has gone through, after this one and then from the beginning."""
    ids = [each.id for each in draft.rules.rows]
    left = {each.id for each in draft.rows_left}
    place = ids.index(row)
    after = [each for each in (*ids[place + 1 :], *ids[:place]) if each in left]
    return row_url(request, after[0]) if after else ""


def _go_on(request: Any, site: str, row: str) -> HttpResponse:
    url = _next_url(request, open_draft(request), row)
    if url:
        return redirect(url)
    messages.success(request, _("Every row has been gone through: the schedule can be adopted."))
    return redirect("schedule-draft", site)
