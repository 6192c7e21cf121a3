"""What needs doing: the sentence per site, then the list, most urgent first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import ENTER
from inventory import knowledge
from inventory.calc import due
from inventory.ledger.models import Item
from inventory.requirements.headlines import headlines
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.sentences import day_text, lines, value_text
from inventory.timeline import RequirementSpan, Stay
from reports.forms import as_of

PAGE = 50


def page(request: Any, site: str) -> HttpResponse:
    """The list of a site on a day."""
    at, form = as_of(request)
    spans = RequirementSpan.objects.needs_doing(at.on).filter(site=request.site)
    shown = Paginator(spans.select_related("item"), PAGE).get_page(request.GET.get("page"))
    known = knowledge.load([span.item_id for span in shown])
    where = places([span.item_id for span in shown], at.on)
    work = [_line(request, span, known[span.item_id], where, at.on) for span in shown]
    said = headlines({request.site.pk: at.on})[request.site.pk]
    context = {
        "on": at.on,
        "form_on": form,
        "headline": said.sentence,
        "freshness": said.freshness,
        "groups": _groups(work),
        "page": shown,
        "query": urlencode({"on": at.on.isoformat()}),
    }
    return render(request, "pages/due.html", context)


def _line(
    request: Any, span: RequirementSpan, known: knowledge.Known, where: dict[int, str], on: date
) -> dict[str, Any]:
    said = knowledge.decide_on(known, span.requirement, on)
    state = said.value.state_on(on)
    item = span.item
    label, url = _next_action(request, item, span.requirement, state)
    return {
        "subject": item.label,
        "code": item.code,
        "url": reverse("item", args=[request.site.slug, item.code]),
        "requirement": value_text("requirement", span.requirement),
        "where": where.get(item.pk, ""),
        "sentence": state_sentence(said.value, on),
        "since": _since(said.value, state),
        "explain": list(lines(said.steps)),
        "action_label": label,
        "action_url": url,
        "state": state,
    }


def _since(decision: due.Decision, state: str) -> str:
    if decision.due_on is None:
        return ""
    values = {"on": day_text(decision.due_on)}
    if state == due.LATE:
        return _("was due on %(on)s") % values
    return _("due on %(on)s") % values


def _next_action(request: Any, item: Item, requirement: str, state: str) -> tuple[str, str]:
    """The one next step that this person can take here."""
    if state == due.FAILED:
        return _("See the follow-up"), reverse("item", args=[request.site.slug, item.code])
    wiping = state in (due.LATE, due.NEVER_DONE, due.AWAITED, due.DUE_SOON)
    if requirement == LEAK_TEST and wiping and request.roles & ENTER:
        url = reverse("wipe-new", args=[request.site.slug])
        return _("Record a wipe"), f"{url}?source={item.code}"
    return "", ""


def _groups(work: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [
        {"state": state, "title": value_text("state", state), "lines": list(found)}
        for state, found in groupby(work, key=lambda line: line["state"])
    ]


def places(items: Sequence[int], on: date) -> dict[int, str]:
    """Where items are on a day, in words: gauge, location."""
    found = Stay.objects.on(on).filter(item__in=items).select_related("gauge", "location")
    return {
        stay.item_id: ", ".join(str(place) for place in (stay.gauge, stay.location) if place)
        for stay in found
    }
