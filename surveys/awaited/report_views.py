"""A laboratory's report on a page: a row for each wipe that is away there."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.errors import DomainError
from inventory.items.actions import description_in_force, snapshot_of
from inventory.ledger.models import Item, Record
from inventory.sentences import day_text
from surveys.awaited.actions import record_report, wipe_of
from surveys.awaited.report_form import MOST_ROWS, ReportForm
from surveys.awaited.views import laboratory_of
from surveys.awaited.waiting import Away, away, shown, waiting_at
from surveys.leak import wording
from surveys.leak.judging import Judged, judge_wipes
from surveys.sentences import SENTENCES


def enter(request: Any, site: str, code: str) -> HttpResponse:
    """Enter what a laboratory reports; ``?wipe=SEQ`` (repeated) for these wipes only."""
    laboratory = laboratory_of(request, code)
    found = waiting_at(laboratory)
    unit = snapshot_of(description_in_force(laboratory))["unit"]
    preview = None
    if request.method == "POST":
        wipes = list(away(shown(found)))
        form = ReportForm(request, request.POST, request.FILES, wipes=wipes, unit=unit)
        if form.is_valid():
            if request.POST.get("do") == "preview":
                preview = _preview(form, laboratory)
            elif record := form.save_with(lambda: _record(request, form, laboratory), SENTENCES):
                return _done(request, form, record)
    else:
        wipes = list(away(shown(_asked(request, found))[:MOST_ROWS]))
        initial = ReportForm.fresh(request, reported_on=request.today)
        form = ReportForm(request, initial=initial, wipes=wipes, unit=unit)
    context = {
        "form": form,
        "laboratory": laboratory,
        "unit": unit,
        "lines": [(row, one, _said_of(one)) for row, one in form.lines],
        "left": max(0, found.count() - len(form.lines)),
        "preview": preview,
    }
    return render(request, "awaited/report.html", context)


def _asked(request: Any, found: Any) -> Any:
    asked = set(request.GET.getlist("wipe"))
    if not asked:
        return found
    # By their texts: a number that no column can hold is no wipe either.
    there = found.values_list("seq", flat=True)
    return found.filter(seq__in=[seq for seq in there if str(seq) in asked])


def _said_of(one: Away | None) -> dict[str, str]:
    if one is None:
        return {"names": _("A wipe that is not away at this laboratory any more."), "taken": ""}
    return {"names": one.names, "envelope": one.envelope, "taken": day_text(one.taken_on)}


def _preview(form: ReportForm, laboratory: Item) -> list[dict[str, Any]] | None:
    """The verdicts as they would be recorded, nothing saved."""
    about = form.about()
    results = form.results(laboratory.label)
    try:
        if not all(seq in form.away for seq, _result in results):
            raise DomainError("wipe_not_away", {"seq": results[0][0]})
        wipes = [wipe_of(form.away[seq], result, about) for seq, result in results]
        judged = judge_wipes(wipes)
    except DomainError as error:
        form.refuse(error, SENTENCES)
        return None
    return [_verdict(one) for verdicts in judged for one in verdicts]


def _verdict(judged: Judged) -> dict[str, Any]:
    point = wording.judged_point(judged)
    unfit = wording.fit_text(not judged.unfit_because, judged.unfit_because)
    return {
        "source": judged.source.label,
        "outcome": "not_relied_on" if unfit else wording.outcome_of(point),
        "headline": f"{judged.source.label}: {unfit} {wording.finding(point)}".replace("  ", " "),
        "lines": wording.verdict_lines(point),
    }


def _record(request: Any, form: ReportForm, laboratory: Item) -> Record:
    data = form.cleaned_data
    return record_report(
        laboratory,
        form.about(),
        form.results(laboratory.label),
        by=request.user,
        at=request.now,
        accepted=bool(data.get("accept")),
        accept_because=data.get("accept_because", ""),
        request_key=data["request_key"],
        seen=data["seen"],
    )[0]


def _done(request: Any, form: ReportForm, record: Record) -> HttpResponse:
    """One result: its record. Several: what is still away, with a word about what came."""
    count = len(form.rows.written)
    if count == 1:
        return redirect("record", request.site.slug, record.seq)
    said = ngettext("%(n)s result is recorded.", "%(n)s results are recorded.", count)
    messages.success(request, said % {"n": count})
    return redirect("awaited", request.site.slug)
