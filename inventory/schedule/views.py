"""The site's schedule to be read: in force, coming, earlier; beside its rule sets; its effects."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import DECIDE
from inventory.access import schedule_text
from inventory.ledger.models import Item
from inventory.rules.differences import UNCHANGED, altered, differences
from inventory.rules.schema import RuleSet
from inventory.schedule import other_parts
from inventory.schedule.forms import OnForm
from inventory.schedule.models import Setting
from inventory.schedule.preview import preview
from inventory.schedule.showing import (
    MOST_EFFECTS,
    by_requirement,
    effects_text,
    loosened_text,
    not_said,
    progress_text,
    removed_text,
    shown_difference,
    shown_effects,
    undecided,
)
from inventory.schedule.versions import Version, coming, draft_of, in_force, versions
from inventory.schedule.wording import by_decay
from inventory.sentences import day_text

#: So many things with settings of their own are named.
MOST_THINGS = 50


def page(request: Any, site: str) -> HttpResponse:
    """The schedule in force, or the one of ``?record=``."""
    found = versions(request.site)
    shown = _chosen(request, found)
    draft = draft_of(request.site)
    if shown is None:
        return render(request, "schedule/none.html", {"draft": draft})
    rules = shown.rules
    marks = shown.detail.get("reviewed") or {}
    context = {
        **_head(request, shown, found),
        "requirements": by_requirement(
            rules, marks if shown.adopted else None, differences(rules, shown.base)
        ),
        "not_said": not_said(rules),
        "undecided": undecided(rules),
        "parts": other_parts.sections(rules),
        "names": other_parts.names(rules),
        "by_decay": by_decay(rules),
        "versions": [_listed(request, one, shown) for one in reversed(found)],
        "draft": _draft(site, draft),
        "things": _with_settings(request),
        "differ": len(altered(rules, shown.base)),
    }
    return render(request, "schedule/page.html", context)


def _chosen(request: Any, found: Sequence[Version]) -> Version | None:
    """The schedule that the address names, else the one in force today."""
    wanted = request.GET.get("record", "")
    if not wanted:
        return in_force(found, request.today)
    one = next((one for one in found if str(one.seq) == wanted), None)
    if one is None:
        raise Http404
    return one


def _head(request: Any, shown: Version, found: Sequence[Version]) -> dict[str, Any]:
    """What it is, since when, until when it is to be looked at again."""
    on, now = request.today, in_force(found, request.today)
    review = shown.review_on
    ahead = [one for one in coming(found, on) if one is not shown]
    return {
        "lead": schedule_text(shown.schedule),
        "since": _("In force from %(on)s.") % {"on": day_text(shown.from_on)},
        "note": shown.detail.get("note", ""),
        "loosened": loosened_text(shown.detail),
        "adopted": shown.adopted,
        "is_now": shown is now,
        "review": _("To be looked at again by %(on)s.") % {"on": day_text(review)}
        if review
        else "",
        "review_late": review is not None and review < on,
        "record_url": reverse("record", args=[request.site.slug, shown.seq]),
        "ahead": [_listed(request, one, shown) for one in ahead],
        "may_decide": bool(request.roles & DECIDE),
        "query": "" if shown is now else f"?record={shown.seq}",
    }


def _listed(request: Any, one: Version, shown: Version) -> dict[str, Any]:
    return {
        "text": schedule_text(one.schedule),
        "from": day_text(one.from_on),
        "recorded": day_text(request.site.day(one.record.recorded_at)),
        "by": one.record.recorded_by.name,
        "because": one.record.reason,
        "shown": one is shown,
        "url": reverse("schedule", args=[request.site.slug]) + f"?record={one.seq}",
    }


def _draft(site: str, draft: Version | None) -> dict[str, Any] | None:
    if draft is None:
        return None
    return {
        "progress": progress_text(len(draft.rows_left), len(draft.rules.rows)),
        "url": reverse("schedule-draft", args=[site]),
    }


def _with_settings(request: Any) -> list[tuple[str, str]]:
    """Things that have settings of their own."""
    records = Setting.objects.filter(record__site=request.site).values("record")
    items = Item.objects.filter(mentions__record__in=records).distinct().order_by("label_sort")
    return [
        (item.label, reverse("settings", args=[request.site.slug, item.code]))
        for item in items[:MOST_THINGS]
    ]


def beside(request: Any, site: str) -> HttpResponse:
    """What the schedule says otherwise than the rule sets that it is made of."""
    found = versions(request.site)
    draft = draft_of(request.site) if request.GET.get("of") == "draft" else None
    shown = draft or _chosen(request, found)
    if shown is None:
        raise Http404
    rules, base = shown.rules, shown.base
    every = differences(rules, base)
    context = {
        "lead": _("The draft") if draft else schedule_text(shown.schedule),
        "differences": [
            shown_difference(one, rules, base) | {"why": removed_text(shown.detail, one.row_id)}
            for one in every
            if one.kind != UNCHANGED
        ],
        "same": sum(one.kind == UNCHANGED for one in every),
        "back": reverse("schedule-draft" if draft else "schedule", args=[site]),
    }
    return render(request, "schedule/differences.html", context)


def effects(request: Any, site: str) -> HttpResponse:
    """What the draft, or the schedule to come, changes for everything on the site on a day."""
    found = versions(request.site)
    draft = draft_of(request.site)
    ahead = coming(found, request.today)
    after = draft or (ahead[0] if ahead else None)
    now = in_force(found, request.today)
    if after is None or now is None:
        raise Http404
    form = OnForm(request.GET)
    on = (form.cleaned_data.get("on") if form.is_valid() else None) or request.today
    context = {
        **changes(request, now.rules, after.rules),
        **effects_context(request, after, on),
        "form": OnForm(initial={"on": on}),
        "of": _("What the draft would change") if draft else schedule_text(after.schedule),
        "back": reverse("schedule-draft" if draft else "schedule", args=[site]),
    }
    return render(request, "schedule/effects.html", context)


def changes(request: Any, now: RuleSet, after: RuleSet) -> dict[str, Any]:
    """The rows that a schedule says otherwise than the one in force."""
    return {"rows": [shown_difference(one, after, now) for one in altered(after, now)]}


def effects_context(request: Any, after: Version, on: Any) -> dict[str, Any]:
    """Which requirements of which things get another state or day."""
    return effects_of(request, after.detail, after.rules, on)


def effects_of(request: Any, detail: Any, rules: RuleSet, on: Any) -> dict[str, Any]:
    """The same of a schedule that nobody has written yet."""
    found = preview(request.site, detail, on)
    return {
        "on": day_text(on),
        "said": effects_text(found),
        "effects": shown_effects(request.site.slug, found, rules, on),
        "not_shown": max(0, len(found) - MOST_EFFECTS),
    }
