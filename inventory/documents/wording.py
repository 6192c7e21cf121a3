"""A document as people read it: made from its record's own text."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from inventory.documents.models import DocumentKind
from inventory.sentences import day_text


def document_text(detail: Mapping[str, Any]) -> str:
    """What a document is, and the day that stands on it."""
    kind = detail.get("document_kind") or ""
    said = str(DocumentKind(kind).label) if kind in DocumentKind.values else kind
    if not detail.get("dated_on"):
        return said
    on = day_text(date.fromisoformat(detail["dated_on"]))
    return _("%(kind)s of %(on)s") % {"kind": said, "on": on}
