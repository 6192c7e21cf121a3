"""Record a wipe, correct one, accept one: doors to ``surveys.leak.actions``."""

from __future__ import annotations

import json
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.evidence.kinds import is_check
from inventory.followups.models import FollowUp
from inventory.ledger.models import Record
from inventory.pages import record_of, replacing
from inventory.requirements.actions import accept as accept_record
from surveys.leak import recount, wording
from surveys.leak.actions import accept_leak_test, record_leak_test
from surveys.leak.forms import AcceptForm, WipeForm
from surveys.leak.judging import Judged, judge_wipe
from surveys.leak.models import LEAK_TEST_KIND
from surveys.leak.prefill import from_record, new_wipe
from surveys.monitors.models import CALIBRATION_KIND
from surveys.sentences import SENTENCES


def acceptable(kind: str) -> bool:
    """Whether records of this kind are entered by somebody and accepted by the supervisor."""
    return kind in (LEAK_TEST_KIND, CALIBRATION_KIND) or is_check(kind)


def new(request: Any, site: str) -> HttpResponse:
    """Record a wipe; ``?source=CODE`` names the source."""
    return _wipe_page(request, site, None, new_wipe(request))


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a recorded wipe by a replacing record; ``?recount=1``: count it again."""
    old = record_of(request, seq)
    values = from_record(request, old)
    if "recount" in request.GET and recount.can_be_recounted(old):
        values = recount.initial(values, old, request.today)
        return _wipe_page(request, site, old, values, recount.RecountForm)
    return _wipe_page(request, site, old, values)


def _wipe_page(
    request: Any,
    site: str,
    old: Record | None,
    initial: dict[str, Any],
    kind: type[WipeForm] = WipeForm,
) -> HttpResponse:
    preview = None
    if request.method == "POST":
        form = kind(request, request.POST, replaces=old)
        if form.is_valid():
            if request.POST.get("do") == "preview":
                preview = _preview(form)
            elif record := form.save_with(lambda: _record(request, form, old), SENTENCES):
                return redirect("record", site, record.seq)
    else:
        form = kind(request, initial=kind.fresh(request, **initial), replaces=old)
    context = {
        "form": form,
        "preview": preview,
        "replacing": replacing(site, old) if old else None,
        "recounting": kind is recount.RecountForm,
        "warned": _warned(form),
    }
    return render(request, "leak/form.html", context)


def _warned(form: WipeForm) -> list[str]:
    """Sources that the form offers to tick and whose follow-up is open: they stay out of use."""
    sources: Any = form.fields["sources"]
    if form.chosen_from_list:
        return []
    still_open = FollowUp.objects.still_open().filter(item__in=sources.queryset)
    return sorted(set(still_open.values_list("item__label", flat=True)))


def _record(request: Any, form: WipeForm, old: Record | None) -> Record:
    data = form.cleaned_data
    return record_leak_test(
        site=request.site,
        by=request.user,
        at=request.now,
        wipe=form.wipe(),
        accepted=bool(data.get("accept")),
        accept_because=data.get("accept_because", ""),
        request_key=data["request_key"],
        seen=data["seen"],
        replaces=old,
        because=data.get("because", ""),
    )


def _preview(form: WipeForm) -> dict[str, Any] | None:
    """The verdicts as they would be recorded, nothing saved."""
    try:
        judged = judge_wipe(form.wipe())
    except DomainError as error:
        form.refuse(error, SENTENCES)
        return None
    points = [(one, wording.judged_point(one)) for one in judged]
    first, point = points[0]
    return {
        "headline": " ".join(_said(one, each) for one, each in points),
        "outcome": "not_relied_on" if first.unfit_because else wording.outcome_of(point),
        "figures": wording.figures(point),
        "lines": [line for _one, each in points for line in wording.verdict_lines(each)],
    }


def _said(judged: Judged, point: dict[str, Any]) -> str:
    """The finding of one source; what cannot be relied on says so first."""
    unfit = wording.fit_text(not judged.unfit_because, judged.unfit_because)
    return f"{judged.source.label}: {unfit} {wording.finding(point)}".replace("  ", " ")


def accept(request: Any, site: str, seq: int) -> HttpResponse:
    """The supervisor accepts what somebody entered."""
    record = record_of(request, seq)
    if not acceptable(record.kind):
        raise Http404
    if request.method == "POST":
        form = AcceptForm(request.POST)
        if form.is_valid() and form.save_with(lambda: _accept(request, record, form), SENTENCES):
            messages.success(request, _("The record is accepted."))
            return redirect("record", site, seq)
    else:
        form = AcceptForm(initial=AcceptForm.fresh(request))
    context = {"form": form, "accepting": replacing(site, record), "findings": _findings(record)}
    return render(request, "leak/accept.html", context)


def _accept(request: Any, record: Record, form: AcceptForm) -> Record:
    act = accept_leak_test if record.kind == LEAK_TEST_KIND else accept_record
    return act(
        record,
        by=request.user,
        at=request.now,
        reason=form.cleaned_data["reason"],
        request_key=form.cleaned_data["request_key"],
    )


def _findings(record: Record) -> list[str]:
    if record.kind != LEAK_TEST_KIND:
        return []
    return [wording.finding(point) for point in json.loads(record.body)["points"]]
