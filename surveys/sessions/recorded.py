"""A recorded session: every wipe with its verdict, what to do next, and accepting them together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.permissions import DECIDE, ENTER
from inventory.calc.errors import DomainError
from inventory.followups.models import FollowUp
from inventory.ledger.models import Item, Record
from inventory.ledger.write import read_body
from inventory.pages import record_of, replacing
from inventory.sentences import day_text, error_text
from surveys.leak import wording as leak_wording
from surveys.leak.models import SESSION_KIND, Way
from surveys.sentences import SENTENCES
from surveys.sessions import wording
from surveys.sessions.acceptance import Waiting, accept_wipes, waiting, wipes_of


def page(request: Any, site: str, seq: int) -> HttpResponse:
    """The session with this number."""
    session = _session(request, seq)
    body = read_body(session)
    wipes = wipes_of(session)
    waits = {one.record.pk: one for one in waiting(wipes)}
    open_on = _open_follow_ups(wipes)
    shown = [_wipe(request, wipe, waits, open_on) for wipe in wipes]
    context = {
        "session": session,
        "head": _head(request, session, body),
        "batch": wording.kept_lines(body["detail"]["batch_steps"]),
        "check": wording.kept_lines(body["detail"]["check_steps"]),
        "counts": _counts(shown),
        "warned": sorted({label for one in shown for label in one["out_of_use"]}),
        "wipes": shown,
        "may_accept": bool(request.roles & DECIDE) and any(not w.because for w in waits.values()),
        "may_enter": bool(request.roles & ENTER),
        "record_url": reverse("record", args=[site, seq]),
    }
    return render(request, "sessions/session.html", context)


def _session(request: Any, seq: int) -> Record:
    session = record_of(request, seq)
    if session.kind != SESSION_KIND:
        raise Http404
    return session


def _head(request: Any, session: Record, body: Mapping[str, Any]) -> list[tuple[str, str]]:
    detail = body["detail"]
    pairs = [
        (_("Counter"), session.instrument.label if session.instrument else ""),
        (_("Counted on"), day_text(session.effective_on)),
        (_("Counted by"), detail["counted_by"]),
        (_("Background"), leak_wording.counts_text(detail["background"])),
    ]
    if detail["check"]:
        item = Item.objects.filter(site=request.site, code=detail["check"]["source"]).first()
        said = _("%(source)s: %(counts)s")
        values = {
            "source": item.label if item else detail["check"]["source"],
            "counts": leak_wording.counts_text(detail["check"]["counts"]),
        }
        pairs.append((_("Check source"), said % values))
    return [(term, text) for term, text in pairs if text]


def _open_follow_ups(wipes: Sequence[Record]) -> dict[int, set[str]]:
    """By record: the sources whose follow-up it opened and that nobody has closed."""
    out: dict[int, set[str]] = {}
    found = FollowUp.objects.still_open().filter(opened_by__in=[wipe.pk for wipe in wipes])
    for opened_by, label in found.values_list("opened_by", "item__label"):
        out.setdefault(opened_by, set()).add(label)
    return out


def _wipe(
    request: Any,
    wipe: Record,
    waits: Mapping[int, Waiting],
    open_on: Mapping[int, set[str]],
) -> dict[str, Any]:
    body = read_body(wipe)
    newer = getattr(wipe, "replaced_by", None)
    args = [request.site.slug]
    mentions = {mention.item.code: mention for mention in wipe.about.all()}
    out_of_use = open_on.get(wipe.pk, set())
    return {
        "seq": wipe.seq,
        "url": reverse("record", args=[*args, wipe.seq]),
        "replaced": replacing(request.site.slug, newer) if newer else None,
        "wiped_text": day_text(wipe.effective_on),
        "by": wipe.performed_by,
        "point": body["detail"]["point_wiped"],
        "remark": body["remark"],
        "counts": _counted(body["detail"]),
        "results": [_result(request, mentions[point["item"]], point) for point in body["points"]],
        "accepted": _accepted(wipe, waits),
        "out_of_use": out_of_use,
    }


def _counted(detail: Mapping[str, Any]) -> str:
    """What was counted; a correction may have turned the wipe into a laboratory's."""
    return leak_wording.counts_text(detail["gross"]) if detail["way"] == Way.COUNTS else ""


def _result(request: Any, mention: Any, point: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "source": mention.item.label,
        "url": reverse("item", args=[request.site.slug, mention.item.code]),
        "outcome": leak_wording.outcome_of(point) if mention.fit else "not_relied_on",
        "finding": leak_wording.finding(point),
        "fit_text": leak_wording.fit_text(mention.fit, mention.unfit_because),
        "figures": wording.figures(point),
    }


def _accepted(wipe: Record, waits: Mapping[int, Waiting]) -> str:
    one = waits.get(wipe.pk)
    if one is None:
        return "" if hasattr(wipe, "replaced_by") else _("Accepted.")
    if not one.because:
        return _("Entered; it satisfies only once the supervisor has accepted it.")
    because = SENTENCES[one.because]
    return _("Entered; it is not accepted with the others: %(why)s.") % {"why": because}


def _counts(shown: Sequence[Mapping[str, Any]]) -> str:
    """How the wipes came out, in one sentence."""
    live = [result for one in shown if not one["replaced"] for result in one["results"]]
    found = {
        outcome: sum(1 for one in live if one["outcome"] == outcome)
        for outcome in ("fail", "pass", "inconclusive", "not_evaluable", "not_relied_on")
    }
    said = (
        ngettext("%(n)s fails", "%(n)s fail", found["fail"]) % {"n": found["fail"]},
        ngettext("%(n)s passes", "%(n)s pass", found["pass"]) % {"n": found["pass"]},
        _("%(n)s inconclusive") % {"n": found["inconclusive"]},
        _("%(n)s not evaluable") % {"n": found["not_evaluable"]},
        _("%(n)s not relied on") % {"n": found["not_relied_on"]},
    )
    kept = [text for text, number in zip(said, found.values(), strict=True) if number]
    return ", ".join(kept) + "." if kept else ""


def accept(request: Any, site: str, seq: int) -> HttpResponse:
    """The supervisor accepts the wipes that stand, after having seen which do and which do not."""
    session = _session(request, seq)
    if request.method == "POST":
        numbers = {
            int(one) for one in request.POST.getlist("wipe") if one.isdecimal() and len(one) < 12
        }
        try:
            done = accept_wipes(session, by=request.user, at=request.now, numbers=numbers)
        except DomainError as error:
            messages.error(request, error_text(error, SENTENCES))
        else:
            said = ngettext("%(n)s wipe is accepted.", "%(n)s wipes are accepted.", len(done))
            messages.success(request, said % {"n": len(done)})
        return redirect("session", site, seq)
    waits = waiting(wipes_of(session))
    context = {
        "accepting": replacing(site, session)
        | {"url": reverse("session", args=[site, session.seq])},
        "ready": [_line(request, one) for one in waits if not one.because],
        "staying": [_line(request, one) for one in waits if one.because],
    }
    return render(request, "sessions/accept.html", context)


def _line(request: Any, one: Waiting) -> dict[str, Any]:
    record = one.record
    points = read_body(record)["points"]
    mentions = {mention.item.code: mention for mention in record.about.all()}
    return {
        "seq": record.seq,
        "url": reverse("record", args=[request.site.slug, record.seq]),
        "because": SENTENCES.get(one.because, ""),
        "results": [_result(request, mentions[point["item"]], point) for point in points],
    }
