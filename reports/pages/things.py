"""The list of monitors, gauges and locations, searchable."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django import forms
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import CALIBRATION
from inventory.timeline import RequirementSpan, Stay
from reports.pages.due import places
from reports.pages.paging import show_page

KINDS = (ItemKind.MONITOR, ItemKind.GAUGE, ItemKind.LOCATION)


class ThingsForm(forms.Form):
    """Search by tag, name or code, in one kind or in all."""

    q = forms.CharField(label=_("Tag, name or code"), required=False, max_length=100)
    kind = forms.ChoiceField(
        label=_("Kind"),
        required=False,
        choices=[("", _("all")), *((kind.value, kind.label) for kind in KINDS)],
    )


class ThingTable(tables.Table):
    """Things with their place, what they hold and what they need."""

    label = tables.Column(verbose_name=_("Name"))
    kind = tables.Column(verbose_name=_("Kind"))
    where = tables.Column(verbose_name=_("Where"), empty_values=(), orderable=False)
    holds = tables.Column(verbose_name=_("Sources there"), empty_values=(), orderable=False)
    calibration = tables.Column(verbose_name=_("Calibration"), empty_values=(), orderable=False)
    code = tables.Column(verbose_name=_("Code"))

    class Meta:
        order_by = ("kind",)
        empty_text = _("Nothing matches.")

    def __init__(self, *args: Any, site: str, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.on = site, on
        self.places: dict[int, str] = {}
        self.held: dict[int, int] = {}
        self.states: dict[int, RequirementSpan] = {}

    def look_up(self) -> None:
        """Places, contents and states of the page that is shown, whatever its size."""
        keys = [row.record.pk for row in self.page.object_list] if self.page else []
        self.places = places(keys, self.on)
        for column in ("gauge", "location"):
            self.held |= self._count(column, keys)
        spans = RequirementSpan.objects.on(self.on).filter(item__in=keys, requirement=CALIBRATION)
        self.states = {span.item_id: span for span in spans}

    def _count(self, column: str, keys: list[int]) -> dict[int, int]:
        there = Stay.objects.on(self.on).filter(
            item__kind=ItemKind.SOURCE, **{f"{column}__in": keys}
        )
        return dict(there.values_list(column).annotate(n=Count("item")))

    def order_label(self, queryset: Any, descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(f"{'-' if descending else ''}label_sort"), True

    def order_kind(self, queryset: Any, descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(f"{'' if descending else '-'}kind", "label_sort"), True

    def render_label(self, record: Item) -> str:
        url = reverse("item", args=[self.site, record.code])
        return format_html('<a href="{}">{}</a>', url, record.label)

    def render_where(self, record: Item) -> str:
        if record.kind == ItemKind.LOCATION:
            return str(record.location.within or "–")
        return self.places.get(record.pk) or str(_("not on site"))

    def render_holds(self, record: Item) -> str:
        return "–" if record.kind == ItemKind.MONITOR else str(self.held.get(record.pk, 0))

    def render_calibration(self, record: Item) -> str:
        span = self.states.get(record.pk)
        if span is None:
            return "–"
        said = span.decision
        return format_html(
            '<span class="state state-{}">{}</span>',
            said.state_on(self.on),
            state_sentence(said, self.on),
        )


def page(request: Any, site: str) -> HttpResponse:
    """Monitors, gauges and locations of the site; ``q`` is a tag, name or code."""
    form = ThingsForm(request.GET)
    asked = form.cleaned_data if form.is_valid() else {}
    found = (
        Item.objects.visible_to(request.user, request.today)
        .filter(site=request.site)
        .of_kind(*([asked["kind"]] if asked.get("kind") else KINDS))
        .select_related("location__within")
    )
    if wanted := asked.get("q", "").strip():
        found = found.starting_with(wanted)
    table = ThingTable(found, site=site, on=request.today)
    show_page(request, table)
    table.look_up()
    return render(request, "pages/things.html", {"table": table, "filter_form": form})
