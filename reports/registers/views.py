"""Registers on a page and as files. Rows are collected inside a transaction, drawn outside."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.sentences import day_text
from reports.forms import RegisterForm, as_of
from reports.registers import source
from reports.registers.base import Register

PAGE = 100


def _source(request: Any) -> tuple[Register, Any]:
    at, form = as_of(request, RegisterForm)
    with transaction.atomic():
        register = source.build(request.site, at, made_by=request.user, made_at=request.now)
    return register, form


def source_page(request: Any, site: str) -> HttpResponse:
    """The source register of a day on screen."""
    register, form = _source(request)
    rows: Any = register.rows
    shown = Paginator(rows, PAGE).get_page(request.GET.get("page"))
    query = urlencode({name: request.GET[name] for name in ("on", "known") if name in request.GET})
    files = (
        (_("PDF, A4"), f"{reverse('register-source-pdf', args=[site])}?{query}"),
        (_("PDF, Letter"), f"{reverse('register-source-pdf', args=[site])}?{query}&paper=Letter"),
        (_("CSV"), f"{reverse('register-source-csv', args=[site])}?{query}"),
    )
    context = {
        "register": register,
        "head": _head(register),
        "rows": [[column.get(row) for column in register.columns] for row in shown],
        "form_on": form,
        "downloads": files,
        "page": shown,
        "query": query,
    }
    return render(request, "registers/page.html", context)


def _head(register: Register) -> list[tuple[str, str]]:
    return [
        (_("As of"), day_text(register.at.on)),
        (_("Schedule"), register.schedule_line),
        (_("Number"), register.number),
        (_("Chain head"), f"{register.chain_head} ({register.chain_seq})"),
    ]


def source_pdf(request: Any, site: str) -> HttpResponse:
    """The source register as PDF."""
    from reports import pdf

    register, form = _source(request)
    if form.errors:
        return _cannot_read(form)
    paper: pdf.Paper = "Letter" if request.GET.get("paper") == "Letter" else "A4"
    return _file(pdf.render(register, paper), "application/pdf", f"{register.number}.pdf")


def source_csv(request: Any, site: str) -> HttpResponse:
    """The source register as CSV."""
    from reports.registers.csv_out import to_csv

    register, form = _source(request)
    if form.errors:
        return _cannot_read(form)
    return _file(to_csv(register), "text/csv; charset=utf-8", f"{register.number}.csv")


def _cannot_read(form: Any) -> HttpResponse:
    """A file for a day that could not be read would be a register of another day."""
    sentences = [str(error) for errors in form.errors.values() for error in errors]
    return HttpResponseBadRequest(" ".join(sentences), content_type="text/plain; charset=utf-8")


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type=kind,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
