"""The form of a laboratory's report: one row for each wipe that is away there."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.calc.units import Activity, parse_result
from inventory.documents.forms import DocumentField
from inventory.fields import DayField, ResultField, said
from inventory.sentences import day_text
from surveys.awaited.actions import Report, Result
from surveys.awaited.waiting import Away
from surveys.calc import leak
from surveys.grids import Grid, GridForm
from surveys.leak.wipe import DeclaredBy, FromLaboratory

FIGURE, LESS_THAN, NOT_DETECTED = "figure", "less_than", "not_detected"
PASSED, FAILED = "passed", "failed"
SAYS = (
    ("", gettext_lazy("nothing yet")),
    (FIGURE, gettext_lazy("an activity")),
    (LESS_THAN, gettext_lazy("less than")),
    (NOT_DETECTED, gettext_lazy("not detected")),
    (PASSED, gettext_lazy("passed, no figure")),
    (FAILED, gettext_lazy("failed, no figure")),
)
NUMERIC = {"autocomplete": "off"}
#: Wipes of one laboratory on one page.
MOST_ROWS = 60


class FigureField(ResultField):
    """A measured activity; a number without a unit is taken in the one that the laboratory is
    described to report in, and the record says so by keeping it with that unit."""

    unit = ""

    def clean(self, value: Any) -> Activity | None:
        text = forms.CharField.clean(self, value)
        return said(lambda: self._read(text)) if text else None

    def _read(self, text: str) -> Activity:
        try:
            return parse_result(text)
        except DomainError as error:
            if error.code != "activity_without_unit" or not self.unit:
                raise
            return parse_result(f"{text} {self.unit}")


def figure_field(label: Any) -> FigureField:
    """A figure of the report."""
    return FigureField(label=label, required=False, widget=forms.TextInput(attrs=NUMERIC))


class ResultForm(forms.Form):
    """What the report says of one wipe."""

    wipe = forms.IntegerField(widget=forms.HiddenInput)
    says = forms.ChoiceField(label=gettext_lazy("It says"), choices=SAYS, required=False)
    figure = figure_field(gettext_lazy("Figure"))
    uncertainty = figure_field(gettext_lazy("Uncertainty U"))
    coverage_factor = forms.FloatField(
        label=gettext_lazy("k"),
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, unit: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("figure", "uncertainty"):
            field: Any = self.fields[name]
            field.unit = unit

    def has_changed(self) -> bool:
        """Whether the report says anything of it; a figure alone is told to say what it is."""
        names = ("says", "figure", "uncertainty", "coverage_factor")
        return any(str(self.data.get(self.add_prefix(name), "")).strip() for name in names)

    def clean(self) -> dict[str, Any]:
        """Each statement with what it needs, and nothing that it cannot have."""
        data = super().clean() or {}
        says = data.get("says", "")
        if not says:
            self.add_error("says", _("Say what the report says of it."))
        if says in (FIGURE, LESS_THAN) and data.get("figure") is None:
            self._miss("figure", _("Give the figure with its unit."))
        if says in (PASSED, FAILED) and data.get("figure") is not None:
            self._miss("figure", _("It has a figure: then say what the figure is."))
        if says != FIGURE:
            for name in ("uncertainty", "coverage_factor"):
                if data.get(name) is not None:
                    self._miss(name, _("Only an activity has an uncertainty."))
        return data

    def _miss(self, field: str, text: str) -> None:
        if field not in self.errors:
            self.add_error(field, text)

    def result(self, laboratory: str, report: str, reported_on: Any) -> Result:
        """The result as it is judged; call after the row was found valid."""
        data = self.cleaned_data
        says, stated = data["says"], data["figure"]
        if says in (PASSED, FAILED):
            return DeclaredBy(says == PASSED, laboratory, report, reported_on)
        texts = {"reported" if says == FIGURE else says: stated.text if stated else ""}
        if says == NOT_DETECTED:
            texts = {"not_detected": "not detected"}  # evidence: the report's own words
            texts |= {"detection_limit": stated.text} if stated else {}
        if data["uncertainty"]:
            texts["uncertainty"] = data["uncertainty"].text
        if data["coverage_factor"]:
            texts["coverage_factor"] = str(data["coverage_factor"])
        bq = stated.bq if stated else None
        return FromLaboratory(
            laboratory=laboratory,
            figures=leak.Reported(
                activity_bq=bq if says == FIGURE else None,
                expanded_uncertainty_bq=data["uncertainty"].bq if data["uncertainty"] else None,
                coverage_factor=data["coverage_factor"],
                less_than_bq=bq if says == LESS_THAN else None,
                detection_limit_bq=bq if says == NOT_DETECTED else None,
                not_detected=says == NOT_DETECTED,
            ),
            stated=texts,
            reported_on=reported_on,
            report=report,
        )


class ResultsBase(Grid):
    """The wipes that are away at one laboratory."""

    TITLE = gettext_lazy("Results")


ResultRows = forms.formset_factory(
    ResultForm, formset=ResultsBase, extra=0, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


class ReportForm(GridForm):
    """What a laboratory's report shares over its wipes."""

    report = forms.CharField(label=gettext_lazy("Report number"), required=False, max_length=100)
    reported_on = DayField(label=gettext_lazy("Reported on"))
    remark = forms.CharField(label=gettext_lazy("Remark"), required=False, max_length=1000)
    file = DocumentField(
        label=gettext_lazy("The report as a file"),
        required=False,
        help_text=gettext_lazy("PDF, PNG, JPEG, TXT, CSV, XLSX, DOCX or ODS, at most 10 MB."),
    )
    accept = forms.BooleanField(
        label=gettext_lazy("I accept these results as radiation protection supervisor"),
        required=False,
    )
    accept_because = forms.CharField(
        label=gettext_lazy("Why a result without figures can be accepted"),
        required=False,
        max_length=1000,
    )

    def __init__(
        self, request: Any, *args: Any, wipes: Sequence[Away], unit: str = "", **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.today = request.today
        self.away = {one.seq: one for one in wipes}
        self.rows = ResultRows(
            self.data if self.is_bound else None,
            initial=[{"wipe": one.seq} for one in wipes],
            prefix="results",
            form_kwargs={"unit": unit, "empty_permitted": True},
        )
        if "rps" not in request.roles:
            del self.fields["accept"], self.fields["accept_because"]

    @property
    def head(self) -> list[forms.BoundField]:
        """The fields that stand before the grid."""
        return [one for one in self.visible_fields() if not one.name.startswith("accept")]

    @property
    def end(self) -> list[forms.BoundField]:
        """The fields that stand after it."""
        return [one for one in self.visible_fields() if one.name.startswith("accept")]

    @property
    def lines(self) -> list[tuple[Any, Away | None]]:
        """Each row with the wipe that it is about; none: it is not away at this laboratory."""
        return [(row, self.away.get(_number(row["wipe"].value()))) for row in self.rows.forms]

    def clean(self) -> dict[str, Any]:
        """The same form with another file is another act."""
        data = super().clean()
        reported_on = data.get("reported_on")
        if reported_on and reported_on > self.today:
            said_on = day_text(reported_on)
            self.add_error("reported_on", _("%(on)s lies in the future.") % {"on": said_on})
        if not self.rows.written and not self.errors:
            self.add_error(None, _("Say of at least one wipe what the report says."))
        upload, key = data.get("file"), data.get("request_key")
        if upload is not None and isinstance(key, uuid.UUID):
            data["request_key"] = uuid.uuid5(key, hashlib.sha256(upload.content).hexdigest())
        return data

    def about(self) -> Report:
        """What its results share; call after the form was found valid."""
        data = self.cleaned_data
        files = [data["file"]] if data["file"] else []
        return Report(data["reported_on"], files, data["remark"])

    def results(self, laboratory: str) -> list[tuple[int, Result]]:
        """The number of each wipe in the report and what it says of it."""
        data = self.cleaned_data
        return [
            (
                row.cleaned_data["wipe"],
                row.result(laboratory, data["report"], data["reported_on"]),
            )
            for row in self.rows.written
        ]


def _number(value: Any) -> int:
    return int(value) if str(value).isdecimal() and len(str(value)) < 12 else 0
