"""Kinds of documents. A document is a record with a file: it needs no table of its own."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

DOCUMENT_KIND = "document_added"
#: Role of the link to the record that a document belongs to.
DOCUMENTS = "documents"


class DocumentKind(models.TextChoices):
    """What a document is."""

    CERTIFICATE = "certificate", _("certificate")
    DRAWING = "drawing", _("drawing")
    REPORT = "report", _("report")
    PHOTO = "photo", _("photo")
    OTHER = "other", _("other document")
