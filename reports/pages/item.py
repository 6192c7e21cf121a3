"""Everything about one item: what and where, activity, requirements, open points, what was
measured, documents, time line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.permissions import DECIDE, ENTER
from inventory import knowledge
from inventory.calc.open_points import open_points
from inventory.calc.units import format_activity
from inventory.custody.forms import MOVABLE
from inventory.evidence.entries import CAN_BEFALL
from inventory.evidence.kinds import THAT_STAY, checks_of, title_of
from inventory.followups.models import FollowUp
from inventory.followups.wording import follow_up_sentence
from inventory.items.source import activity_on, category_on
from inventory.items.wording import DAYS
from inventory.items.wording import FACTS as ASKED_OF
from inventory.items.wording import WORDS as DESCRIBED_WORDS
from inventory.ledger.models import Item, ItemKind
from inventory.pages import item_of
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import ACCOUNTING, LEAK_TEST, MISSING, REQUIREMENTS
from inventory.schedule.links import proposal, rules_of
from inventory.sentences import SENTENCES, day_text, fill, lines, value_text
from reports.forms import as_of
from reports.pages.contents import contents, inside
from reports.pages.due_lines import check_url
from reports.pages.files import files_of
from reports.pages.going_out import belongs_to, quick_moves
from reports.pages.measured import calibrations, decay, leak_tests
from reports.pages.nuclide import nuclide_link
from reports.pages.planned import planned
from reports.pages.time_line import history, stays

Pairs = list[tuple[str, str]]


def page(request: Any, site: str, code: str) -> HttpResponse:
    """The page of an item, today or on the day of the address. What warns is always of now."""
    item = item_of(request, code)
    at, form = as_of(request)
    on = at.on
    known = knowledge.load([item.pk])[item.pk]
    follow_ups = list(
        FollowUp.objects.filter(item=item)
        .select_related("opened_by", "closed_by")
        .order_by("-opened_on", "-pk")
    )
    where = list(stays(item, on))
    asked = list(_requirements(request, known, on))
    there = inside(item, on)
    now = there if on == request.today else inside(item, request.today)
    context = {
        "item": item,
        "on": "" if on == request.today else day_text(on),
        "form_on": form,
        "kind_word": item.get_kind_display(),
        "facts": _facts(request, known, on, where),
        "activity": _activity(known, on),
        "decay": decay(request, known, on),
        "leak_tests": leak_tests(request, known, on),
        "calibrations": calibrations(request, known, on),
        "requirements": asked,
        "rules_of": rules_of(request, item),
        "other_checks": _other_checks(request, known, asked),
        "followups": [_follow_up(request, item, one) for one in follow_ups],
        "open_points": _open_points(known, on),
        "history": history(request, item),
        "stays": where,
        "files": files_of(request, item),
        "actions": _actions(request, item, known),
        "warning": _warning(item, [*follow_ups, *_warned_of(now.sources)]),
        "contents": contents(request, item, there, on),
    }
    return render(request, "pages/item.html", context)


def _facts(request: Any, known: knowledge.Known, on: date, where: list[dict[str, Any]]) -> Pairs:
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
        "authorisation": _("Authorisation"),
        "unit": _("Unit it reports in"),
        **ASKED_OF,
        "remark": _("Remark"),
    }
    facts = [
        (str(label), _fact(request, name, data[name], known))
        for name, label in labels.items()
        if name in data and (data[name] or name not in NOT_MISSED)
    ]
    now = [stay["where"] for stay in where if stay["now"]]
    if known.item.kind in (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR):
        facts.append((_("Where"), now[0] if now else _("not on site")))
        facts += belongs_to(known, on)
    return facts


#: Of these nobody says that they are not known.
NOT_MISSED = ("remark", "whom_to_ask", "conditions", "valid_from", "address")


def _fact(request: Any, name: str, value: Any, known: knowledge.Known) -> str:
    if not value:
        return _("not known")
    if name == "nuclide":
        nuclide = known.nuclides.get(value)
        return value if nuclide is None else nuclide_link(request.site.slug, nuclide)
    if name in DAYS:
        return day_text(date.fromisoformat(value))
    return value_text(name, value, KINDS)


KINDS = {
    "monitor_kind:wipe_counter": gettext_lazy("wipe counter"),
    "monitor_kind:contamination": gettext_lazy("contamination monitor"),
    "monitor_kind:dose_rate": gettext_lazy("dose-rate monitor"),
    "monitor_kind:personal": gettext_lazy("personal dose meter"),
    "monitor_kind:neutron": gettext_lazy("neutron monitor"),
    "place_kind:plant_area": gettext_lazy("plant area"),
    "place_kind:source_store": gettext_lazy("source store"),
    "place_kind:workshop": gettext_lazy("workshop"),
    "place_kind:off_site": gettext_lazy("off site"),
    **DESCRIBED_WORDS,
}


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
    return {
        "today_text": said,
        "stated": _stated(known.snapshot_on(on)),
        "lines": list(lines(steps)),
    }


def _stated(data: Mapping[str, Any]) -> str:
    """The activity as the certificate has it, with its day."""
    if not data.get("activity_text") or not data.get("reference_text"):
        return ""
    values = {"activity": data["activity_text"], "on": value_text("on", data["reference_text"])}
    return _("as stated: %(activity)s on %(on)s") % values


def _requirements(request: Any, known: knowledge.Known, on: date) -> Iterator[dict[str, Any]]:
    plans, may_enter = planned(request, known.item, on), bool(request.roles & ENTER)
    for requirement in knowledge.requirements_for(known):
        said = knowledge.decide_on(known, requirement, on)
        yield {
            "name": requirement,
            "title": title_of(request.site, requirement),
            "sentence": state_sentence(said.value, on, requirement),
            "state": said.value.state_on(on),
            "lines": list(lines(said.steps)),
            "record": check_url(request, requirement, known.item) if may_enter else "",
            **proposal(request, known.item, requirement, said.value),
            **plans.get(requirement, {}),
        }


def _other_checks(
    request: Any, known: knowledge.Known, asked: list[dict[str, Any]]
) -> list[tuple[str, str]]:
    """Checks that can be made of it although nobody asks for them here."""
    if not request.roles & ENTER:
        return []
    listed = {one["name"] for one in asked}
    return [
        (title_of(request.site, name), check_url(request, name, known.item))
        for name in checks_of(request.site, known.item.kind)
        if name not in listed
    ]


def _follow_up(request: Any, item: Item, follow_up: FollowUp) -> dict[str, Any]:
    closable = follow_up.closed_by_id is None and request.roles & DECIDE
    seq = follow_up.opened_by.seq
    args = [request.site.slug, item.code, seq]
    return {
        "sentence": follow_up_sentence(follow_up),
        "open": follow_up.closed_by_id is None,
        "url": reverse("followup", args=args),
        "close_url": reverse("followup-close", args=args) if closable else "",
    }


def _open_points(known: knowledge.Known, on: date) -> list[str]:
    if known.item.kind != ItemKind.SOURCE:
        return []
    nuclide_known = known.nuclide_on(on) is not None
    points = open_points(known.snapshot_on(on), known.events, on, nuclide_known=nuclide_known)
    return [fill(step.code, step.values, SENTENCES) for step in points]


def _warned_of(sources: list[Item]) -> list[FollowUp]:
    """Open follow-ups of the sources inside: whoever stands at the gauge sees its tag."""
    found = FollowUp.objects.still_open().filter(item__in=sources)
    return list(found.select_related("item"))


def _actions(request: Any, item: Item, known: knowledge.Known) -> list[tuple[str, str]]:
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
            out += quick_moves(request, item, known)
            out.append((_("Record a movement"), url("movement-new")))
        if item.kind in CAN_BEFALL:
            out.append((_("Something happened"), url("happening-new")))
        out.append((_("Add a document"), url("document-new")))
    if item.kind == ItemKind.LABORATORY:
        out.append((_("Its limits, wipes and results"), url("laboratory")))
    if request.roles & DECIDE and item.kind != ItemKind.SITE:
        out.append((_("Change or correct the description"), url("item-describe")))
    return out


#: What fails and is then out of use; a paper or a place is not.
ABOUT_THINGS = frozenset(one for one, (kind, _kind) in REQUIREMENTS.items() if kind in THAT_STAY)


def _warning(item: Item, follow_ups: list[FollowUp]) -> str:
    """What whoever stands there must know first; of what is inside by name."""
    still_open = [one for one in follow_ups if one.closed_by_id is None]
    if not still_open:
        return ""
    inside = sorted({one.item.label for one in still_open if one.item_id != item.pk})
    said = _what_warns(still_open)
    return f"{', '.join(inside)}: {said}" if inside else said


def _what_warns(still_open: list[FollowUp]) -> str:
    if any(one.kind == LEAK_TEST for one in still_open):
        return _(
            "Failed or suspected leak, out of use. Keep people away, do not handle, isolate, call "
            "the person named in the local rules."
        )
    if any(one.kind in (ACCOUNTING, MISSING) for one in still_open):
        return _(
            "Not where it should be. Look for it, and tell the person named in the local rules."
        )
    if any(one.kind in ABOUT_THINGS for one in still_open):
        return _("Failed, out of use. Do not rely on it.")
    return _("Something here was found not in order, and nobody has closed the follow-up.")
