"""Count wipes: the grid, its answers while one types, the recorded session, accepting it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.ledger.models import Item, Record
from surveys.leak.wording import fit_text
from surveys.sentences import SENTENCES
from surveys.sessions import grid, wording
from surveys.sessions.actions import record_session
from surveys.sessions.forms import SessionForm
from surveys.sessions.picks import offer
from surveys.sessions.prefill import new_session, rows_asked_for
from surveys.sessions.rows import Rows
from surveys.sessions.work import Worked, work_out

#: Buttons that change the grid; nothing is judged and nothing refused.
CHANGES = {
    "more": grid.more,
    "paste": grid.pasted,
    "fill": grid.chosen,
    "clear": grid.cleared,
}


def new(request: Any, site: str) -> HttpResponse:
    """The page; with ``do`` one of its buttons or the answer that htmx asks for as one types."""
    do = request.POST.get("do", "")
    if request.method != "POST":
        initial = SessionForm.fresh(request, **new_session(request))
        form, rows = SessionForm(request, initial=initial), rows_asked_for(request)
    elif do in CHANGES:
        form = SessionForm(request, initial=_as_sent(request.POST))
        rows = CHANGES[do](request.POST)
    elif do in ("row", "head"):
        return _answer(request, do)
    else:
        return _judged(request, do)
    return _page(request, form, rows, None)


def _as_sent(data: Any) -> dict[str, Any]:
    """The head as it was written, unchecked."""
    return {name: data.get(name, "") for name in SessionForm.base_fields}


def _answer(request: Any, do: str) -> HttpResponse:
    """The verdict of one row, or of all when the head changed; nothing is saved."""
    form, rows = SessionForm(request, request.POST), Rows.sent(request.POST, request.today)
    only = None
    if do == "row":
        number = request.POST.get("row", "")
        only = int(number) if number.isdecimal() and len(number) < 4 else 0
    worked = work_out(request, form, rows, only)
    shown = [row for row in rows if only in (None, row.number)]
    context = {
        "results": [wording.row_result(row, worked) for row in shown],
        "batch": wording.batch_lines(worked.batch),
        "check": wording.check_lines(worked.check),
        "head": do == "head",
        "counter": _counter_said(worked),
        "faults": _head_faults(form) if do == "head" else [],
        "oob": True,
    }
    return render(request, "sessions/answer.html", context)


def _head_faults(form: SessionForm) -> list[str]:
    """What is wrong with what was written at the top; what is still empty is not called wrong."""
    return [
        f"{form.fields[name].label}: {text}"
        for name, errors in form.errors.items()
        if name in form.fields and form.data.get(name)
        for text in errors
    ]


def _judged(request: Any, do: str) -> HttpResponse:
    """Everything worked out, and recorded when that was asked for and nothing is wrong."""
    form, rows = SessionForm(request, request.POST), Rows.sent(request.POST, request.today)
    worked = work_out(request, form, rows)
    if do == "record":
        form.clean_to_record()
        form.order = worked.order
        if form.is_valid() and not any(rows.faults):
            record = form.save_with(lambda: _record(request, form, worked), SENTENCES)
            if record is not None:
                messages.success(request, _("The session is recorded."))
                return redirect("session", request.site.slug, record.seq)
    return _page(request, form, rows, worked)


def _record(request: Any, form: SessionForm, worked: Worked) -> Record:
    assert worked.session is not None
    data = form.cleaned_data
    return record_session(
        site=request.site,
        by=request.user,
        at=request.now,
        session=worked.session,
        accepted=bool(data.get("accept")),
        request_key=data["request_key"],
        seen=data["seen"],
    )


def _page(request: Any, form: SessionForm, rows: Rows, worked: Worked | None) -> HttpResponse:
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    results = {row.number: wording.row_result(row, worked) for row in rows} if worked else {}
    context = {
        "form": form,
        "rows": [(row, results.get(row.number, {"number": row.number})) for row in rows],
        "size": len(rows),
        "offer": offer(request.site, items, request.today),
        "row_faults": list(rows.faults) if worked else [],
        "worked": worked is not None,
        "batch": wording.batch_lines(worked.batch) if worked else None,
        "check": wording.check_lines(worked.check) if worked else None,
        "counter": _counter_said(worked) if worked else "",
    }
    return render(request, "sessions/new.html", context)


def _counter_said(worked: Worked) -> str:
    """That the counter cannot be relied on that day, said once at the top."""
    return fit_text(not worked.unfit_because, worked.unfit_because)
