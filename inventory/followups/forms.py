"""Forms of follow-ups: add a step, mark it as done, take it back, close."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

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


class StepForm(WritingForm):
    """What is to be done, by whom, until when."""

    text = forms.CharField(label=_("What is to be done"), max_length=500)
    who = forms.CharField(label=_("Who"), required=False, max_length=200)
    by_on = DayField(label=_("By when"), required=False)


class DoneForm(WritingForm):
    """When a step was done, by whom, what came of it."""

    on = DayField(label=_("Done on"))
    who = forms.CharField(
        label=_("Done by"), required=False, max_length=200, help_text=_("Empty: you.")
    )
    note = forms.CharField(
        label=_("What came of it"),
        help_text=_("Answer, reference, document, reading."),
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
    )


class ReasonForm(WritingForm):
    """Why a step, or its marking, is taken back."""

    reason = forms.CharField(
        label=_("Why"), widget=forms.Textarea(attrs={"rows": 3}), max_length=1000
    )


class SuggestedForm(WritingForm):
    """Which of the usual first steps are taken over."""

    steps = forms.MultipleChoiceField(
        label=_("Usual first steps"), widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self, *args: Any, usual: Sequence[str], left: Sequence[str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["steps"]
        self.usual = usual
        places = [place for place, text in enumerate(usual) if self.is_bound or text in left]
        field.choices = [(str(place), usual[place]) for place in places]
        field.initial = [str(place) for place in places]

    @property
    def chosen(self) -> list[str]:
        """The texts that were ticked."""
        return [self.usual[int(place)] for place in self.cleaned_data["steps"]]
