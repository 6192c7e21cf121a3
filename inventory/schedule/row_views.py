"""Rows of the draft that are written: changed, added, left out."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.followups.views import already_sent
from inventory.ledger.models import Record
from inventory.rules.schema import Row
from inventory.schedule import actions, edits
from inventory.schedule.pieces import Decided
from inventory.schedule.row_form import DecidedForm, RowForm
from inventory.schedule.showing import shown_row
from inventory.schedule.spoken import title_of
from inventory.schedule.view_acts import act, open_draft, saved


def change(request: Any, site: str, row: str) -> HttpResponse:
    """Change a row of the draft."""
    rules = open_draft(request).rules
    old = edits.row_of(rules, row)
    if old is None:
        raise Http404
    if request.method == "POST":
        form = RowForm(rules, request.POST, row=old)
        if form.is_valid() and saved(form, partial(_change, request, form)):
            messages.success(request, _("The row is changed, and counts as gone through."))
            return redirect("schedule-row", site, row)
    else:
        start = RowForm.fresh(request, **RowForm.start_from(old)) | _on_own_word(old)
        form = RowForm(rules, initial=start, row=old)
    context = {
        "form": form,
        "title": _("Change a row"),
        "requirement": title_of(old.requirement, rules),
        "row": shown_row(old, rules),
        "back": reverse("schedule-row", args=[site, row]),
    }
    return render(request, "schedule/row_form.html", context)


def _on_own_word(old: Row) -> dict[str, Any]:
    """A row that the site changes stands on its own word from then on, whatever clause it names:
    nobody has read the new one in the text of a regulator."""
    if old.authority != "template":
        return {"authority": old.authority}
    return {"authority": "site", "known_by": "own", "checked_on": None}


def _change(request: Any, form: RowForm) -> Record:
    return actions.change_row(request.site, form.data_of(), **act(request, form))


def new(request: Any, site: str) -> HttpResponse:
    """Add a row of the site's own."""
    rules = open_draft(request).rules
    if request.method == "POST":
        form = RowForm(rules, request.POST)
        if form.is_valid() and saved(form, partial(_add, request, form)):
            messages.success(request, _("The row is added, and counts as gone through."))
            return redirect("schedule-row", site, form.data_of()["id"])
    else:
        usual = {
            **{"result": "interval", "mode": "default", "authority": "site", "known_by": "own"},
            **{"lead_days": 30, "requirement": request.GET.get("requirement", "")},
        }
        form = RowForm(rules, initial=RowForm.fresh(request, **usual))
    context = {
        "form": form,
        "title": _("Add a row"),
        "back": reverse("schedule-draft", args=[site]),
    }
    return render(request, "schedule/row_form.html", context)


def _add(request: Any, form: RowForm) -> Record:
    return actions.add_row(request.site, form.data_of(), **act(request, form))


def remove(request: Any, site: str, row: str) -> HttpResponse:
    """Leave a row out of the draft."""
    if already_sent(request):  # it is gone, by this very form
        return redirect("schedule-draft", site)
    rules = open_draft(request).rules
    old = edits.row_of(rules, row)
    if old is None:
        raise Http404
    form = DecidedForm(initial=DecidedForm.fresh(request))
    if request.method == "POST":
        form = DecidedForm(request.POST)
        if form.is_valid() and saved(form, partial(_remove, request, form, row)):
            messages.success(request, _("The row is left out."))
            return redirect("schedule-draft", site)
    context = {
        "form": form,
        "requirement": title_of(old.requirement, rules),
        "row": shown_row(old, rules),
        "back": reverse("schedule-row", args=[site, row]),
    }
    return render(request, "schedule/remove.html", context)


def _remove(request: Any, form: DecidedForm, row: str) -> Record:
    data = form.cleaned_data
    decided = Decided(data["loosened_because"], data["decided_by"], data["decided_on"])
    return actions.remove_row(request.site, row, decided, **act(request, form))
