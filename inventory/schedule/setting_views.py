"""The settings of a thing on pages: what holds, a new one, one that is taken back."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import DECIDE
from inventory.followups.views import already_sent
from inventory.ledger.models import Item, Record
from inventory.rules.schema import REQUIREMENTS, RuleSet
from inventory.schedule.forms import EndForm, SettingForm, settable
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import (
    Standing,
    Wanted,
    make_setting,
    may_be_set,
    settings_of,
    take_back,
)
from inventory.schedule.spoken import title_of
from inventory.schedule.view_acts import act, asked_of, rules_on, saved
from inventory.schedule.wording import decided_text, on_whose_word, row_sentence, stands
from inventory.sentences import day_text


def settings(request: Any, site: str, code: str) -> HttpResponse:
    """The settings of a thing: what holds now, and what held."""
    item, rules = asked_of(request, code), rules_on(request, request.today)
    found = [_setting(request, item, one, rules) for one in reversed(settings_of(item))]
    context = {
        "item": item,
        "now": [one for one in found if one["holds"]],
        "before": [one for one in found if not one["holds"]],
        "may_decide": bool(request.roles & DECIDE),
        "any_settable": bool(_settable(item, rules)),
    }
    return render(request, "schedule/settings.html", context)


def _setting(request: Any, item: Item, one: Standing, rules: RuleSet | None) -> dict[str, Any]:
    row, detail, on = one.row, one.detail, request.today
    args = [request.site.slug, item.code, one.record.seq]
    holds = one.holds_on(on)
    return {
        "title": title_of(detail["requirement"], rules),
        "sentence": row_sentence(row, rules.tables if rules else None),
        "stands": stands(row),
        "word": on_whose_word(row),
        "note": row.note,
        "days": _days(one),
        "holds": holds,
        "why": decided_text(detail["because"], detail["decided_by"], _day(detail["decided_on"])),
        "recorded_by": one.record.recorded_by.name,
        "record_url": reverse("record", args=[request.site.slug, one.record.seq]),
        "end_url": reverse("setting-end", args=args) if holds and request.roles & DECIDE else "",
    }


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _days(one: Standing) -> str:
    if one.until_on is None:
        return _("from %(on)s") % {"on": day_text(one.from_on)}
    values = {"on": day_text(one.from_on), "until": day_text(one.until_on)}
    if one.until_on < one.from_on:
        return _("from %(on)s, taken back the same day") % values
    return _("from %(on)s to %(until)s") % values


def _settable(item: Item, rules: RuleSet | None) -> dict[str, str]:
    names = [*REQUIREMENTS, *(one.name for one in (rules.own_kinds if rules else ()))]
    return settable([name for name in names if may_be_set(item, name, rules)], rules)


def setting_new(request: Any, site: str, code: str) -> HttpResponse:
    """A setting for a thing."""
    item, rules = asked_of(request, code), rules_on(request, request.today)
    offered = _settable(item, rules)
    if not offered:
        raise Http404
    if request.method == "POST":
        form = SettingForm(offered, request.POST)
        if form.is_valid() and saved(form, partial(_make, request, form, item)):
            messages.success(request, _("The setting is recorded."))
            return redirect("settings", site, item.code)
    else:
        usual = {
            **{"result": "interval", "mode": "replaces", "authority": "label", "known_by": "own"},
            **{"lead_days": 30, "on": request.today},
            "requirement": request.GET.get("requirement", ""),
        }
        form = SettingForm(offered, initial=SettingForm.fresh(request, **usual))
    context = {
        "form": form,
        "item": item,
        "takes_along": item.kind == "gauge",
        "back": reverse("settings", args=[site, item.code]),
    }
    return render(request, "schedule/setting_form.html", context)


def _make(request: Any, form: SettingForm, item: Item) -> Record:
    data = form.cleaned_data
    wanted = Wanted(
        requirement=data["requirement"],
        data=form.table(),
        authority=data["authority"],
        on=data["on"],
        until_on=data["until_on"],
        decided=Decided(data["loosened_because"], data["decided_by"], data["decided_on"]),
        document=data["document"],
    )
    return make_setting(item, wanted, **act(request, form))


def setting_end(request: Any, site: str, code: str, seq: int) -> HttpResponse:
    """Take a setting back."""
    item = asked_of(request, code)
    if already_sent(request):  # it holds no more, by this very form
        return redirect("settings", site, item.code)
    one = next((one for one in settings_of(item) if one.record.seq == seq), None)
    if one is None or not one.holds_on(request.today):
        raise Http404
    form = EndForm(initial=EndForm.fresh(request, on=request.today))
    if request.method == "POST":
        form = EndForm(request.POST)
        if form.is_valid() and saved(form, partial(_end, request, form, item, one)):
            messages.success(request, _("The setting is taken back."))
            return redirect("settings", site, item.code)
    context = {
        "form": form,
        "item": item,
        "setting": _setting(request, item, one, rules_on(request, request.today)),
        "back": reverse("settings", args=[site, item.code]),
    }
    return render(request, "schedule/setting_end.html", context)


def _end(request: Any, form: EndForm, item: Item, one: Standing) -> Record:
    data = form.cleaned_data
    return take_back(
        *(item, one.detail["requirement"], one.detail["authority"]),
        **{"on": data["on"], "reason": data["reason"], **act(request, form)},
    )
