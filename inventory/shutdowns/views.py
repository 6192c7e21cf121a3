"""Plan a shutdown, change it, take it back: doors to ``inventory.shutdowns.actions``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.ledger.models import Record
from inventory.pages import WritingForm, record_of, replacing, sent_key
from inventory.shutdowns.actions import change, plan, take_back
from inventory.shutdowns.forms import ShutdownForm, TakeBackForm, from_shutdown
from inventory.shutdowns.models import SHUTDOWN_KIND
from inventory.shutdowns.overlaps import overlaps_with
from inventory.shutdowns.wording import overlap_text, shutdown_text


def new(request: Any, site: str) -> HttpResponse:
    """Plan a shutdown; the address may name its place."""
    if request.method == "POST":
        form = ShutdownForm(request, request.POST)
    else:
        place = request.GET.get("place", "").upper()
        form = ShutdownForm(request, initial=ShutdownForm.fresh(request, place=place))
    return _page(
        request, form, lambda: plan(request.site, form.plan(), **_act(request, form)),
        {"title": _("Plan a shutdown"), "button": _("Plan it")},
    )  # fmt: skip


def change_it(request: Any, site: str, seq: int) -> HttpResponse:
    """Other days, another name or place, and why."""
    old = _standing(request, seq)
    if old is None:
        return _gone(request, seq)
    if request.method == "POST":
        form = ShutdownForm(request, request.POST, replaces=old)
    else:
        initial = ShutdownForm.fresh(request, **from_shutdown(old))
        form = ShutdownForm(request, initial=initial, replaces=old)

    def act() -> Record:
        reason = form.cleaned_data["reason"]
        return change(old, form.plan(), reason=reason, **_act(request, form))

    words = {"title": _("Change a planned shutdown"), "button": _("Change it")}
    return _page(request, form, act, {**words, "replacing": replacing(site, old)})


def take_it_back(request: Any, site: str, seq: int) -> HttpResponse:
    """Say that it does not take place, and why."""
    old = _standing(request, seq)
    if old is None:
        return _gone(request, seq)
    if request.method == "POST":
        form = TakeBackForm(request.POST)
    else:
        form = TakeBackForm(initial=TakeBackForm.fresh(request))

    def act() -> Record:
        return take_back(old, reason=form.cleaned_data["reason"], **_act(request, form))

    words = {"title": _("A shutdown does not take place"), "button": _("Take it back")}
    context = {**words, "shutdown": shutdown_text(old.shutdown), "replacing": replacing(site, old)}
    return _page(request, form, act, context)


def _page(
    request: Any, form: WritingForm, act: Callable[[], Record], context: dict[str, Any]
) -> HttpResponse:
    """One form; afterwards back to what lies ahead, with what overlaps said there."""
    ahead = f"{reverse('ahead', args=[request.site.slug])}#shutdowns"
    if request.method == "POST" and form.is_valid() and (record := form.save_with(act)):
        messages.success(request, _("The plan is recorded."))
        if said := overlap_text(overlaps_with(record.shutdown)):
            messages.warning(request, said)
        return redirect(ahead)
    return render(request, "shutdowns/form.html", {**context, "form": form, "back_url": ahead})


def _act(request: Any, form: WritingForm) -> dict[str, Any]:
    return {
        "by": request.user,
        "at": request.now,
        "request_key": form.cleaned_data["request_key"],
        "seen": form.cleaned_data["seen"],
    }


def _standing(request: Any, seq: int) -> Record | None:
    """The record of a planned shutdown, None when another stands in its place; the double click
    of the very change that does is answered by that change."""
    record = record_of(request, seq)
    if record.kind != SHUTDOWN_KIND:
        raise Http404
    newer = Record.objects.filter(replaces=record).first()
    if record.shutdown.begins_on is None:
        return None
    key = sent_key(request)
    again = newer is not None and key is not None and newer.request_key == key
    return record if newer is None or again else None


def _gone(request: Any, seq: int) -> HttpResponse:
    messages.error(request, _("This plan does not hold any more: see what stands in its place."))
    return redirect("record", request.site.slug, seq)
