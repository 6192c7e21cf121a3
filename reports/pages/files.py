"""The documents of an item or a record: what they are, and how to have them."""

from __future__ import annotations

import json
from typing import Any

from django.db.models import Q, QuerySet
from django.template.defaultfilters import filesizeformat
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.documents.models import DOCUMENT_KIND, DOCUMENTS
from inventory.documents.wording import document_text
from inventory.ledger.models import Attachment, Item, Record
from inventory.sentences import day_text
from reports.pages.happened import kind_word


def files_of(request: Any, item: Item) -> list[dict[str, Any]]:
    """Every file of every record about an item, newest first."""
    return _rows(request, Attachment.objects.filter(record__about__item=item))


def files_about(request: Any, record: Record) -> list[dict[str, Any]]:
    """The files of a record and those that were attached to it later."""
    later = Q(record__links__target=record, record__links__role=DOCUMENTS)
    return _rows(request, Attachment.objects.filter(Q(record=record) | later))


def _rows(request: Any, found: QuerySet[Attachment]) -> list[dict[str, Any]]:
    rows = found.select_related("record__recorded_by").order_by("-record__seq", "pk").distinct()
    return [_row(request, one) for one in rows]


def _row(request: Any, one: Attachment) -> dict[str, Any]:
    record, site = one.record, request.site
    detail = json.loads(record.body)["detail"] if record.kind == DOCUMENT_KIND else {}
    values = {"by": record.recorded_by.name, "on": day_text(site.day(record.recorded_at))}
    return {
        "title": detail.get("title") or one.name,
        "what": document_text(detail) if detail else kind_word(record.kind),
        "name": one.name,
        "size": filesizeformat(one.size),
        "sha256": one.sha256,
        "url": reverse("document", args=[site.slug, record.seq, one.sha256]),
        "record_url": reverse("record", args=[site.slug, record.seq]),
        "record": _("record %(seq)s") % {"seq": record.seq},
        "added": _("added by %(by)s on %(on)s") % values,
    }
