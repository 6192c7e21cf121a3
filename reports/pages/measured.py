"""What a page says beside its pictures: decay, leak tests, calibrations."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.urls import reverse

from inventory import knowledge
from inventory.ledger.models import ItemKind
from reports.charts.efficiency import efficiency_height
from reports.charts.leak import leak_height
from reports.pages.charts import DECAY, EFFICIENCY, LEAK, shown
from reports.pages.decay_curve import curve_of, why_no_curve
from reports.pages.efficiency_history import calibrations_of
from reports.pages.leak_history import history_of


def decay(request: Any, known: knowledge.Known, on: date) -> dict[str, Any] | None:
    """The decay curve with the levels it crosses, or why there is none."""
    if known.item.kind != ItemKind.SOURCE:
        return None
    curve = curve_of(known, on)
    if curve is None:
        return {"why_not": why_no_curve(known, on)}
    return {
        "chart": shown(request, known.item.code, DECAY, on, curve.alternative),
        "levels": curve.levels,
        "lacking": curve.lacking,
    }


def leak_tests(request: Any, known: knowledge.Known, on: date) -> dict[str, Any] | None:
    """The results of a source, newest first, and their picture."""
    if known.item.kind != ItemKind.SOURCE:
        return None
    found = history_of(known, on)
    if not found.results:
        return None
    code = known.item.code
    picture = None
    if found.drawn:
        heights = (leak_height(found, narrow=False), leak_height(found, narrow=True))
        picture = shown(request, code, LEAK, on, found.alternative, heights)
    rows = [(one, _record(request, one.seq)) for one in reversed(found.results)]
    return {"chart": picture, "rows": rows}


def calibrations(request: Any, known: knowledge.Known, on: date) -> dict[str, Any] | None:
    """The calibrations of a monitor, newest first, and their picture."""
    if known.item.kind != ItemKind.MONITOR:
        return None
    found = calibrations_of(known, on)
    if not found.rows:
        return None
    height = efficiency_height(found)
    picture = (
        shown(request, known.item.code, EFFICIENCY, on, found.alternative, (height, height))
        if found.panels
        else None
    )
    rows = [(one, _record(request, one.seq)) for one in reversed(found.rows)]
    return {"chart": picture, "rows": rows}


def _record(request: Any, seq: int) -> str:
    return reverse("record", args=[request.site.slug, seq])
