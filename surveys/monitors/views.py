"""New monitors and their calibrations: doors to ``surveys.monitors.actions``."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.items.views import new_page
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, replacing
from surveys.monitors.actions import new_monitor, record_calibration
from surveys.monitors.forms import (
    CalibrationForm,
    MonitorForm,
    efficiency_rows,
    from_calibration,
)
from surveys.sentences import SENTENCES


def new(request: Any, site: str) -> HttpResponse:
    """Describe a monitor and receive it."""
    return new_page(request, MonitorForm, new_monitor)


def calibrate(request: Any, site: str, code: str) -> HttpResponse:
    """Record a calibration of a monitor."""
    monitor = item_of(request, code)
    if monitor.kind != ItemKind.MONITOR:
        raise Http404
    return _page(request, monitor, None, {"on": request.today}, [])


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a recorded calibration by a replacing record."""
    old = record_of(request, seq)
    monitor = Item.objects.get(mentions__record=old, mentions__role="subject")
    values, rows = from_calibration(old)
    return _page(request, monitor, old, values, rows)


def _page(
    request: Any,
    monitor: Item,
    old: Record | None,
    initial: dict[str, Any],
    rows: list[dict[str, Any]],
) -> HttpResponse:
    if request.method == "POST":
        form = CalibrationForm(request, request.POST, replaces=old)
        efficiencies = efficiency_rows(request.POST)
        if _valid(form, efficiencies) and (
            record := form.save_with(
                lambda: _record(request, form, efficiencies, monitor, old), SENTENCES
            )
        ):
            messages.success(request, _("The calibration is recorded."))
            return redirect("record", request.site.slug, record.seq)
    else:
        initial = CalibrationForm.fresh(request, **initial)
        form = CalibrationForm(request, initial=initial, replaces=old)
        efficiencies = efficiency_rows(initial=rows)
    context = {
        "form": form,
        "efficiencies": efficiencies,
        "item": monitor,
        "replacing": replacing(request.site.slug, old) if old else None,
    }
    return render(request, "monitors/calibration.html", context)


def _valid(form: CalibrationForm, efficiencies: Any) -> bool:
    """Both; what is wrong in a row is said at the head of the page too."""
    sound = form.is_valid()
    if efficiencies.is_valid():
        return sound
    for fault in efficiencies.faults():
        form.add_error(None, fault)
    return False


def _record(
    request: Any, form: CalibrationForm, efficiencies: Any, monitor: Item, old: Record | None
) -> Record:
    data = form.cleaned_data
    return record_calibration(
        data.get("monitor") or monitor,
        form.certified(efficiencies.efficiencies()),
        by=request.user,
        at=request.now,
        accepted=bool(data.get("accept")),
        request_key=data["request_key"],
        seen=data["seen"],
        replaces=old,
        reason=data.get("reason", ""),
    )
