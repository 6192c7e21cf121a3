"""One row of the shipped template: a source with its place, its gauge and its last wipe."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from inventory.fields import ActivityField, DayField, NuclideField, PartialDateField, ResultField
from inventory.items.actions import SourceText
from surveys.calc.leak import Reported
from surveys.leak.wipe import DeclaredBy, FromLaboratory

#: The heads of the template, in its order; every one of them must be there.
COLUMNS = (
    *("nuclide", "activity", "reference_date", "maker", "model", "serial"),
    *("serial_unknown_because", "location", "gauge", "received_on", "supplier"),
    *("last_wipe_on", "last_wipe_result", "last_wipe_uncertainty", "last_wipe_by", "remark"),
)
STATED = {"passed": True, "pass": True, "ok": True, "failed": False, "fail": False}


class SourceRow(forms.Form):
    """The parser of a row. What is merely unknown is left empty and becomes an open point."""

    nuclide = NuclideField()
    activity = ActivityField(required=False)
    reference_date = PartialDateField(required=False)
    maker = forms.CharField(required=False, max_length=100)
    model = forms.CharField(required=False, max_length=100)
    serial = forms.CharField(required=False, max_length=100)
    serial_unknown_because = forms.CharField(required=False, max_length=200)
    location = forms.CharField(max_length=200)
    gauge = forms.CharField(required=False, max_length=100)
    received_on = DayField(required=False)
    supplier = forms.CharField(required=False, max_length=200)
    last_wipe_on = DayField(required=False)
    last_wipe_result = forms.CharField(required=False, max_length=60)
    last_wipe_uncertainty = ResultField(required=False)
    last_wipe_by = forms.CharField(required=False, max_length=200)
    remark = forms.CharField(required=False, max_length=1000)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        told = data.get("last_wipe_result") or "last_wipe_result" in self.errors
        if data.get("last_wipe_on") and not told:
            self.add_error("last_wipe_result", _("A last wipe needs its result."))
        dated = data.get("last_wipe_on") or "last_wipe_on" in self.errors
        if data.get("last_wipe_result") and not dated:
            self.add_error("last_wipe_on", _("A last wipe needs its day."))
        return data

    def clean_last_wipe_result(self) -> FromLaboratory | DeclaredBy | None:
        """``< 5 Bq``, ``3.2 Bq``, or ``passed`` / ``failed`` without figures."""
        text = self.cleaned_data["last_wipe_result"]
        by = self.data.get("last_wipe_by") or _("not known")
        if not text:
            return None
        if text.casefold() in STATED:
            return DeclaredBy(STATED[text.casefold()], by, _("list of sources"))
        less = text.startswith("<")
        value = ResultField(required=False).clean(text.removeprefix("<").strip())
        if value is None:
            raise ValidationError(_("“%(text)s” is not a result.") % {"text": text})
        return FromLaboratory(
            laboratory=by,
            figures=Reported(
                less_than_bq=value.bq if less else None, activity_bq=None if less else value.bq
            ),
            stated={"less_than" if less else "reported": value.text},
        )

    def source(self) -> SourceText:
        """The source as the row states it."""
        data = self.cleaned_data
        return SourceText.stated(data, data["activity"], data["reference_date"])

    def wipe_result(self) -> FromLaboratory | DeclaredBy | None:
        """The result of the last wipe with its uncertainty, if the row names one."""
        data = self.cleaned_data
        result: FromLaboratory | DeclaredBy | None = data["last_wipe_result"]
        uncertainty = data["last_wipe_uncertainty"]
        if not isinstance(result, FromLaboratory) or uncertainty is None:
            return result
        figures = Reported(
            activity_bq=result.figures.activity_bq,
            less_than_bq=result.figures.less_than_bq,
            expanded_uncertainty_bq=uncertainty.bq,  # no factor stated: taken as k = 1
        )
        stated = {**result.stated, "uncertainty": uncertainty.text}
        return FromLaboratory(laboratory=result.laboratory, figures=figures, stated=stated)
