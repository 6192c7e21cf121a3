"""Forms about plans: book lines, take a booking back, say why something was not done."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.fields import DayField
from inventory.pages import WritingForm


class BookForm(WritingForm):
    """For which day, with whom, under which work order."""

    booked_for = DayField(label=_("Booked for"))
    with_whom = forms.CharField(
        label=_("With whom"),
        help_text=_("The person or firm that does it."),
        required=False,
        max_length=200,
    )
    work_order = forms.CharField(label=_("Work order"), required=False, max_length=100)
    note = forms.CharField(
        label=_("Remark"),
        help_text=_("What must be ready: a shutdown, a lift, a replacement monitor."),
        required=False,
        max_length=1000,
    )


class UnbookForm(WritingForm):
    """Why nobody has it booked any more."""

    reason = forms.CharField(
        label=_("Why it is no longer booked"),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
    )


class NotDoneForm(WritingForm):
    """When it was tried, what stood in the way, what is done meanwhile."""

    on = DayField(label=_("Tried on"))
    because = forms.CharField(
        label=_("Not done, because"),
        help_text=_("For example: furnace running, no access, no permit."),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
    )
    meanwhile = forms.CharField(
        label=_("What is done meanwhile"),
        help_text=_("For example: area closed off, gauge out of use."),
        widget=forms.Textarea(attrs={"rows": 3}),
        required=False,
        max_length=1000,
    )
    performed_by = forms.CharField(
        label=_("Tried by"), required=False, max_length=200, help_text=_("Empty: you.")
    )
