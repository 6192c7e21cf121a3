"""The form that describes a laboratory, with the detection limits that it states."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.fields import ActivityField, DayField, NuclideField
from inventory.items.forms import DescriptionForm, text
from inventory.ledger.models import ItemKind
from inventory.sentences import error_text
from surveys.grids import Grid, written
from surveys.laboratories.actions import UNITS, laboratory_snapshot
from surveys.sentences import SENTENCES

BLANK_ROWS, MOST_ROWS = 8, 60


class LimitForm(forms.Form):
    """The detection limit that the laboratory states for one nuclide."""

    nuclide = NuclideField(label=gettext_lazy("Nuclide"), required=False)
    limit = ActivityField(label=gettext_lazy("Detection limit, with its unit"), required=False)

    def has_changed(self) -> bool:
        """Whether anything is written."""
        return written(self, "nuclide", "limit")

    def clean(self) -> dict[str, Any]:
        """A limit belongs to a nuclide."""
        data = super().clean() or {}
        for name, said in (
            ("nuclide", _("Say for which nuclide.")),
            ("limit", _("Give the limit with its unit.")),
        ):
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, said)
        return data


class LimitsBase(Grid):
    """The limits of one laboratory; a nuclide stands once."""

    TITLE = gettext_lazy("Detection limits")

    def clean(self) -> None:
        seen: set[str] = set()
        for row in self.forms:
            nuclide = row.cleaned_data.get("nuclide") if row.is_valid() else None
            if nuclide is not None and nuclide.name in seen:
                row.add_error("nuclide", _twice(nuclide.name))
            if nuclide is not None:
                seen.add(nuclide.name)


def _twice(nuclide: str) -> str:
    return error_text(DomainError("limit_twice", {"nuclide": nuclide}), SENTENCES)


Limits = forms.formset_factory(
    LimitForm, formset=LimitsBase, extra=BLANK_ROWS, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


class LaboratoryForm(DescriptionForm):
    """A laboratory that counts wipes for the site."""

    KIND = ItemKind.LABORATORY
    TEMPLATE = "laboratories/form.html"
    FACTS = ("name", "authorisation", "valid_until", "unit", "general_limit", "remark")

    name = text(gettext_lazy("Name"), 200, required=True)
    authorisation = text(
        gettext_lazy("Authorisation"),
        200,
        help_text=gettext_lazy("Such as its accreditation or approval, with the number."),
    )
    valid_until = DayField(
        label=gettext_lazy("Authorisation valid until"),
        required=False,
        help_text=gettext_lazy("A result reported after that day satisfies nothing."),
    )
    unit = forms.ChoiceField(
        label=gettext_lazy("Unit it reports in"),
        required=False,
        choices=[("", gettext_lazy("not stated")), *((unit, unit) for unit in UNITS)],
        help_text=gettext_lazy("A figure of a report without a unit is taken in this one."),
    )
    general_limit = ActivityField(
        label=gettext_lazy("Detection limit for every other nuclide"),
        required=False,
        help_text=gettext_lazy("With its unit, such as 5 Bq."),
    )
    remark = forms.CharField(
        label=gettext_lazy("Remark"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        self.limits: Any = Limits(
            self.data if self.is_bound else None,
            initial=self.initial.get("limits") or [],
            prefix="limits",
            form_kwargs={"empty_permitted": True},
        )
        if self.item is None:
            self.fields["on"].label = _("Described from")
            self.fields["on"].help_text = _("The first day on which what is said here holds.")

    @classmethod
    def start_from(cls, snapshot: dict[str, Any]) -> dict[str, Any]:
        """What was described, in the words in which it was stated."""
        general = snapshot["general_limit"]
        return super().start_from(snapshot) | {
            "general_limit": general["text"] if general else "",
            "limits": [
                {"nuclide": row["nuclide"], "limit": row["text"]} for row in snapshot["limits"]
            ],
        }

    def clean(self) -> dict[str, Any]:
        """The rows too; what is wrong in one is said at the head of the page as well."""
        if not self.limits.is_valid():
            for fault in self.limits.faults():
                self.add_error(None, fault)
        return super().clean()

    def facts(self) -> dict[str, Any]:
        data = self.cleaned_data
        rows = [row.cleaned_data for row in self.limits.written]
        return laboratory_snapshot(
            **{name: data[name] for name in self.FACTS},
            limits=[(row["nuclide"].name, row["limit"]) for row in rows],
        )
