"""Record a check, record what happened to a thing: doors to ``inventory.evidence.actions``."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.custody.forms import PlaceField, places_for
from inventory.evidence.actions import record_checks, record_happening
from inventory.evidence.entries import CAN_BEFALL
from inventory.evidence.forms import CheckForm, HappeningForm
from inventory.evidence.kinds import subject_of, title_of
from inventory.evidence.listing import MOST, Listed, by_place, listed
from inventory.evidence.reading import from_check, from_happening
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, replacing
from inventory.rules.schema import ACCOUNTING
from inventory.timeline import Stay


class ListForm(forms.Form):
    """Of which day the list is, and of which place."""

    on = DayField(label=gettext_lazy("As of"), required=False)
    place = PlaceField(label=gettext_lazy("Place"), required=False)

    def __init__(self, request: Any, kind: str) -> None:
        asked = request.GET if {"on", "place"} & request.GET.keys() else None
        super().__init__(asked, initial={"on": request.today})
        places: Any = self.fields["place"]
        places.queryset = places_for(request, kind).of_kind(ItemKind.LOCATION)
        places.empty_label = _("every place")
        if kind in (ItemKind.SITE, ItemKind.PERMIT, ItemKind.PERSON):
            del self.fields["place"]

    def asked(self, today: date) -> tuple[date, Item | None]:
        """The day and the place; what cannot be read is today, and everywhere."""
        data = self.cleaned_data if self.is_bound and self.is_valid() else {}
        on = data.get("on")
        return (on if on is not None and on <= today else today), data.get("place")


def new(request: Any, site: str, requirement: str) -> HttpResponse:
    """Record a check; ``?item=CODE`` (repeated) names the things, without it the list is drawn up
    of a day (``on``) and a place (``place``)."""
    kind = subject_of(request.site, requirement)
    if not kind:
        raise Http404
    narrowed = ListForm(request, kind)
    on, within = narrowed.asked(request.today)
    only = [code.upper() for code in request.GET.getlist("item")]
    rows = listed(request.site, requirement, on, within=within, only=only)
    if only and not rows:
        raise Http404
    initial = {"on": on, "performed_by": request.user.name}
    return _check_page(request, requirement, rows, initial, {"narrowed": narrowed, "only": only})


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a recorded check; ``?whole=1``: with every other thing of the list beside it."""
    old = record_of(request, seq)
    values, results = from_check(old)
    only = [] if "whole" in request.GET else list(results)
    rows = listed(request.site, old.kind, old.effective_on, only=only)
    named = {one.item.code for one in rows}
    if not only:  # what was named stays on the page, whatever is asked of it
        missing = [code for code in results if code not in named]
        rows += listed(request.site, old.kind, old.effective_on, only=missing) if missing else []
    return _check_page(request, old.kind, rows, values, {"only": only}, old, results)


def _check_page(
    request: Any,
    requirement: str,
    rows: list[Listed],
    initial: dict[str, Any],
    context: dict[str, Any],
    old: Record | None = None,
    results: dict[str, dict[str, Any]] | None = None,
) -> HttpResponse:
    about = (request, requirement, _shown(request, requirement, rows, initial["on"]))
    if request.method == "POST":
        form = CheckForm(*about, request.POST, request.FILES, replaces=old)
        if form.is_valid() and (record := form.save_with(lambda: _record(request, form))):
            messages.success(request, _("It is recorded."))
            return redirect("record", request.site.slug, record.seq)
    else:
        initial = CheckForm.fresh(request, **initial)
        form = CheckForm(*about, initial=initial, replaces=old, results=results)
    context |= {
        "form": form,
        "title": title_of(request.site, requirement),
        "accounting": requirement == ACCOUNTING,
        "groups": list(by_place(form.rows)),
        "left_out": max(0, len(rows) - MOST),
        "replacing": replacing(request.site.slug, old) if old else None,
    }
    return render(request, "evidence/check.html", context)


def _shown(request: Any, requirement: str, rows: list[Listed], on: date) -> list[Listed]:
    """What fits the page; and what was answered on it stays, although it has moved meanwhile."""
    shown, sent = rows[:MOST], request.POST
    named = {one.item.code for one in shown}
    answered = {name.removesuffix("-result") for name in sent if name.endswith("-result")}
    moved = [code for code in answered - named if sent.get(f"{code}-result")]
    return shown + (listed(request.site, requirement, on, only=moved) if moved else [])


def _record(request: Any, form: CheckForm) -> Record:
    return record_checks(
        request.site,
        form.check(),
        by=request.user,
        at=request.now,
        accepted=bool(form.cleaned_data.get("accept")),
        **form.act(),
    )


def happened(request: Any, site: str, code: str) -> HttpResponse:
    """Record what happened to a source, a gauge or a monitor."""
    item = item_of(request, code)
    if item.kind not in CAN_BEFALL:
        raise Http404
    inside = _inside(request, item, request.today)
    initial = {"on": request.today, "performed_by": request.user.name, "also": _codes(inside)}
    ever = _visible(request).filter(pk__in=Stay.objects.filter(gauge=item).values("item"))
    return _happening_page(request, item, ever.order_by("label_sort"), initial, None)


def correct_happening(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct what was recorded of something that happened."""
    old = record_of(request, seq)
    values, codes = from_happening(old)
    item = item_of(request, codes[0])
    named = Q(code__in=codes[1:]) | Q(pk__in=_inside(request, item, old.effective_on))
    ever = named | Q(pk__in=Stay.objects.filter(gauge=item).values("item"))
    there = _visible(request).filter(ever).order_by("label_sort")
    return _happening_page(request, item, there, values, old)


def _visible(request: Any) -> Any:
    return Item.objects.visible_to(request.user, request.today).filter(site=request.site)


def _inside(request: Any, item: Item, on: date) -> Any:
    """The sources that are in a gauge on a day."""
    there = Stay.objects.on(on).filter(gauge=item)
    return _visible(request).filter(pk__in=there.values("item")).order_by("label_sort")


def _codes(items: Any) -> list[str]:
    return list(items.values_list("code", flat=True))


def _happening_page(
    request: Any, item: Item, inside: Any, initial: dict[str, Any], old: Record | None
) -> HttpResponse:
    def inside_on(day: date) -> Any:
        return _inside(request, item, day).values_list("pk", flat=True)

    if request.method == "POST":
        form = HappeningForm(
            *(item, inside, request.POST, request.FILES), replaces=old, inside_on=inside_on
        )
        if form.is_valid() and (record := form.save_with(lambda: _happen(request, form))):
            messages.success(request, _("It is recorded."))
            return redirect("record", request.site.slug, record.seq)
    else:
        initial = HappeningForm.fresh(request, **initial)
        form = HappeningForm(item, inside, initial=initial, replaces=old)
    context = {
        "form": form,
        "item": item,
        "replacing": replacing(request.site.slug, old) if old else None,
    }
    return render(request, "evidence/happening.html", context)


def _happen(request: Any, form: HappeningForm) -> Record:
    return record_happening(form.incident(), by=request.user, at=request.now, **form.act())
