"""Describe things on pages: doors to ``inventory.items.actions`` and ``inventory.custody``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.custody.actions import receive_new
from inventory.items.actions import (
    change,
    correct,
    describe,
    description_in_force,
    snapshot_of,
)
from inventory.items.forms import (
    NEVER_ARRIVE,
    DescriptionForm,
    GaugeForm,
    LocationForm,
    SourceForm,
)
from inventory.items.paper_forms import PermitForm, PersonForm
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import replacing

Act = Callable[..., Record]
Forms = Mapping[str, type[DescriptionForm]]

FORMS: Forms = {
    ItemKind.LOCATION: LocationForm,
    ItemKind.GAUGE: GaugeForm,
    ItemKind.SOURCE: SourceForm,
    ItemKind.PERMIT: PermitForm,
    ItemKind.PERSON: PersonForm,
}
TITLES = {
    ItemKind.LOCATION: gettext_lazy("New location"),
    ItemKind.GAUGE: gettext_lazy("New gauge"),
    ItemKind.SOURCE: gettext_lazy("New source"),
    ItemKind.MONITOR: gettext_lazy("New monitor"),
    ItemKind.LABORATORY: gettext_lazy("New laboratory"),
    ItemKind.PERMIT: gettext_lazy("New permit"),
    ItemKind.PERSON: gettext_lazy("New person"),
}


def new(request: Any, site: str, kind: str) -> HttpResponse:
    """Describe a new thing; gauges and sources are received in the same act."""
    form_class = FORMS.get(kind)
    if form_class is None:
        raise Http404
    act = describe if kind in NEVER_ARRIVE else receive_new
    return new_page(request, form_class, partial(act, kind=kind))


def new_page(request: Any, form_class: type[DescriptionForm], act: Act) -> HttpResponse:
    """The page of a new thing; ``act`` writes it."""
    if request.method == "POST":
        form = form_class(request, request.POST)
        if form.is_valid() and (
            record := form.save_with(lambda: _arrive(request, form, act), *form.TABLES)
        ):
            return _done(request, record, _("It is recorded."))
    else:
        form = form_class(request, initial=form_class.fresh(request, on=request.today))
    places: Any = form.fields.get("to")
    context = {
        "form": form,
        "title": TITLES[ItemKind(form_class.KIND)],
        "no_place": places is not None and not places.queryset.exists(),
    }
    return render(request, form_class.TEMPLATE, context)


def _arrive(request: Any, form: DescriptionForm, act: Act) -> Record:
    data = form.cleaned_data
    names = [name for name in ("on", "request_key", "seen") if name in form.fields]
    given: dict[str, Any] = {name: data[name] for name in names} | form.arrival()
    return act(request.site, form.snapshot(), by=request.user, at=request.now, **given)


def edit_page(request: Any, item: Item, forms: Forms, record: Record | None = None) -> HttpResponse:
    """Describe a thing anew, or correct one ``record`` of it."""
    form_class = forms.get(item.kind)
    if form_class is None:
        raise Http404
    old = record or description_in_force(item)
    initial = form_class.fresh(request, **form_class.start_from(snapshot_of(old)))
    kept: dict[str, Any] = {"item": item, "old": old, "fixed": record is not None}
    if request.method == "POST":
        form = form_class(request, request.POST, initial=initial, **kept)
        if form.is_valid() and (new := form.save_with(lambda: _describe(request, form))):
            return _done(request, new, _("The description is recorded."))
    else:
        form = form_class(request, initial=initial, **kept)
    context = {
        "form": form,
        "item": item,
        "title": _("Correct a description") if record else _("Change or correct a description"),
        "replacing": replacing(request.site.slug, record) if record else None,
    }
    return render(request, form_class.TEMPLATE, context)


def _describe(request: Any, form: DescriptionForm) -> Record:
    assert form.item is not None
    assert form.old is not None
    data = form.cleaned_data
    act: dict[str, Any] = {"by": request.user, "at": request.now}
    act |= {name: data[name] for name in ("reason", "request_key", "seen")}
    if form.correction:
        return correct(form.old, form.snapshot(), **act)
    return change(form.item, form.snapshot(), on=data["on"], **act)


def _done(request: Any, record: Record, said: str) -> HttpResponse:
    item = Item.objects.get(mentions__record=record)
    messages.success(request, said)
    others = Item.objects.filter(site=item.site_id, kind=item.kind, key=item.key)
    for other in others.exclude(pk=item.pk).order_by("pk")[:3] if _named(item, record) else ():
        messages.warning(
            request,
            _("%(kind)s %(label)s (code %(code)s) has the same number: check that they are two.")
            % {
                "kind": item.get_kind_display().capitalize(),
                "label": other.label,
                "code": other.code,
            },
        )
    return redirect("item", request.site.slug, item.code)


def _named(item: Item, record: Record) -> bool:
    """Whether its key is a name of its own; sources without a known serial share one."""
    return item.kind != ItemKind.SOURCE or bool(snapshot_of(record)["serial"])
