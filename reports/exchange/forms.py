"""The form that takes a file in, and what bounds an upload before it is read."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from config.bounds import announced
from reports.exchange.opening.limits import LARGEST_FILE

ACCEPTED = ".csv,.tsv,.txt,.xlsx,.xlsm"
#: What a form carries beside its file: boundaries, the token.
BESIDE = 64 * 1024


class UploadForm(forms.Form):
    """A spreadsheet."""

    error_css_class = "field-wrong"
    file = forms.FileField(
        label=_("Spreadsheet"),
        help_text=_("CSV or XLSX, at most 10 MB and 20,000 rows."),
        widget=forms.FileInput(attrs={"accept": ACCEPTED}),
        error_messages={"required": _("Choose a file."), "empty": _("The file is empty.")},
    )


def is_too_large(request: Any) -> bool:
    """Whether an upload is refused by the size that it announces, before a byte of it is kept."""
    length = announced(request)
    return length is None or length > LARGEST_FILE + BESIDE
