"""The form of a movement."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.calc import stays
from inventory.custody.actions import Movement
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import read_body
from inventory.pages import WritingForm
from inventory.sentences import WORDS
from inventory.timeline import Stay

MOVABLE = (ItemKind.SOURCE, ItemKind.GAUGE, ItemKind.MONITOR)


class PlaceField(forms.ModelChoiceField):
    """A gauge or a location of the site, named by its code."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Item.objects.none(), to_field_name="code", **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        kind = f" ({obj.get_kind_display()})" if obj.kind == ItemKind.GAUGE else ""
        return f"{obj.label}{kind}"


def places_for(request: Any, kind: str) -> Any:
    """Where a thing of this kind can go: only sources go into gauges."""
    kinds = [ItemKind.LOCATION, ItemKind.GAUGE] if kind == ItemKind.SOURCE else [ItemKind.LOCATION]
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    return items.of_kind(*kinds).order_by("-kind", "label_sort")


class MovementForm(WritingForm):
    """Where a thing went, when, and from whom it came."""

    verb = forms.ChoiceField(label=_("What happened"))
    to = PlaceField(label=_("To"))
    on = DayField(label=_("On"))
    at_time = forms.TimeField(
        label=_("Time"),
        required=False,
        help_text=_("Where it moved more than once that day."),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    supplier = forms.CharField(label=_("Supplier"), required=False, max_length=200)
    performed_by = forms.CharField(label=_("Done by"), required=False, max_length=200)
    remark = forms.CharField(
        label=_("Remark"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    reason = forms.CharField(
        label=_("Why the earlier record is corrected"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(
        self, request: Any, item: Item, *args: Any, replaces: Record | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.item, self.replaces = item, replaces
        choices: dict[str, Any] = self.fields
        choices["to"].queryset = places_for(request, item.kind)
        verbs = self._verbs()
        choices["verb"].choices = [(verb, WORDS[f"kind:{verb}"]) for verb in verbs]
        if stays.RECEIVED not in verbs:
            del self.fields["supplier"]
        if replaces is None:
            del self.fields["reason"]
        else:
            del self.fields["verb"]  # a correction is of the same kind as what it corrects

    def _verbs(self) -> list[str]:
        if self.replaces is not None:
            return [self.replaces.kind]
        inside = [stays.INSTALLED] if self.item.kind == ItemKind.SOURCE else []
        if self.is_bound:  # what cannot have happened is for the action to say
            return [stays.RECEIVED, stays.MOVED, *inside]
        if not Stay.objects.filter(item=self.item).exists():
            return [stays.RECEIVED]
        return [stays.MOVED, *inside]

    def movement(self) -> Movement:
        """The movement that the form describes; call after it was found valid."""
        data = self.cleaned_data
        return Movement(
            verb=self.replaces.kind if self.replaces else data["verb"],
            item=self.item,
            to=data["to"],
            on=data["on"],
            at_time=data["at_time"],
            supplier=data.get("supplier", ""),
            performed_by=data["performed_by"],
            remark=data["remark"],
        )


def from_movement(record: Record) -> dict[str, Any]:
    """Everything as it was entered, to be corrected."""
    body = read_body(record)
    return {
        "to": body["detail"]["gauge"] or body["detail"]["location"],
        "on": record.effective_on,
        "at_time": record.effective_time,
        "supplier": body["detail"]["supplier"],
        "performed_by": body["performed_by"],
        "remark": body["remark"],
    }
