"""Laboratories on pages: the list, one of them, a new one."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.calc.units import format_activity
from inventory.items.actions import describe, description_in_force, snapshot_of
from inventory.items.views import new_page
from inventory.knowledge import COMPLETES
from inventory.ledger.models import Item, ItemKind, Record
from inventory.sentences import day_text, value_text
from surveys.awaited.views import laboratory_of, lines_of
from surveys.awaited.waiting import away, shown, waiting, waiting_at
from surveys.laboratories.forms import LaboratoryForm
from surveys.leak.models import LEAK_TEST_KIND, LeakResult
from surveys.sentences import SENTENCES

PAGE = 50


def new(request: Any, site: str) -> HttpResponse:
    """Describe a laboratory."""
    return new_page(request, LaboratoryForm, partial(describe, kind=ItemKind.LABORATORY))


def index(request: Any, site: str) -> HttpResponse:
    """The laboratories of the site, with how many wipes each has."""
    there = waiting(request.site).order_by().values_list("instrument").annotate(n=Count("pk"))
    count = dict(there)
    items = Item.objects.filter(site=request.site, kind=ItemKind.LABORATORY)
    found = Paginator(items.select_related("laboratory").order_by("label_sort"), PAGE)
    page_of = found.get_page(request.GET.get("page"))
    rows = [
        {
            "item": item,
            "authorisation": item.laboratory.authorisation or "–",
            "until": _until(item.laboratory.valid_until, request.today),
            "away": count.get(item.pk, 0),
        }
        for item in page_of
    ]
    return render(request, "laboratories/list.html", {"rows": rows, "page": page_of})


def _until(valid_until: Any, on: Any) -> str:
    if valid_until is None:
        return _("not stated")
    if valid_until < on:
        return _("ended on %(on)s") % {"on": day_text(valid_until)}
    return day_text(valid_until)


def page(request: Any, site: str, code: str) -> HttpResponse:
    """One laboratory: what it states, the wipes that are away there, what it reported."""
    item = laboratory_of(request, code)
    data = snapshot_of(description_in_force(item))
    wipes = list(away(shown(waiting_at(item))[:PAGE]))
    results = Paginator(_results(item), PAGE).get_page(request.GET.get("page"))
    context = {
        "item": item,
        "facts": _facts(item, data, request.today),
        "limits": [(row["nuclide"], row["text"], _in_bq(row)) for row in data["limits"]],
        "general": data["general_limit"],
        "wipes": lines_of(wipes, request.today),
        "results": [_result(site, one) for one in results],
        "page": results,
        "one": True,
    }
    return render(request, "laboratories/page.html", context)


def _facts(item: Item, data: dict[str, Any], on: Any) -> list[tuple[str, str]]:
    general = data["general_limit"]
    facts = [
        (_("Authorisation"), data["authorisation"] or _("not stated")),
        (_("Valid until"), _until(item.laboratory.valid_until, on)),
        (_("Unit it reports in"), data["unit"] or _("not stated")),
        (
            _("Detection limit for every other nuclide"),
            general["text"] if general else _("not stated"),
        ),
        (_("Remark"), data["remark"]),
    ]
    return [(term, text) for term, text in facts if text]


def _in_bq(row: dict[str, Any]) -> str:
    return format_activity(float(row["bq"]))


def _results(item: Item) -> Any:
    """The newest first: reports on wipes that were sent there, and others under its name."""
    theirs = Q(links__role=COMPLETES, links__target__instrument=item) | Q(
        leaktest__laboratory=item.label
    )
    records = Record.objects.filter(theirs, site=item.site, kind=LEAK_TEST_KIND)
    live = records.filter(replaced_by__isnull=True)
    found = LeakResult.objects.filter(record__in=live.values("pk"))
    return found.select_related("record", "item").order_by(
        "-record__effective_on", "-record__seq", "position"
    )


def _result(site: str, one: LeakResult) -> dict[str, str]:
    return {
        "on": day_text(one.record.effective_on),
        "source": one.item.label,
        "outcome": one.outcome,
        "finding": value_text("finding", one.finding, SENTENCES),
        "url": reverse("record", args=[site, one.record.seq]),
    }
