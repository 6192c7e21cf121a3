"""One record: what it says, what it rests on, its text and its hash."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from config.permissions import DECIDE, ENTER
from inventory.calc.stays import VERBS
from inventory.custody.wording import said_of_a_movement
from inventory.evidence.kinds import is_check, own_titles
from inventory.evidence.models import HAPPENING_KIND
from inventory.evidence.wording import entered
from inventory.knowledge import ACCEPTS
from inventory.ledger.models import Record, RecordItem, RecordLink
from inventory.pages import record_of
from inventory.sentences import day_text, value_text
from reports.pages.files import files_about
from reports.pages.happened import about_lines, kind_word, labels_in
from reports.pdf import moment_text
from surveys.awaited.views import next_acts
from surveys.awaited.wording import sent_inputs
from surveys.dispatch import may_correct
from surveys.leak import wording
from surveys.leak.models import COUNTED_IN, LEAK_TEST_KIND, SENT_KIND, SESSION_KIND
from surveys.leak.recount import can_be_recounted
from surveys.leak.views import acceptable
from surveys.monitors.models import CALIBRATION_KIND, Basis


def page(request: Any, site: str, seq: int) -> HttpResponse:
    """A record of the site."""
    record = record_of(request, seq)
    body = json.loads(record.body)
    newer = Record.objects.filter(replaces=record).first()
    accepted = RecordLink.objects.filter(target=record, role=ACCEPTS).select_related(
        "record__recorded_by"
    )
    leak_test = record.kind == LEAK_TEST_KIND
    context = {
        "record": _head(request, record, [link.record for link in accepted]),
        "results": _leak_results(request, record, body) if leak_test else _others(request, record),
        "basis": wording.basis(body) if leak_test else [],
        "inputs": wording.inputs(body) if leak_test else _inputs(record, body),
        "replaced_by": _other(site, newer, newer.reason) if newer else None,
        "replaces": _other(site, record.replaces, record.reason) if record.replaces else None,
        "actions": _actions(request, record, newer, bool(accepted)),
        "files": files_about(request, record),
        "body": record.body,
    }
    return render(request, "leak/record.html", context)


def _head(request: Any, record: Record, accepted: list[Record]) -> dict[str, Any]:
    recorded = request.site.day(record.recorded_at)
    late = _("Entered late: it happened on %(on)s.") % {"on": day_text(record.effective_on)}
    return {
        "number": record.seq,
        "kind_word": capfirst(kind_word(record.kind, own_titles(request.site, [record.kind]))),
        "hash": record.hash,
        "recorded_text": moment_text(record.recorded_at, ZoneInfo(request.site.time_zone)),
        "by": record.recorded_by.name,
        "performed_by": record.performed_by or record.recorded_by.name,
        "effective_text": day_text(record.effective_on),
        "accepted_text": _accepted(record, accepted),
        "late_text": late if recorded > record.effective_on else "",
    }


def _accepted(record: Record, accepted: list[Record]) -> str:
    if record.accepted_by:
        return _("by %(name)s in the same act") % {"name": record.accepted_by.name}
    if not accepted:
        return _("not yet") if acceptable(record.kind) else ""
    first = accepted[0]
    values = {
        "name": first.recorded_by.name,
        "on": day_text(first.effective_on),
        "why": first.reason,
    }
    return (_("by %(name)s on %(on)s: %(why)s") if first.reason else _("by %(name)s on %(on)s")) % (
        values
    )


def _leak_results(request: Any, record: Record, body: Mapping[str, Any]) -> list[dict[str, Any]]:
    mentions = {mention.item.code: mention for mention in record.about.select_related("item").all()}
    return [_leak_result(request, mentions[point["item"]], point) for point in body["points"]]


def _leak_result(request: Any, mention: RecordItem, point: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "source": mention.item.label,
        "source_url": reverse("item", args=[request.site.slug, mention.item.code]),
        "outcome": wording.outcome_of(point) if mention.fit else "not_relied_on",
        "finding": wording.finding(point),
        "fit_text": wording.fit_text(mention.fit, mention.unfit_because),
        "figures": wording.figures(point),
        "lines": wording.verdict_lines(point),
    }


def _others(request: Any, record: Record) -> list[dict[str, Any]]:
    """Any other kind of record: a sentence about each item that it concerns."""
    labels = labels_in([record])
    return [
        {
            "source": mention.item.label,
            "source_url": reverse("item", args=[request.site.slug, mention.item.code]),
            "outcome": mention.outcome or "none",
            "finding": " ".join(about_lines(record, mention.item, mention, labels))
            or kind_word(record.kind).capitalize(),
            "figures": [],
        }
        for mention in record.about.select_related("item").all()
    ]


def _inputs(record: Record, body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What was entered with a movement or a calibration, beside what the result says."""
    if record.kind == SENT_KIND:
        return sent_inputs(body)
    if is_check(record.kind) or record.kind == HAPPENING_KIND:
        return entered(body)
    if record.kind not in (*VERBS, CALIBRATION_KIND):
        return []
    detail = body["detail"]
    pairs = [
        (_("Certificate"), detail.get("certificate")),
        (_("Laboratory"), detail.get("laboratory")),
        (_("Supplier"), detail.get("supplier")),
        *said_of_a_movement(detail),
        (_("Time"), record.effective_time and record.effective_time.strftime("%H:%M")),
        (_("Remark"), body["remark"]),
        *((point["nuclide"], _efficiency(point)) for point in body["points"]),
    ]
    return [(term, text) for term, text in pairs if text]


def _efficiency(point: Mapping[str, Any]) -> str:
    labels = {
        "u_rel": _("relative uncertainty %(value)s (k = 1)"),
        "source_efficiency": _("source efficiency %(value)s"),
        "window_cm2": _("window %(value)s cm²"),
    }
    said = [f"{value_text('', point['efficiency'])} {Basis(point['basis']).label}"]
    said += [
        label % {"value": value_text("", point[name])}
        for name, label in labels.items()
        if point[name] is not None
    ]
    return ", ".join(said)


def _other(site: str, record: Record, reason: str) -> dict[str, str]:
    return {
        "title": _("Record %(seq)s") % {"seq": record.seq},
        "url": reverse("record", args=[site, record.seq]),
        "reason": reason,
    }


def _actions(
    request: Any, record: Record, newer: Record | None, accepted: bool
) -> list[dict[str, Any]]:
    args = [request.site.slug, record.seq]
    attach = {"label": _("Attach a file"), "url": reverse("document-attach", args=args)}
    may_attach = [attach] if request.roles & ENTER else []
    if newer is not None:
        return may_attach
    out = []
    waits = not (record.accepted_by_id or accepted)
    if waits and request.roles & DECIDE and acceptable(record.kind):
        out.append({"label": _("Accept"), "url": reverse("record-accept", args=args)})
    out += _session_actions(request, record)
    out += next_acts(request, record)
    if request.roles & may_correct(record):
        out.append({"label": _("Correct"), "url": reverse("record-correct", args=args)})
    return out + may_attach


def _session_actions(request: Any, record: Record) -> list[dict[str, Any]]:
    """A session has a page of its own; a wipe that was counted here is counted again, and leads to
    the session in which it was counted."""
    site, out = request.site.slug, []
    if record.kind == SESSION_KIND:
        url = reverse("session", args=[site, record.seq])
        out.append({"label": _("The wipes of this session"), "url": url})
    if request.roles & ENTER and can_be_recounted(record):
        url = reverse("record-correct", args=[site, record.seq])
        out.append({"label": _("Recount"), "url": f"{url}?recount=1"})
    for link in json.loads(record.body)["links"]:
        if link["role"] == COUNTED_IN:
            url = reverse("session", args=[site, int(link["seq"])])
            out.append({"label": _("The counting session"), "url": url})
    return out
