"""The form that adds a document."""

from __future__ import annotations

import hashlib
import uuid
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.documents.actions import Document
from inventory.documents.content import TYPES, check_size, checked
from inventory.documents.models import DocumentKind
from inventory.fields import DayField, said
from inventory.ledger.files import Upload
from inventory.pages import WritingForm

ACCEPTED = ",".join(ending for kind in TYPES for ending in kind.endings)


class DocumentField(forms.FileField):
    """A file that may be kept: told by its content, under a clean name."""

    default_error_messages = {
        "empty": _("The file is empty."),
        "missing": _("No file was chosen."),
        "required": _("Choose a file."),
    }

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.FileInput(attrs={"accept": ACCEPTED})
        super().__init__(widget=widget, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> Upload | None:
        sent = super().clean(data, initial)
        return said(lambda: self._read(sent)) if sent else None

    def _read(self, sent: Any) -> Upload:
        check_size(sent.name, sent.size)
        content = sent.read()
        name, _kind = checked(sent.name, content)
        return Upload(name, content)


class DocumentForm(WritingForm):
    """A file with what it is."""

    title = forms.CharField(
        label=_("Title"), max_length=200, help_text=_("Such as: maker's certificate 4711.")
    )
    document_kind = forms.ChoiceField(label=_("What it is"), choices=DocumentKind.choices)
    dated_on = DayField(
        label=_("Date on the document"), required=False, help_text=_("The day that stands on it.")
    )
    file = DocumentField(
        label=_("File"),
        help_text=_("PDF, PNG, JPEG, TXT, CSV, XLSX, DOCX or ODS, at most 10 MB."),
    )
    remark = forms.CharField(
        label=_("Remark"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def clean(self) -> dict[str, Any]:
        """The same form with another file is another act."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        upload, key = data.get("file"), data.get("request_key")
        if upload is not None and isinstance(key, uuid.UUID):
            data["request_key"] = uuid.uuid5(key, hashlib.sha256(upload.content).hexdigest())
        return data

    def document(self) -> Document:
        """The document that the form describes; call after it was found valid."""
        data = self.cleaned_data
        return Document(
            title=data["title"],
            file=data["file"],
            kind=data["document_kind"],
            dated_on=data["dated_on"],
            remark=data["remark"],
        )
