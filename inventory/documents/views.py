"""Add a document to a thing or to a record, and hand it out again."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.documents.actions import Document, add_document, attach_to_record
from inventory.documents.content import type_of
from inventory.documents.forms import DocumentForm
from inventory.ledger import files
from inventory.ledger.models import Attachment, Record
from inventory.pages import item_of, record_of, replacing

Act = Callable[[Document, dict[str, Any]], Record]


def new(request: Any, site: str, code: str) -> HttpResponse:
    """Add a document to a source, a gauge, a monitor or a location."""
    item = item_of(request, code)

    def act(document: Document, how: dict[str, Any]) -> Record:
        return add_document(item, document, **how)

    done = redirect("item", site, item.code)
    return _page(request, act, done, {"item": item, "record": None})


def attach(request: Any, site: str, seq: int) -> HttpResponse:
    """Attach a file to a record: a new record that names it."""
    record = record_of(request, seq)

    def act(document: Document, how: dict[str, Any]) -> Record:
        return attach_to_record(record, document, **how)

    done = redirect("record", site, seq)
    return _page(request, act, done, {"item": None, "record": replacing(site, record)})


def _page(request: Any, act: Act, done: HttpResponse, context: dict[str, Any]) -> HttpResponse:
    if request.method == "POST":
        form = DocumentForm(request.POST, request.FILES)
        if form.is_valid() and form.save_with(lambda: _add(request, form, act)):
            messages.success(request, _("The document is recorded."))
            return done
    else:
        form = DocumentForm(initial=DocumentForm.fresh(request))
    return render(request, "documents/form.html", {"form": form, **context})


def _add(request: Any, form: DocumentForm, act: Act) -> Record:
    how = {"by": request.user, "at": request.now}
    how |= {name: form.cleaned_data[name] for name in ("request_key", "seen")}
    return act(form.document(), how)


def download(request: Any, site: str, seq: int, sha256: str) -> HttpResponseBase:
    """A file of a record, as a download; one that is no longer what was kept is refused."""
    record = record_of(request, seq)
    attachment = Attachment.objects.filter(record=record, sha256=sha256.lower()).first()
    if attachment is None:
        raise Http404
    content = _content(attachment.sha256)
    if content is None or hashlib.sha256(content).hexdigest() != attachment.sha256:
        context = {
            "attachment": attachment,
            "missing": content is None,
            "record": replacing(site, record),
        }
        return render(request, "documents/refused.html", context, status=409)
    response = FileResponse(
        io.BytesIO(content),
        as_attachment=True,
        filename=attachment.name,
        content_type=_media_type(content),
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-cache"
    return response


def _content(sha256: str) -> bytes | None:
    try:
        return files.path_of(sha256).read_bytes()
    except OSError:
        return None


def _media_type(content: bytes) -> str:
    """By content; what may not be attached any more is handed out as plain bytes."""
    try:
        kind = type_of(content)
    except DomainError:
        kind = None
    return kind.media_type if kind else "application/octet-stream"
