"""Everything about one item: what and where, activity, requirements, open points, time line."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.accounts.models import OPEN_END
from config.permissions import DECIDE, ENTER
from inventory import knowledge
from inventory.calc.open_points import open_points
from inventory.calc.units import format_activity
from inventory.custody.forms import MOVABLE
from inventory.followups.models import FollowUp
from inventory.followups.wording import follow_up_sentence
from inventory.items.source import activity_on, category_on
from inventory.ledger.models import Item, ItemKind, Record, RecordItem
from inventory.pages import item_of
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.sentences import SENTENCES, day_text, fill, lines, value_text
from inventory.timeline import RequirementSpan, Stay
from reports.pages.happened import about_lines, labels_in

Pairs = list[tuple[str, str]]


def page(request: Any, site: str, code: str) -> HttpResponse:
    """The page of an item, today."""
    item = item_of(request, code)
    on = request.today
    known = knowledge.load([item.pk])[item.pk]
    follow_ups = list(
        FollowUp.objects.filter(item=item)
        .select_related("opened_by", "closed_by")
        .order_by("-opened_on", "-pk")
    )
    stays = list(_stays(item))
    contents = _sources_there(item, on)
    context = {
        "item": item,
        "kind_word": item.get_kind_display(),
        "facts": _facts(known, on, stays),
        "activity": _activity(known, on),
        "requirements": list(_requirements(known, on)),
        "followups": [_follow_up(request, item, one) for one in follow_ups],
        "open_points": _open_points(known, on),
        "history": _history(request, item),
        "stays": stays,
        "actions": _actions(request, item),
        "warning": _warning([*follow_ups, *_inside(contents)]),
        "contents": _contents(request, contents, on),
    }
    return render(request, "pages/item.html", context)


def _facts(known: knowledge.Known, on: date, stays: list[dict[str, str]]) -> Pairs:
    """The description in force, in words; what is not known says so."""
    data = known.snapshot_on(on)
    labels = {
        "nuclide": _("Nuclide"),
        "maker": _("Maker"),
        "model": _("Model"),
        "serial": _("Serial"),
        "activity_text": _("Activity as stated"),
        "reference_on": _("Reference date"),
        "housing_serial": _("Housing serial"),
        "whom_to_ask": _("Ask before closing its shutter"),
        "monitor_kind": _("Kind"),
        "place_kind": _("Kind"),
        "remark": _("Remark"),
    }
    facts = [
        (label, _fact(name, data[name], known))
        for name, label in labels.items()
        if name in data and (data[name] or name not in ("remark", "whom_to_ask"))
    ]
    now = [stay["where"] for stay in stays if stay["now"]]
    if known.item.kind in (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR):
        facts.append((_("Where"), now[0] if now else _("not on site")))
    return facts


def _fact(name: str, value: Any, known: knowledge.Known) -> str:
    if not value:
        return _("not known")
    if name == "nuclide":
        nuclide = known.nuclides.get(value)
        return value if nuclide is None else _nuclide(nuclide)
    return value_text(name, value, KINDS)


KINDS = {
    "monitor_kind:wipe_counter": gettext_lazy("wipe counter"),
    "monitor_kind:contamination": gettext_lazy("contamination monitor"),
    "monitor_kind:dose_rate": gettext_lazy("dose-rate monitor"),
    "place_kind:plant_area": gettext_lazy("plant area"),
    "place_kind:source_store": gettext_lazy("source store"),
    "place_kind:workshop": gettext_lazy("workshop"),
    "place_kind:off_site": gettext_lazy("off site"),
}


def _nuclide(nuclide: Any) -> str:
    values = {
        "name": nuclide.name,
        "half_life": f"{nuclide.half_life:g} {nuclide.half_life_unit}",
    }
    return _("%(name)s, half-life %(half_life)s") % values


def _activity(known: knowledge.Known, on: date) -> dict[str, Any] | None:
    if known.item.kind != ItemKind.SOURCE:
        return None
    nuclide = known.nuclide_on(on)
    found = activity_on(known.snapshot_on(on), nuclide, on)
    category = category_on(nuclide, found.value)
    steps = (*found.steps, *(category.steps if category else ()))
    text = _("not known") if found.value is None else format_activity(found.value)
    values = {"activity": text, "on": day_text(on)}
    said = _("%(activity)s on %(on)s") % values
    if category and category.value is not None:
        said += _(", category %(category)s") % {"category": category.value}
    return {"today_text": said, "lines": list(lines(steps))}


def _requirements(known: knowledge.Known, on: date) -> Iterator[dict[str, Any]]:
    for requirement in knowledge.requirements_of(known.item.kind):
        said = knowledge.decide_on(known, requirement, on)
        yield {
            "title": value_text("requirement", requirement),
            "sentence": state_sentence(said.value, on),
            "state": said.value.state_on(on),
            "lines": list(lines(said.steps)),
        }


def _follow_up(request: Any, item: Item, follow_up: FollowUp) -> dict[str, Any]:
    closable = follow_up.closed_by_id is None and request.roles & DECIDE
    seq = follow_up.opened_by.seq
    args = [request.site.slug, item.code, seq]
    return {
        "sentence": follow_up_sentence(follow_up),
        "open": follow_up.closed_by_id is None,
        "close_url": reverse("followup-close", args=args) if closable else "",
    }


def _open_points(known: knowledge.Known, on: date) -> list[str]:
    if known.item.kind != ItemKind.SOURCE:
        return []
    nuclide_known = known.nuclide_on(on) is not None
    points = open_points(known.snapshot_on(on), known.events, on, nuclide_known=nuclide_known)
    return [fill(step.code, step.values, SENTENCES) for step in points]


def _history(request: Any, item: Item) -> list[dict[str, Any]]:
    mentions = (
        RecordItem.objects.filter(item=item)
        .select_related("record__recorded_by", "record__replaces", "record__replaced_by")
        .order_by("-effective_on", "-record__seq")
    )
    labels = labels_in(mention.record for mention in mentions)
    return [_event(request, item, mention, labels) for mention in mentions]


def _event(request: Any, item: Item, mention: RecordItem, labels: dict[str, str]) -> dict[str, Any]:
    record = mention.record
    newer = getattr(record, "replaced_by", None)
    recorded = request.site.day(record.recorded_at)
    late = recorded > record.effective_on
    return {
        "on_text": day_text(record.effective_on),
        "title": _("%(kind)s (record %(seq)s)")
        % {"kind": value_text("kind", record.kind).capitalize(), "seq": record.seq},
        "text": " ".join(about_lines(record, item, mention, labels)),
        "url": reverse("record", args=[request.site.slug, record.seq]),
        "late_text": _("Entered on %(on)s.") % {"on": day_text(recorded)} if late else "",
        "replaced": newer is not None,
        "replaced_text": _correction(newer) if newer else "",
        "corrects_text": _corrects(record),
        "who": _who(record),
    }


def _correction(newer: Record) -> str:
    return _("Record %(seq)s stands in its place: %(why)s") % {
        "seq": newer.seq,
        "why": newer.reason,
    }


def _corrects(record: Record) -> str:
    if record.replaces is None:
        return ""
    return _("Corrects record %(seq)s: %(why)s") % {
        "seq": record.replaces.seq,
        "why": record.reason,
    }


def _who(record: Record) -> str:
    values = {"by": record.recorded_by.name, "done": record.performed_by}
    if record.performed_by and record.performed_by != record.recorded_by.name:
        return _("Done by %(done)s, recorded by %(by)s") % values
    return _("Recorded by %(by)s") % values


def _stays(item: Item) -> Iterator[dict[str, Any]]:
    found = Stay.objects.filter(item=item).select_related("gauge", "location").order_by("-from_on")
    for stay in found:
        still = stay.until_on == OPEN_END
        yield {
            "from_text": day_text(stay.from_on),
            "until_text": _("still there") if still else day_text(stay.until_on),
            "where": ", ".join(str(place) for place in (stay.gauge, stay.location) if place),
            "now": still,
        }


def _sources_there(item: Item, on: date) -> list[Item]:
    """The sources in a gauge, or at a location and in its gauges, on a day."""
    if item.kind not in (ItemKind.GAUGE, ItemKind.LOCATION):
        return []
    there = Stay.objects.on(on).filter(Q(gauge=item) | Q(location=item))
    found = Item.objects.filter(pk__in=there.values("item"), kind=ItemKind.SOURCE)
    return list(found.order_by("label_sort"))


def _inside(sources: list[Item]) -> list[FollowUp]:
    """Open follow-ups of the sources inside: whoever stands at the gauge sees its tag."""
    return list(FollowUp.objects.still_open().filter(item__in=sources))


def _contents(request: Any, sources: list[Item], on: date) -> list[dict[str, str]]:
    spans = RequirementSpan.objects.on(on).filter(item__in=sources, requirement=LEAK_TEST)
    said = {span.item_id: span.decision for span in spans}
    return [
        {
            "label": source.label,
            "url": reverse("item", args=[request.site.slug, source.code]),
            "state": said[source.pk].state_on(on),
            "sentence": state_sentence(said[source.pk], on),
        }
        for source in sources
        if source.pk in said
    ]


def _actions(request: Any, item: Item) -> list[tuple[str, str]]:
    def url(name: str) -> str:
        return reverse(name, args=[request.site.slug, item.code])

    out = []
    if request.roles & ENTER:
        if item.kind == ItemKind.SOURCE:
            wipe = reverse("wipe-new", args=[request.site.slug])
            out.append((_("Record a wipe"), f"{wipe}?source={item.code}"))
        if item.kind == ItemKind.MONITOR:
            out.append((_("Record a calibration"), url("calibration-new")))
        if item.kind in MOVABLE:
            out.append((_("Record a movement"), url("movement-new")))
    if request.roles & DECIDE and item.kind != ItemKind.SITE:
        out.append((_("Change or correct the description"), url("item-describe")))
    return out


def _warning(follow_ups: list[FollowUp]) -> str:
    still_open = [one for one in follow_ups if one.closed_by_id is None]
    if not still_open:
        return ""
    if any(one.kind == LEAK_TEST for one in still_open):
        return _(
            "Failed or suspected leak, out of use. Keep people away, do not handle, isolate, call "
            "the person named in the local rules."
        )
    return _("Failed, out of use. Do not rely on it.")
