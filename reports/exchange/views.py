"""Load a spreadsheet: take the file in, show what is understood of it, write it when confirmed."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from config.bounds import drop
from inventory.calc.errors import DomainError
from inventory.ledger.models import Record
from inventory.ledger.write import Overtaken, read_body
from inventory.pages import overtaken_text, record_of
from inventory.sentences import error_text
from reports.exchange import pending
from reports.exchange.forms import UploadForm, is_too_large
from reports.exchange.models import PendingFile
from reports.exchange.opening.limits import LARGEST_FILE, MEBIBYTE
from reports.exchange.page.context import context_of, row_context
from reports.exchange.page.decisions import Refused, act
from reports.exchange.page.rows import Rows
from reports.exchange.page.say import each
from reports.exchange.page.totals import not_ready, were_written
from reports.exchange.planned import Plan
from reports.exchange.register_now import FILE_LOADED_KIND
from reports.exchange.understood import LoadFault
from reports.exchange.write import write

TEMPLATE_FILE = settings.BASE_DIR / "fixtures" / "sources-template.csv"


# ---------------------------------------------------------------- a file comes in


@csrf_exempt
def new(request: Any, site: str) -> HttpResponse:
    """Take a spreadsheet in. What is announced as too large is refused before any of it is read,
    so also before its token could be: nothing is changed by that answer."""
    if request.method == "POST" and is_too_large(request):
        drop(request)
        form = UploadForm()
        most = {"most": LARGEST_FILE // MEBIBYTE}
        fault = _("The file is larger than %(most)s MB: is it a list of sources?") % most
        return _new_page(request, form, [fault], status=413)
    return _take_in(request, site)


@csrf_protect
def _take_in(request: Any, site: str) -> HttpResponse:
    if request.method != "POST":
        return _new_page(request, UploadForm(), [])
    form = UploadForm(request.POST, request.FILES)
    if not form.is_valid():
        return _new_page(request, form, [])
    sent = form.cleaned_data["file"]
    content = sent.read(LARGEST_FILE + 1)
    try:
        pending.check(sent.name, content)
    except LoadFault as fault:
        return _new_page(request, form, each(fault.faults))
    waiting = pending.keep(request.site, sent.name, content, by=request.user, at=request.now)
    return redirect("load-file", site, waiting.pk)


def _new_page(request: Any, form: UploadForm, faults: list[str], status: int = 200) -> HttpResponse:
    context = {"form": form, "faults": faults, "waiting": list(pending.of_site(request.site))}
    return render(request, "exchange/new.html", context, status=status)


def template(request: Any, site: str) -> HttpResponse:
    """An empty list to fill in."""
    return HttpResponse(
        TEMPLATE_FILE.read_bytes(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{TEMPLATE_FILE.name}"'},
    )


# ---------------------------------------------------------------- it waits for its owner


def file(request: Any, site: str, pk: int) -> HttpResponse:
    """A file that waits: questions, rows as they will be understood, and the button that loads."""
    waiting = pending.of_site(request.site).filter(pk=pk).first()
    try:
        return _gone(request) if waiting is None else _waits(request, waiting)
    except PendingFile.DoesNotExist:  # loaded or discarded while this was worked out
        return _gone(request)


def _waits(request: Any, waiting: PendingFile) -> HttpResponse:
    if request.method != "POST":
        return _show(request, waiting)
    site = request.site.slug
    do = request.POST.get("do")
    if do == "discard":
        waiting.delete()
        messages.success(request, _("The file was discarded. Nothing of it was loaded."))
        return redirect("load-new", site)
    if do == "confirm":
        return _confirm(request, waiting)
    try:
        waiting = act(request, waiting)
    except Refused as refused:
        messages.error(request, str(refused))
    if request.headers.get("HX-Request"):
        return _row(request, waiting, request.POST.get("key", ""), edit=False)
    return redirect(_back(request, waiting))


def _gone(request: Any) -> HttpResponse:
    """It was loaded or discarded meanwhile, perhaps by a second click."""
    if request.method != "POST":
        raise Http404
    messages.info(request, _("This file does not wait any more: it was loaded or discarded."))
    done = _loaded_as(request, request.POST.get("sha256", ""))
    if done is not None:
        return redirect("load-done", request.site.slug, done.seq)
    return redirect("load-new", request.site.slug)


def _loaded_as(request: Any, sha256: str) -> Record | None:
    """The newest record that says that this file was loaded here."""
    found = Record.objects.filter(site=request.site, kind=FILE_LOADED_KIND)
    newest = found.order_by("-seq").first()
    if newest is None or read_body(newest)["detail"]["sha256"] != sha256:
        return None
    return newest


def _back(request: Any, waiting: PendingFile) -> str:
    """The page from which a form was sent, at the same rows."""
    sent = request.POST
    query = {name: sent[name] for name in ("show", "page") if sent.get(name)}
    url = reverse("load-file", args=[request.site.slug, waiting.pk])
    anchor = sent.get("anchor", "")
    return f"{url}?{urlencode(query)}" + (f"#{anchor}" if anchor else "")


def _show(request: Any, waiting: PendingFile) -> HttpResponse:
    edit = request.GET.get("edit", "")
    if request.headers.get("HX-Request"):
        return _row(request, waiting, edit or request.GET.get("row", ""), edit=bool(edit))
    try:
        plan = _plan(request, waiting)
    except LoadFault as fault:
        context: dict[str, Any] = {"waiting": waiting, "faults": each(fault.faults)}
        return render(request, "exchange/refused.html", context)
    context = context_of(plan, waiting, request.GET)
    return render(request, "exchange/file.html", context)


def _row(request: Any, waiting: PendingFile, key: str, *, edit: bool) -> HttpResponse:
    """One row alone, with what else on the page changed with it."""
    context = row_context(_plan(request, waiting), waiting, key, request, edit=edit)
    if context is None:
        raise Http404
    return render(request, "exchange/row_answer.html", context)


def _plan(request: Any, waiting: PendingFile) -> Plan:
    with transaction.atomic():
        return pending.look(waiting, request.site, request.today)


# ---------------------------------------------------------------- it is loaded


def _confirm(request: Any, waiting: PendingFile) -> HttpResponse:
    """Write what was shown, or say what is different from it now."""
    site = request.site.slug
    try:
        plan = _plan(request, waiting)
        if first := next(not_ready(Rows(plan)), ""):
            messages.error(request, first)
            return redirect("load-file", site, waiting.pk)
        loaded = write(
            plan,
            bytes(waiting.content),
            by=request.user,
            at=request.now,
            shown=request.POST.get("shown", ""),
        )
    except Overtaken as overtaken:
        if not PendingFile.objects.filter(pk=waiting.pk).exists():
            return _gone(request)
        messages.error(request, overtaken_text(overtaken))
        return redirect("load-file", site, waiting.pk)
    except DomainError as error:
        messages.error(request, error_text(error))
        return redirect("load-file", site, waiting.pk)
    except LoadFault as fault:
        for sentence in each(fault.faults)[:5]:
            messages.error(request, sentence)
        return redirect("load-file", site, waiting.pk)
    PendingFile.objects.filter(pk=waiting.pk).delete()
    if loaded.seq is None:
        messages.info(request, _("Everything in this file is here already: nothing was written."))
        return redirect("load-new", site)
    return redirect("load-done", site, loaded.seq)


def done(request: Any, site: str, seq: int) -> HttpResponse:
    """What loading a file wrote, and where to go on."""
    record = record_of(request, seq)
    if record.kind != FILE_LOADED_KIND:
        raise Http404
    detail = read_body(record)["detail"]
    counts = {name: int(number) for name, number in detail["counts"].items()}
    context = {
        "record": record,
        "name": detail["name"],
        "sha256": detail["sha256"],
        "written": were_written(counts),
        "first": detail["records"]["first"],
        "last": detail["records"]["last"],
        "left_out": detail["decisions"]["left_out"],
    }
    return render(request, "exchange/done.html", context)
