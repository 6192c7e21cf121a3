"""Record a movement, correct one: doors to ``inventory.custody.actions``."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.custody.actions import correct_movement, move
from inventory.custody.forms import MOVABLE, MovementForm, from_movement
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, replacing
from inventory.timeline import Stay


def new(request: Any, site: str, code: str) -> HttpResponse:
    """Record a movement of a source, a gauge or a monitor."""
    item = item_of(request, code)
    if item.kind not in MOVABLE:
        raise Http404
    return _page(request, item, None, {"on": request.today, "performed_by": request.user.name})


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a recorded movement by a replacing record."""
    old = record_of(request, seq)
    item = Item.objects.select_related("site").get(mentions__record=old)
    return _page(request, item, old, from_movement(old))


def _page(request: Any, item: Item, old: Record | None, initial: dict[str, Any]) -> HttpResponse:
    if request.method == "POST":
        form = MovementForm(request, item, request.POST, replaces=old)
        if form.is_valid() and form.save_with(lambda: _record(request, form, old)):
            messages.success(request, _("The movement is recorded."))
            return redirect("item", request.site.slug, item.code)
    else:
        initial = MovementForm.fresh(request, **initial)
        form = MovementForm(request, item, initial=initial, replaces=old)
    context = {
        "form": form,
        "item": item,
        "replacing": replacing(request.site.slug, old) if old else None,
        "inside": _inside(item, request.today),
    }
    return render(request, "custody/form.html", context)


def _record(request: Any, form: MovementForm, old: Record | None) -> Record:
    data = form.cleaned_data
    act = {"by": request.user, "at": request.now}
    act |= {name: data[name] for name in ("request_key", "seen")}
    if old is None:
        return move(form.movement(), **act)
    return correct_movement(old, form.movement(), reason=data["reason"], **act)


def _inside(item: Item, on: Any) -> list[str]:
    """What a gauge holds and takes along."""
    if item.kind != ItemKind.GAUGE:
        return []
    held = Stay.objects.on(on).filter(gauge=item).order_by("item__label_sort")
    return list(held.values_list("item__label", flat=True))
