"""Forms of permits and of people: things that stand nowhere."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.fields import DayField
from inventory.items.forms import DescriptionForm, area, text
from inventory.items.snapshots import permit_snapshot, person_snapshot
from inventory.ledger.models import ItemKind


class PermitForm(DescriptionForm):
    """A licence, a registration or a permit that the site holds."""

    KIND = ItemKind.PERMIT
    FACTS = ("number", "issued_by", "valid_from", "valid_until", "conditions", "remark")
    SINCE = gettext_lazy("Held since")

    number = text(gettext_lazy("Number"), required=True)
    issued_by = text(gettext_lazy("Issued by"), 200)
    valid_from = DayField(label=gettext_lazy("Valid from"), required=False)
    valid_until = DayField(
        label=gettext_lazy("Valid until"),
        required=False,
        help_text=gettext_lazy("Empty: it does not say."),
    )
    conditions = area(gettext_lazy("Conditions"))
    remark = area(gettext_lazy("Remark"))

    def clean(self) -> dict[str, Any]:
        """A permit does not end before it begins."""
        data = super().clean()
        begins, ends = data.get("valid_from"), data.get("valid_until")
        if begins and ends and ends < begins:
            self.add_error("valid_until", _("It would end before it begins."))
        return data

    def facts(self) -> dict[str, Any]:
        return permit_snapshot(**{name: self.cleaned_data[name] for name in self.FACTS})


class PersonForm(DescriptionForm):
    """Somebody with a duty under the local rules."""

    KIND = ItemKind.PERSON
    FACTS = ("name", "duty", "since", "remark")
    SINCE = gettext_lazy("Has this duty since")

    name = text(gettext_lazy("Name"), 200, required=True)
    duty = text(
        gettext_lazy("Duty"),
        200,
        help_text=gettext_lazy("Such as: supervisor, deputy, keeper of the source store."),
    )
    since = DayField(label=gettext_lazy("Has this duty since"), required=False)
    remark = area(gettext_lazy("Remark"))

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        if self.item is None:
            del self.fields["since"]  # it is the day from which the person is there

    def facts(self) -> dict[str, Any]:
        data = self.cleaned_data
        since = data["since"] if "since" in data else data.get("on")
        facts = {name: data[name] for name in ("name", "duty", "remark")}
        return person_snapshot(**facts, since=since)
