"""The rule sets that a schedule is made of: chosen first, changed in the draft, with a look at what
that changes."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.ledger.models import Record
from inventory.schedule import actions, edits
from inventory.schedule.forms import OnForm, RuleSetsForm
from inventory.schedule.sentences import SENTENCES
from inventory.schedule.versions import Version, draft_of, in_force, versions
from inventory.schedule.view_acts import act, saved
from inventory.schedule.views import changes, effects_of
from inventory.sentences import error_text


def rule_sets(request: Any, site: str) -> HttpResponse:
    """The rule sets of the first schedule, or of the draft: a look at what they change first."""
    found, draft = versions(request.site), draft_of(request.site)
    if found and draft is None:
        return redirect("schedule-draft", site)
    used = edits.taken_of(draft.detail) if draft else []
    start = RuleSetsForm.start_from(used) if used else {"on": request.today}
    first = not found
    if request.method != "POST":
        form = RuleSetsForm(initial=RuleSetsForm.fresh(request, **start), used=used, first=first)
        return _rule_sets(request, form, draft)
    form = RuleSetsForm(request.POST, used=used, first=first)
    if not form.is_valid():
        return _rule_sets(request, form, draft)
    if request.POST.get("do") == "preview" and draft:
        return _rule_sets(request, form, draft, _preview(request, form, draft))
    if saved(form, partial(_take, request, form, draft)):
        messages.success(request, _("Recorded."))
        return redirect("schedule-draft" if draft else "schedule", site)
    return _rule_sets(request, form, draft)


def _take(request: Any, form: RuleSetsForm, draft: Version | None) -> Record:
    if draft:
        return actions.choose_templates(request.site, form.taken(), **act(request, form))
    on = form.cleaned_data["on"]
    return actions.begin(request.site, form.taken(), on, **act(request, form))


def _preview(request: Any, form: RuleSetsForm, draft: Version) -> dict[str, Any] | None:
    """What the chosen rule sets change: rows of the draft, and things on the site."""
    try:
        detail = edits.with_templates(draft.detail, form.taken())
    except DomainError as error:
        form.add_error(None, error_text(error, SENTENCES))
        return None
    asked = OnForm(request.POST)
    on = (asked.cleaned_data.get("on") if asked.is_valid() else None) or request.today
    rules = edits.check_whole(detail)
    return {
        **changes(request, draft.rules, rules),
        **effects_of(request, detail, rules, on),
        "iso": on.isoformat(),
        "again": len([1 for row in rules.rows if row.id not in detail["reviewed"]]),
    }


def _rule_sets(
    request: Any, form: RuleSetsForm, draft: Version | None, preview: Any = None
) -> HttpResponse:
    now = in_force(versions(request.site), request.today)
    context = {
        "form": form,
        "draft": draft,
        "preview": preview,
        "now": now,
        "on_form": OnForm(initial={"on": preview["iso"] if preview else request.today}),
    }
    return render(request, "schedule/rule_sets.html", context)
