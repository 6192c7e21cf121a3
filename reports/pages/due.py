"""What needs doing: the sentence of the site, then the list, most urgent first."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import ngettext

from config.accounts.models import Role
from config.permissions import ENTER
from inventory.calc import due
from inventory.requirements.headlines import Headline, headlines
from reports.pages.due_filter import Chosen, chosen, showing
from reports.pages.due_lines import grouped, places, work_lines
from reports.pages.for_manager import overview
from reports.pages.movements import late_text

PAGE = 30
#: Who does the work here; whoever is only a manager sees first what a manager asks for.
WORKERS = frozenset({Role.RPS, Role.TECHNICIAN, Role.INSPECTOR})


def page(request: Any, site: str) -> HttpResponse:
    """The list of a site on a day, narrowed down as the address says."""
    asked = chosen(request)
    spans = asked.spans()
    key = request.site.pk
    said = headlines({key: asked.on}, {key: asked.schedules})[key]
    words = list(asked.words())
    pages = Paginator(spans, PAGE)
    if asked.whole:  # the sentence has counted them already
        pages.count = sum(said.counts.values())
    shown = pages.get_page(request.GET.get("page"))
    rows, count = list(shown), pages.count
    total = asked.everything().order_by().count() if words else count
    work = work_lines(request, rows, asked.on, asked.query)
    manager = not request.roles & WORKERS
    context = {
        "on": asked.on,
        "form_on": asked.form,
        "headline": said.sentence,
        "freshness": said.freshness,
        "expected": late_text(request.site, asked.on),
        "showing": showing(count, total, words),
        "hidden": _hidden(asked, said) if words else "",
        "narrowed": bool(words),
        "groups": grouped(work, asked.group),
        "page": shown,
        "query": asked.query,
        "may_book": bool(request.roles & ENTER) and any(line["tick"] for line in work),
        "manager": overview(request, said, asked.on) if manager else None,
    }
    return render(request, "pages/due.html", context)


def _hidden(asked: Chosen, said: Headline) -> str:
    """What failed or is late stays said, however the list is narrowed down."""
    urgent = asked.spans().filter(state_on=due.FAILED).order_by().count()
    hidden = said.counts.get(due.FAILED, 0) - urgent
    if hidden <= 0:
        return ""
    return ngettext(
        "Not shown here: %(n)s that failed and is out of use.",
        "Not shown here: %(n)s that failed and are out of use.",
        hidden,
    ) % {"n": hidden}


__all__ = ["page", "places"]
