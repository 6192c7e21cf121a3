"""The choice of a laboratory on a form."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from inventory.ledger.models import Item, ItemKind
from inventory.sentences import day_text


class LaboratoryField(forms.ModelChoiceField):
    """A laboratory that the site describes, with a word where its authorisation has ended."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Item.objects.none(), to_field_name="code", **kwargs)

    def offer(self, request: Any) -> None:
        """The laboratories of the site."""
        self.today = request.today
        items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
        found = items.of_kind(ItemKind.LABORATORY).select_related("laboratory")
        self.queryset = found.order_by("label_sort")

    def label_from_instance(self, obj: Any) -> str:
        until = obj.laboratory.valid_until
        if until is None or until >= self.today:
            return str(obj.label)
        values = {"name": obj.label, "until": day_text(until)}
        return _("%(name)s (authorisation ended on %(until)s)") % values
