"""Ahead: the coming year month by month, planned shutdowns, gaps in monitor cover, ten years."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from config.permissions import ENTER
from inventory.calc import ahead
from inventory.requirements.headlines import headlines
from inventory.sentences import day_text
from reports.ahead import notes, other_words, stop_words, words
from reports.ahead.asked import asked_for, query_of
from reports.ahead.document import build
from reports.ahead.drawn import Drawn
from reports.ahead.read import look_ahead
from reports.registers.views import TYPES
from reports.registers.write import ENDINGS, content_of


def page(request: Any, site: str) -> HttpResponse:
    """What lies ahead of a site, narrowed down as the address says."""
    asked, form = asked_for(request)
    found = look_ahead(asked)
    said = headlines({request.site.pk: asked.on})[request.site.pk]
    draw = Drawn(request, found)
    context = {
        "form_on": form,
        "freshness": words.freshness(said),
        "downloads": [] if form.errors else _files(site, query_of(request)),
        "months": [draw.month(month) for month in words.together(found.months)],
        "stops": [draw.stop(stop) for stop in found.stops],
        "notes": notes,
        "beyond": stop_words.beyond_text(asked.months),
        "plan_url": _plan_url(request, asked.place_code),
        "cover": [draw.cover(one) for one in found.cover],
        "cover_until": day_text(found.end - ahead.ONE_DAY),
        "years": [draw.year(year) for year in found.years.years],
        "unknown": other_words.unknown_text(found.years.unknown),
    }
    return render(request, "pages/ahead.html", context)


def file(request: Any, site: str, ending: str) -> HttpResponse:
    """The same as a file."""
    suffix = f".{ending}"
    if suffix not in ENDINGS:
        raise Http404
    asked, form = asked_for(request)
    if form.errors:  # a file of something else than was asked for
        said = [str(error) for errors in form.errors.values() for error in errors]
        return HttpResponseBadRequest(" ".join(said), content_type="text/plain; charset=utf-8")
    with transaction.atomic():
        made = build(asked, made_by=request.user, made_at=request.now)
    paper = "Letter" if request.GET.get("paper", "").lower() == "letter" else "A4"
    return HttpResponse(
        content_of(made, suffix, paper),
        content_type=TYPES[suffix],
        headers={"Content-Disposition": f'attachment; filename="{made.number}{suffix}"'},
    )


def _plan_url(request: Any, place: str) -> str:
    """Where a shutdown is planned, of the place that is shown; nothing for who may not."""
    if not request.roles & ENTER:
        return ""
    url = reverse("shutdown-new", args=[request.site.slug])
    return f"{url}?place={place}" if place else url


def _files(site: str, query: str) -> Iterator[tuple[str, str]]:
    """The same as files: what each is called, and its address."""
    for label, ending, more in (
        (_("PDF, A4"), "pdf", ""),
        (_("PDF, Letter"), "pdf", "paper=Letter"),
        (_("CSV"), "csv", ""),
        (_("XLSX"), "xlsx", ""),
    ):
        asked = "&".join(part for part in (query, more) if part)
        url = reverse("ahead-file", args=[site, ending])
        yield label, f"{url}?{asked}" if asked else url
