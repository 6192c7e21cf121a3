"""The form that takes a file in, and what bounds an upload before it is read."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from reports.exchange.opening.limits import LARGEST_FILE

ACCEPTED = ".csv,.tsv,.txt,.xlsx,.xlsm"
#: What a form carries beside its file: boundaries, the token.
BESIDE = 64 * 1024
#: A browser shows an answer only once it could send everything: so much is taken and dropped.
MOST_DROPPED = 512 * 1024 * 1024
CHUNK = 64 * 1024


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
    try:
        length = int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return True
    return length > LARGEST_FILE + BESIDE


def drop(request: Any) -> None:
    """Take what is being sent and keep none of it."""
    taken = 0
    while taken < MOST_DROPPED and (chunk := request.read(CHUNK)):
        taken += len(chunk)
