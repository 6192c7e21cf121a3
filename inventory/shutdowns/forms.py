"""Forms about planned shutdowns."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.custody.forms import PlaceField
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import read_body
from inventory.pages import WritingForm
from inventory.shutdowns.actions import Plan


class TakeBackForm(WritingForm):
    """Why a shutdown does not take place."""

    reason = forms.CharField(
        label=_("Why it does not take place"),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
    )


class ShutdownForm(WritingForm):
    """What stands still, where, and from when until when."""

    name = forms.CharField(
        label=_("Name"), help_text=_("For example: summer stop of machine 2."), max_length=200
    )
    place = PlaceField(
        label=_("Where"),
        help_text=_("What lies inside the location belongs to it."),
        required=False,
        empty_label=_("the whole site"),
    )
    begins_on = DayField(label=_("First day"))
    ends_on = DayField(label=_("Last day"), help_text=_("This day included."))
    remark = forms.CharField(
        label=_("Remark"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    reason = forms.CharField(
        label=_("Why the plan changes"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, request: Any, *args: Any, replaces: Record | None = None, **kwargs: Any):
        super().__init__(*args, **kwargs)
        choices: dict[str, Any] = self.fields
        items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
        choices["place"].queryset = items.of_kind(ItemKind.LOCATION).order_by("label_sort")
        if replaces is None:
            del self.fields["reason"]

    def plan(self) -> Plan:
        """What the form describes; call after it was found valid."""
        names = ("name", "place", "begins_on", "ends_on", "remark")
        return Plan(**{name: self.cleaned_data[name] for name in names})


def from_shutdown(record: Record) -> dict[str, Any]:
    """Everything as it was planned, to be changed."""
    body = read_body(record)
    return {**body["detail"], "remark": body["remark"]}
