"""Registers on a page and as files. Rows are collected inside a transaction, drawn outside."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.sentences import day_text
from reports.forms import RangedRegisterForm, RegisterForm, as_of
from reports.registers.base import Register
from reports.registers.kinds import KINDS, Kind, build
from reports.registers.write import ENDINGS, content_of

PAGE = 100
#: A column that is to have this part of the width holds sentences.
ROOMY = 0.14
ASKED = ("since", "on", "known")
TYPES = {
    ".pdf": "application/pdf",
    ".csv": "text/csv; charset=utf-8",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def registers(request: Any, site: str) -> HttpResponse:
    """The registers there are, as pages and as files of today."""
    lines = [
        {
            "title": kind.title,
            "about": kind.about,
            "url": reverse("register", args=[site, kind.key]),
            "files": _files(site, kind, ""),
        }
        for kind in KINDS.values()
    ]
    return render(request, "registers/all.html", {"registers": lines, "today": request.today})


def register(request: Any, site: str, kind: str) -> HttpResponse:
    """A register of a day on screen."""
    which = _kind(kind)
    made, form = _made(request, which)
    rows: Any = made.rows
    shown = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    query = urlencode({name: request.GET[name] for name in ASKED if name in request.GET})
    people = made.columns_for("people")
    share = ROOMY * sum(column.width for column in people)
    context = {
        "register": made,
        "columns": people,
        "roomy": [column for column in people if column.width >= share],
        "head": _head(made),
        "rows": [[(column, column.get(row)) for column in people] for row in shown],
        "form_on": form,
        "downloads": [] if form.errors else _files(site, which, query),
        "page": shown,
        "query": query,
    }
    return render(request, "registers/page.html", context)


def register_file(request: Any, site: str, kind: str, ending: str) -> HttpResponse:
    """A register of a day as a file."""
    which, suffix = _kind(kind), f".{ending}"
    if suffix not in ENDINGS:
        raise Http404
    made, form = _made(request, which)
    if form.errors:
        return _cannot_read(form)
    paper = "Letter" if request.GET.get("paper", "").lower() == "letter" else "A4"
    return HttpResponse(
        content_of(made, suffix, paper),
        content_type=TYPES[suffix],
        headers={"Content-Disposition": f'attachment; filename="{made.number}{suffix}"'},
    )


def _kind(key: str) -> Kind:
    if key not in KINDS:
        raise Http404
    return KINDS[key]


def _made(request: Any, kind: Kind) -> tuple[Register, Any]:
    at, form = as_of(request, RangedRegisterForm if kind.ranged else RegisterForm)
    since = form.cleaned_data.get("since") if form.is_bound and form.is_valid() else None
    with transaction.atomic():
        made = build(kind, request.site, at, by=request.user, made_at=request.now, since=since)
    return made, form


def _files(site: str, kind: Kind, query: str) -> list[tuple[str, str]]:
    """The files of a register: what each is called, and its address."""

    def address(ending: str, more: str = "") -> str:
        asked = "&".join(part for part in (query, more) if part)
        url = reverse("register-file", args=[site, kind.key, ending])
        return f"{url}?{asked}" if asked else url

    return [
        (_("PDF, A4"), address("pdf")),
        (_("PDF, Letter"), address("pdf", "paper=Letter")),
        (_("CSV"), address("csv")),
        (_("XLSX"), address("xlsx")),
    ]


def _head(made: Register) -> list[tuple[str, str]]:
    days = day_text(made.at.on)
    if made.from_on is not None:
        values = {"since": day_text(made.from_on), "on": days}
        days = _("%(on)s, from %(since)s") % values
    return [
        (_("As of"), days),
        (_("Schedule"), made.schedule_line),
        (_("Number"), made.number),
        (_("Chain head"), f"{made.chain_head} ({made.chain_seq})"),
    ]


def _cannot_read(form: Any) -> HttpResponse:
    """A file for a day that could not be read would be a register of another day."""
    sentences = [str(error) for errors in form.errors.values() for error in errors]
    return HttpResponseBadRequest(" ".join(sentences), content_type="text/plain; charset=utf-8")
