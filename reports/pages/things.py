"""The list of everything but sources, kind by kind, searchable."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

import django_tables2 as tables
from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from config.accounts.models import Site
from inventory.calc import due
from inventory.evidence.kinds import own_titles
from inventory.followups.models import FollowUp
from inventory.items.places import nested
from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.sentences import value_text
from inventory.timeline import RequirementSpan, Stay
from reports.pages.contents import HOLDERS
from reports.pages.due import places
from reports.pages.paging import show_page

KINDS = (
    *(ItemKind.MONITOR, ItemKind.GAUGE, ItemKind.LOCATION, ItemKind.LABORATORY),
    *(ItemKind.PERMIT, ItemKind.PERSON, ItemKind.SITE),
)
#: They stand nowhere.
NOWHERE = (ItemKind.LABORATORY, ItemKind.PERMIT, ItemKind.PERSON, ItemKind.SITE)


def holds_text(state: str, n: int) -> str:
    """What a place holds, by the worst state of a source there; the others need no word."""
    said = {
        due.FAILED: ngettext("holds %(n)s failed source", "holds %(n)s failed sources", n),
        due.LATE: ngettext("holds %(n)s late source", "holds %(n)s late sources", n),
        due.NEVER_DONE: ngettext(
            "holds %(n)s source never tested", "holds %(n)s sources never tested", n
        ),
        due.UNDECIDED: ngettext(
            "holds %(n)s source, interval not decided",
            "holds %(n)s sources, interval not decided",
            n,
        ),
        due.AWAITED: ngettext(
            "holds %(n)s source, result awaited", "holds %(n)s sources, result awaited", n
        ),
        due.DUE_SOON: ngettext("holds %(n)s source due soon", "holds %(n)s sources due soon", n),
    }
    return said.get(state, "") % {"n": n}


class ThingsForm(forms.Form):
    """Search by tag, number, name or code, in one kind or in all."""

    q = forms.CharField(label=_("Tag, number, name or code"), required=False, max_length=100)
    kind = forms.ChoiceField(
        label=_("Kind"),
        required=False,
        choices=[("", _("all")), *((kind.value, kind.label) for kind in KINDS)],
    )


class ThingTable(tables.Table):
    """Things with their place, what they hold and the most urgent of what they need."""

    label = tables.Column(verbose_name=_("Name"))
    kind = tables.Column(verbose_name=_("Kind"))
    where = tables.Column(verbose_name=_("Where"), empty_values=(), orderable=False)
    holds = tables.Column(verbose_name=_("Sources there"), empty_values=(), orderable=False)
    needs = tables.Column(verbose_name=_("What it needs"), empty_values=(), orderable=False)
    code = tables.Column(verbose_name=_("Code"))

    class Meta:
        order_by = ("kind",)
        empty_text = _("Nothing matches.")

    def __init__(self, *args: Any, site: Site, on: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site, self.on = site, on
        self.places: dict[int, str] = {}
        self.held: dict[int, dict[str, int]] = {}
        self.states: dict[int, RequirementSpan] = {}
        self.own: dict[str, str] = {}
        self.failing: dict[int, FollowUp] = {}

    def look_up(self) -> None:
        """Places, contents and states of the page that is shown, whatever its size."""
        keys = [row.record.pk for row in self.page.object_list] if self.page else []
        self.places = places(keys, self.on)
        self.held = held_in(keys, self.site, self.on)
        spans: Any = RequirementSpan.objects.with_state(self.on).filter(item__in=keys)
        asked = spans.exclude(state=due.NOT_REQUIRED).order_by("-urgency", "-due_on", "-pk")
        self.states = {span.item_id: span for span in asked}  # the most urgent of each stays
        named = {span.requirement for span in self.states.values()}
        failing = FollowUp.objects.still_open().filter(item__in=keys).order_by("-opened_on", "-pk")
        self.failing = {one.item_id: one for one in failing}  # the oldest of each stays
        named |= {one.kind for one in self.failing.values()}
        self.own = own_titles(self.site, named)

    def order_label(self, queryset: Any, descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(f"{'-' if descending else ''}label_sort"), True

    def order_kind(self, queryset: Any, descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(f"{'' if descending else '-'}kind", "label_sort"), True

    def render_label(self, record: Item) -> str:
        name = "laboratory" if record.kind == ItemKind.LABORATORY else "item"
        url = reverse(name, args=[self.site.slug, record.code])
        return format_html('<a href="{}">{}</a>', url, record.label)

    def render_where(self, record: Item) -> str:
        if record.kind == ItemKind.LOCATION:
            return str(record.location.within or "–")
        if record.kind in NOWHERE:
            return "–"
        return self.places.get(record.pk) or str(_("not on site"))

    def render_holds(self, record: Item) -> str:
        if record.kind not in HOLDERS:
            return "–"
        states = self.held.get(record.pk, {})
        count = sum(states.values())
        worst = min(states, key=due.URGENCY.index, default="")
        said = holds_text(worst, states.get(worst, 0))
        if not said:
            return str(count)
        return format_html('{} <span class="state state-{}">{}</span>', count, worst, said)

    def render_needs(self, record: Item) -> str:
        span, failing = self.states.get(record.pk), self.failing.get(record.pk)
        if failing is not None:  # whether the schedule asks for it or not
            return self._needs(failing.kind, due.FAILED, value_text("state", due.FAILED))
        if span is None:
            return "–"
        said = span.decision
        sentence = state_sentence(said, self.on, span.requirement)
        return self._needs(span.requirement, said.state_on(self.on), sentence)

    def _needs(self, requirement: str, state: str, sentence: str) -> str:
        name = self.own.get(requirement) or value_text("requirement", requirement)
        return format_html('{}: <span class="state state-{}">{}</span>', name, state, sentence)


def held_in(places: Collection[int], site: Site, on: date) -> dict[int, dict[str, int]]:
    """How many sources are in each gauge, or at each location and in the locations inside it, by
    the worst of what each needs: three queries, whatever there is."""
    outer = outside_of(nested(site))
    there = Stay.objects.on(on).filter(site=site, item__kind=ItemKind.SOURCE)
    spans: Any = RequirementSpan.objects.with_state(on).filter(item__in=there.values("item"))
    states: dict[int, list[str]] = defaultdict(list)
    for item, state in spans.values_list("item", "state_on"):
        states[item].append(state)
    out: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for item, gauge, location in there.values_list("item", "gauge", "location"):
        worst = min(states[item], key=due.URGENCY.index, default=due.NOT_REQUIRED)
        for place in {gauge, *outer.get(location, ())} & set(places):
            out[place][worst] += 1
    return out


def outside_of(inside: Mapping[int, set[int]]) -> dict[int, set[int]]:
    """Each location with every location that it lies in, itself included."""
    out: dict[int, set[int]] = defaultdict(set)
    for outer, inner in inside.items():
        for one in inner:
            out[one].add(outer)
    return out


def page(request: Any, site: str) -> HttpResponse:
    """Everything of the site but sources; ``q`` is a tag, number, name or code."""
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
    table = ThingTable(found, site=request.site, on=request.today)
    show_page(request, table)
    table.look_up()
    return render(request, "pages/things.html", {"table": table, "filter_form": form})
