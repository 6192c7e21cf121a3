"""The list of sources, searchable."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from inventory.evidence.kinds import title_of
from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import ACCOUNTING, LEAK_TEST
from inventory.timeline import RequirementSpan
from reports.forms import SearchForm
from reports.pages.due import places
from reports.pages.paging import show_page


class SourceTable(tables.Table):
    """Sources with place and leak test; the rows are dicts made a page at a time."""

    label = tables.Column(verbose_name=_("Source"), accessor="source__item")
    maker = tables.Column(verbose_name=_("Maker and model"), accessor="source", orderable=False)
    where = tables.Column(verbose_name=_("Where"), empty_values=(), orderable=False)
    leak_test = tables.Column(verbose_name=_("Leak test"), empty_values=(), orderable=False)
    code = tables.Column(verbose_name=_("Code"), accessor="code")

    class Meta:
        order_by = ("label",)
        empty_text = _("No source matches.")

    def __init__(self, *args: Any, site: str, on: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.on = site, on
        self.places: dict[int, str] = {}
        self.states: dict[int, RequirementSpan] = {}

    def look_up(self) -> None:
        """Places and states of the page that is shown: two queries, whatever its size."""
        keys = [row.record.pk for row in self.page.object_list] if self.page else []
        self.places = places(keys, self.on)
        spans = RequirementSpan.objects.on(self.on).filter(item__in=keys, requirement=LEAK_TEST)
        self.states = {span.item_id: span for span in spans}

    def order_label(self, queryset: Any, descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(f"{'-' if descending else ''}label_sort"), True

    def render_label(self, record: Item) -> str:
        url = reverse("item", args=[self.site, record.code])
        return format_html('<a href="{}">{}</a>', url, record.label)

    def render_maker(self, record: Item) -> str:
        source = record.source
        return " ".join(part for part in (source.maker, source.model) if part) or "–"

    def render_where(self, record: Item) -> str:
        return self.places.get(record.pk) or str(_("not on site"))

    def render_leak_test(self, record: Item) -> str:
        span = self.states.get(record.pk)
        if span is None:
            return "–"
        said = span.decision
        state = said.state_on(self.on)
        return format_html(
            '<span class="state state-{}">{}</span>', state, state_sentence(said, self.on)
        )


def page(request: Any, site: str) -> HttpResponse:
    """Sources of the site by nuclide and serial; ``q`` is a serial, nuclide or code."""
    form = SearchForm(request.GET)
    wanted = form.cleaned_data["q"].strip() if form.is_valid() else ""
    found = (
        Item.objects.visible_to(request.user, request.today)
        .filter(site=request.site, kind=ItemKind.SOURCE)
        .select_related("source")
    )
    if wanted:
        found = found.starting_with(wanted)
    table = SourceTable(found, site=site, on=request.today)
    show_page(request, table)
    table.look_up()
    context = {
        "table": table,
        "filter_form": form,
        "accounting": title_of(request.site, ACCOUNTING),
    }
    return render(request, "pages/sources.html", context)
