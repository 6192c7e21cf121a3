"""The form that closes a follow-up."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.fields import DayField
from inventory.pages import WritingForm


class CloseForm(WritingForm):
    """From which day on, and why."""

    on = DayField(label=_("Closed on"))
    reason = forms.CharField(
        label=_("Why it can be closed"),
        help_text=_("What was done, what was found, on whose advice."),
        widget=forms.Textarea(attrs={"rows": 4}),
        max_length=4000,
    )
