"""What decay proposes for one thing, and what another country's rules would ask of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import due
from inventory.calc.explain import Explained
from inventory.followups.views import already_sent
from inventory.ledger.models import Item, Record
from inventory.pages import WritingForm
from inventory.rules.load import RuleFault, template, templates
from inventory.rules.schema import Row, RuleSet
from inventory.schedule.condition_words import conditions
from inventory.schedule.confirming import confirm_change
from inventory.schedule.edits import row_of
from inventory.schedule.forms import ConfirmForm, WithForm
from inventory.schedule.preview import explained, known_under
from inventory.schedule.showing import said, state
from inventory.schedule.spoken import title_of
from inventory.schedule.view_acts import act, asked_of, rules_on, saved
from inventory.schedule.wording import on_whose_word, row_sentence
from inventory.sentences import day_text, lines


def confirm(request: Any, site: str, code: str, requirement: str) -> HttpResponse:
    """Confirm what decay has changed for a requirement of a thing."""
    item = asked_of(request, code)
    if already_sent(request):  # nothing is proposed any more, by this very form
        return redirect("item", site, item.code)
    on = request.today
    known = knowledge.load([item.pk])[item.pk]
    if requirement not in knowledge.requirements_for(known):
        raise Http404
    explained = knowledge.decide_on(known, requirement, on)
    if not explained.value.proposed:
        raise Http404
    form = ConfirmForm(initial=ConfirmForm.fresh(request, on=on))
    if request.method == "POST":
        form = ConfirmForm(request.POST)
        if form.is_valid() and saved(form, partial(_confirm, request, form, item, requirement)):
            messages.success(request, _("The change is confirmed."))
            return redirect("item", site, item.code)
    context = {
        "form": form,
        "item": item,
        "now": _decided(explained, on),
        **_proposed(request, explained.value.proposed, requirement),
    }
    return render(request, "schedule/confirm.html", context)


def _proposed(request: Any, row_id: str, requirement: str) -> dict[str, str]:
    """The row that would decide, in words."""
    rules = rules_on(request, request.today)
    row = row_of(rules, row_id)
    return {
        "title": title_of(requirement, rules),
        "sentence": row_sentence(row, rules.tables) if row and rules else row_id,
        "because": conditions(row.when, rules.tables) if row and rules else "",
        "word": on_whose_word(row) if row else "",
    }


def _confirm(request: Any, form: WritingForm, item: Item, requirement: str) -> Record:
    data = form.cleaned_data
    return confirm_change(
        item, requirement, on=data["on"], reason=data["reason"], **act(request, form)
    )


def _decided(
    explained: Explained[Any] | None,
    on: date,
    rules: RuleSet | None = None,
    own: Mapping[str, Row] | None = None,
) -> dict[str, Any]:
    """What a requirement says, for a page: sentence, mark, the row that decides, steps. ``own``:
    rows for the thing alone."""
    decision = explained.value if explained else None
    shown = state(decision, on)
    due_on = decision.due_on if decision and shown != due.GOOD else None
    row_id = decision.row if decision else ""
    row = (own or {}).get(row_id) or row_of(rules, row_id)
    return {
        "sentence": said(decision, on),
        "state": shown,
        "due": day_text(due_on) if due_on else "",
        "row": row_sentence(row, rules.tables if rules else None) if row else "",
        "word": on_whose_word(row) if row else "",
        "lines": list(lines(explained.steps)) if explained else [],
    }


def compare(request: Any, site: str, code: str) -> HttpResponse:
    """What another rule set would ask of a thing: the same facts, decided under both."""
    item = asked_of(request, code)
    form = WithForm(request.GET)
    on = (form.cleaned_data.get("on") if form.is_valid() else None) or request.today
    other = _other(request, on)
    known = knowledge.load([item.pk], companions=True)[item.pk]
    here = explained(known, on)
    there = explained(known_under(known, other), on)
    rules, own = rules_on(request, on), _own_rows(known)
    context = {
        "item": item,
        "form": WithForm(initial={"with": f"{other.id}-{other.version}", "on": on}),
        "on": day_text(on),
        "here": rules.name if rules else _("No schedule"),
        "there": other.name,
        "note": other.note,
        "rows": [
            {
                "title": title_of(name, rules),
                "here": _decided(here.get(name), on, rules, own),
                "there": _decided(there.get(name), on, other, own),
                "same": _seen(here.get(name), on) == _seen(there.get(name), on),
            }
            for name in dict.fromkeys((*here, *there))
        ],
        "settings": bool(own),
    }
    return render(request, "schedule/compare.html", context)


def _own_rows(known: knowledge.Known) -> dict[str, Row]:
    """The rows for a thing alone, those of gauges that it was in included."""
    every = [*known.settings, *(one for held in known.holders.values() for one in held.settings)]
    return {one.row.id: one.row for one in every}


def _other(request: Any, on: date) -> RuleSet:
    """The rule set of ``?with=ca-1``; without one the first that the schedule is not made of."""
    wanted = request.GET.get("with", "")
    if wanted:
        rule_set_id, _dash, version = wanted.rpartition("-")
        try:
            return template(rule_set_id, int(version))
        except (RuleFault, ValueError) as fault:
            raise Http404 from fault
    now = rules_on(request, on)
    others = [one for one in templates() if now is None or one.id != now.id]
    return (others or templates())[0]


def _seen(explained: Explained[Any] | None, on: date) -> tuple[str, Any]:
    decision = explained.value if explained else None
    return said(decision, on), decision.due_on if decision else None
