"""The addresses of pictures. Each carries a tag of everything that it rests on: while nobody has
recorded anything, a browser that has it is told so instead of being sent it again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from django.db.models import Q
from django.http import Http404, HttpResponse
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.translation import get_language

from inventory import knowledge
from inventory.ledger.models import Chain, ItemKind
from inventory.pages import item_of
from reports.charts.decay import decay_svg
from reports.charts.drawing import NARROW, WIDE, edition
from reports.charts.efficiency import efficiency_svg
from reports.charts.leak import leak_svg
from reports.forms import as_of
from reports.pages.decay_curve import curve_of
from reports.pages.efficiency_history import calibrations_of
from reports.pages.leak_history import history_of

DECAY, LEAK, EFFICIENCY = "decay", "leak", "efficiency"
Draw = Callable[[knowledge.Known, Any, bool], bytes | None]


def svg(request: Any, site: str, code: str, chart: str) -> HttpResponse:
    """A picture about an item on a day; ``narrow`` makes it for a phone."""
    item = item_of(request, code)
    kind, draw = CHARTS.get(chart, (None, None))
    if draw is None or item.kind != kind:
        raise Http404
    at, _form = as_of(request)
    narrow = "narrow" in request.GET
    tag = _tag(request, item.code, chart, at.on.isoformat(), str(narrow))
    known_already = get_conditional_response(request, etag=tag)
    if known_already is not None:
        return _with_tag(known_already, tag)
    picture = draw(knowledge.load([item.pk])[item.pk], at.on, narrow)
    if picture is None:
        raise Http404
    return _with_tag(HttpResponse(picture, content_type="image/svg+xml"), tag)


def _tag(request: Any, *parts: str) -> str:
    """The heads of the chains of the site and of the installation stand for all that is known."""
    heads = Chain.objects.filter(Q(site=request.site) | Q(site=None)).order_by("pk")
    rests_on = [edition(), *heads.values_list("head", flat=True), get_language() or ""]
    return f'"{hashlib.sha256("|".join([*rests_on, *parts]).encode()).hexdigest()[:32]}"'


def _with_tag(response: Any, tag: str) -> HttpResponse:
    response["ETag"] = tag
    response["Cache-Control"] = "private, no-cache"
    return response


def _decay(known: knowledge.Known, on: Any, narrow: bool) -> bytes | None:
    curve = curve_of(known, on)
    return decay_svg(curve, narrow=narrow) if curve else None


def _leak(known: knowledge.Known, on: Any, narrow: bool) -> bytes | None:
    history = history_of(known, on)
    return leak_svg(history, narrow=narrow) if history.drawn else None


def _efficiency(known: knowledge.Known, on: Any, narrow: bool) -> bytes | None:
    calibrations = calibrations_of(known, on)
    return efficiency_svg(calibrations, narrow=narrow) if calibrations.panels else None


CHARTS: Mapping[str, tuple[str, Draw]] = {
    DECAY: (ItemKind.SOURCE, _decay),
    LEAK: (ItemKind.SOURCE, _leak),
    EFFICIENCY: (ItemKind.MONITOR, _efficiency),
}


def shown(
    request: Any, code: str, chart: str, on: Any, says: str, heights: tuple[int, int] | None = None
) -> dict[str, Any]:
    """What the template ``pages/chart.html`` needs of a picture."""
    address = reverse("chart", args=[request.site.slug, code, chart])
    url = f"{address}?on={on.isoformat()}"
    (wide, wide_height), (narrow, narrow_height) = WIDE, NARROW
    if heights is not None:
        wide_height, narrow_height = heights
    return {
        "url": url,
        "narrow_url": f"{url}&narrow=1",
        "alternative": says,
        "width": wide,
        "height": wide_height,
        "narrow_width": narrow,
        "narrow_height": narrow_height,
    }
