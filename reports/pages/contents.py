"""What is in a gauge or at a location on a day: sources, how active together, what they need."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import category
from inventory.calc.moves import NOT_HERE
from inventory.calc.nuclides import NuclideData
from inventory.calc.units import format_activity
from inventory.custody.wording import about, not_here
from inventory.items.places import nested
from inventory.items.source import activity_on
from inventory.ledger.models import Item, ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.sentences import Line, day_text, lines, number_text
from inventory.timeline import RequirementSpan, Stay

HOLDERS = (ItemKind.GAUGE, ItemKind.LOCATION)


@dataclass(frozen=True, slots=True)
class Inside:
    """What is there: sources with the gauge they are in, gauges, and the places inside; how each
    is kept where that is to be said, and what was here last and is somewhere else."""

    sources: list[Item]
    gauge_of: Mapping[int, str]
    gauges: list[Item]
    locations: list[Item]
    kept: Mapping[int, str]
    elsewhere: Sequence[Stay] = ()


def inside(item: Item, on: date) -> Inside:
    """What is in a gauge, or at a location, in its gauges and in the locations inside it."""
    if item.kind not in HOLDERS:
        return Inside([], {}, [], [], {})
    places = {item.pk}
    if item.kind == ItemKind.LOCATION:
        places = nested(item.site).get(item.pk, places)
    there = Stay.objects.on(on).filter(Q(gauge=item) | Q(location__in=places))
    found = list(there.select_related("item", "gauge").order_by("item__label_sort", "item_id"))
    held = [(stay.item, stay.gauge) for stay in found]
    others = Item.objects.filter(pk__in=places - {item.pk}).order_by("label_sort")
    return Inside(
        sources=[one for one, _gauge in held if one.kind == ItemKind.SOURCE],
        gauge_of={one.pk: gauge.label for one, gauge in held if gauge is not None},
        gauges=[one for one, _gauge in held if one.kind == ItemKind.GAUGE],
        locations=list(others) if item.kind == ItemKind.LOCATION else [],
        kept=_kept(found) if item.kind == ItemKind.LOCATION else {},  # a gauge says it itself
        elsewhere=_elsewhere(item, places, on) if item.kind == ItemKind.LOCATION else (),
    )


def _kept(found: Collection[Stay]) -> dict[int, str]:
    return {stay.item_id: ", ".join(about(stay)) for stay in found}


def _elsewhere(item: Item, places: Collection[int], on: date) -> list[Stay]:
    """What was at these places last and is out, away or missing on the day; what is inside a gauge
    goes with that."""
    gone = Stay.objects.on(on).filter(site=item.site_id, whereabouts__in=NOT_HERE, gauge=None)
    before = Stay.objects.filter(
        item__in=gone.values("item"), from_on__lte=on, location__isnull=False
    )
    home = dict(before.order_by("from_on").values_list("item", "location"))
    found = gone.select_related("item").order_by("item__label_sort", "item_id")
    return [stay for stay in found if home.get(stay.item_id) in places]


def contents(request: Any, item: Item, there: Inside, on: date) -> dict[str, Any] | None:
    """Everything that the page says of it; None for what holds nothing by its nature."""
    if item.kind not in HOLDERS:
        return None
    known = knowledge.load([one.pk for one in there.sources])
    activities = {one.pk: _activity(known[one.pk], on) for one in there.sources}
    spans = RequirementSpan.objects.on(on).filter(item__in=there.sources, requirement=LEAK_TEST)
    said = {span.item_id: span.decision for span in spans}
    return {
        "sources": [
            {
                "label": one.label,
                "url": _url(request, one),
                "kept": there.kept.get(one.pk, ""),
                "gauge": there.gauge_of.get(one.pk, "–") if item.kind != ItemKind.GAUGE else "",
                "activity": _text(activities[one.pk][1]),
                "state": said[one.pk].state_on(on) if one.pk in said else "",
                "sentence": state_sentence(said[one.pk], on) if one.pk in said else "–",
            }
            for one in there.sources
        ],
        "gauges": _links(request, there.gauges, there.kept),
        "elsewhere": [
            {**_link(request, stay.item), "kept": not_here(stay)} for stay in there.elsewhere
        ],
        "locations": _links(request, there.locations),
        "of_a_location": item.kind == ItemKind.LOCATION,
        **(_together(list(activities.values()), on) if activities else {}),
    }


def _url(request: Any, item: Item) -> str:
    return reverse("item", args=[request.site.slug, item.code])


def _link(request: Any, item: Item) -> dict[str, str]:
    return {"label": item.label, "url": _url(request, item)}


def _links(
    request: Any, items: Collection[Item], kept: Mapping[int, str] | None = None
) -> list[dict[str, str]]:
    """Links to things, each with how it is kept where that is to be said."""
    return [{**_link(request, one), "kept": (kept or {}).get(one.pk, "")} for one in items]


Activity = tuple[NuclideData | None, float | None]


def _activity(known: knowledge.Known, on: date) -> Activity:
    nuclide = known.nuclide_on(on)
    return nuclide, activity_on(known.snapshot_on(on), nuclide, on).value


def _text(bq: float | None) -> str:
    return _("not known") if bq is None else format_activity(bq)


def _together(activities: Sequence[Activity], on: date) -> dict[str, Any]:
    """Activity and A/D of all together. What is not known makes each of them a lower bound."""
    pairs = [(nuclide, bq) for nuclide, bq in activities if nuclide is not None and bq is not None]
    unknown = len(activities) - len(pairs)
    ratio = category.a_over_d(pairs)
    found = category.category(ratio.value.known_sum, category.above_exemption(pairs))
    at_least = ratio.value.at_least or bool(unknown)
    explained: list[Line] = list(lines((*ratio.steps, *found.steps)))
    return {
        "total": total_text([bq for _nuclide, bq in activities], on),
        "unknown": unknown,
        "category": _category_text(found.value, ratio.value.known_sum, at_least),
        "lines": explained,
    }


def total_text(activities: Sequence[float | None], on: date) -> str:
    """The sum of activities on a day: "at least" where one of them is not known."""
    known = [bq for bq in activities if bq is not None]
    values = {"activity": format_activity(sum(known)), "on": day_text(on)}
    if not known:
        return _("not known")
    if len(known) < len(activities):
        return _("at least %(activity)s on %(on)s") % values
    return _("%(activity)s on %(on)s") % values


def _category_text(number: int | None, a_over_d: float, at_least: bool) -> str:
    values = {"ratio": number_text(a_over_d), "category": number}
    if number is None:
        if at_least:
            return _("A/D at least %(ratio)s, category not known") % values
        return _("A/D %(ratio)s, no category: not above exemption") % values
    if at_least:
        said = _("A/D at least %(ratio)s, category %(category)s or more dangerous (a lower number)")
        return said % values
    return _("A/D %(ratio)s, category %(category)s") % values
