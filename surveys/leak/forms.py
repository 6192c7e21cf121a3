"""The form of a wipe: the only parser between what people write and ``record_leak_test``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.fields import CountsField, DayField, ResultField, SecondsField, paired
from inventory.ledger.models import Item, ItemKind
from inventory.pages import WritingForm
from inventory.sentences import day_text
from surveys.calc import leak
from surveys.laboratories.fields import LaboratoryField
from surveys.leak.models import Reason, Way
from surveys.leak.prefill import near_sources
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe

NEEDED = (
    *("counter", "gross_counts", "gross_seconds", "background_counts", "background_seconds"),
    *("laboratory", "declared", "declared_by"),
)
NUMERIC = {"inputmode": "decimal", "autocomplete": "off"}


class WipeForm(WritingForm):
    """One wipe over one or several sources, counted here, reported by a laboratory or declared."""

    NAMED = {
        "activity_bq": "reported",
        "expanded_uncertainty_bq": "uncertainty",
        "less_than_bq": "less_than",
        "detection_limit_bq": "detection_limit",
    }

    sources = forms.ModelMultipleChoiceField(
        Item.objects.none(),
        label=gettext_lazy("Sources that the wipe covers"),
        to_field_name="code",
        widget=forms.SelectMultiple(attrs={"size": 6}),
    )
    wiped_on = DayField(label=gettext_lazy("Wiped on"))
    wiped_time = forms.TimeField(
        label=gettext_lazy("Time"),
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    sampled_by = forms.CharField(label=gettext_lazy("Wiped by"), max_length=200)
    why = forms.ChoiceField(label=gettext_lazy("Reason"), choices=Reason.choices)
    point_wiped = forms.CharField(
        label=gettext_lazy("Point wiped"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("The nearest accessible point of the housing, never the source."),
    )
    method = forms.CharField(label=gettext_lazy("Method"), required=False, max_length=200)

    way = forms.ChoiceField(
        label=gettext_lazy("The result was"), choices=Way.choices, widget=forms.RadioSelect
    )

    counter = forms.ModelChoiceField(
        Item.objects.none(),
        label=gettext_lazy("Counter"),
        required=False,
        to_field_name="code",
    )
    counted_on = DayField(label=gettext_lazy("Counted on"), required=False)
    counted_by = forms.CharField(label=gettext_lazy("Counted by"), required=False, max_length=200)
    gross_counts = CountsField(
        label=gettext_lazy("Gross counts"),
        required=False,
        help_text=gettext_lazy("Several counts of this wipe on this counter are pooled: 431 + 425"),
        widget=forms.TextInput(attrs=NUMERIC),
    )
    gross_seconds = SecondsField(
        label=gettext_lazy("Counting time (s)"),
        required=False,
        widget=forms.TextInput(attrs=NUMERIC),
    )
    background_counts = CountsField(
        label=gettext_lazy("Background counts"),
        required=False,
        widget=forms.TextInput(attrs=NUMERIC),
    )
    background_seconds = SecondsField(
        label=gettext_lazy("Background time (s)"),
        required=False,
        widget=forms.TextInput(attrs=NUMERIC),
    )

    described = LaboratoryField(
        label=gettext_lazy("Laboratory"),
        required=False,
        help_text=gettext_lazy("One that the site describes, with the limits that it states."),
    )
    laboratory = forms.CharField(
        label=gettext_lazy("Or another laboratory, by its name"), required=False, max_length=200
    )
    report = forms.CharField(label=gettext_lazy("Report number"), required=False, max_length=100)
    reported_on = DayField(label=gettext_lazy("Reported on"), required=False)
    reported = ResultField(
        label=gettext_lazy("Activity reported"),
        required=False,
        help_text=gettext_lazy("With its unit, such as 3.2 Bq or 0.4 nCi."),
    )
    uncertainty = ResultField(
        label=gettext_lazy("Expanded uncertainty U"),
        required=False,
        help_text=gettext_lazy("With its unit."),
    )
    coverage_factor = forms.FloatField(
        label=gettext_lazy("Coverage factor k"),
        required=False,
        widget=forms.TextInput(attrs=NUMERIC),
    )
    less_than = ResultField(
        label=gettext_lazy("Or reported as less than"),
        required=False,
        help_text=gettext_lazy("With its unit, such as 5 Bq for “< 5 Bq”."),
    )
    not_detected = forms.BooleanField(
        label=gettext_lazy("Or reported as not detected"), required=False
    )
    detection_limit = ResultField(
        label=gettext_lazy("Detection limit in the report"),
        required=False,
        help_text=gettext_lazy("With its unit. Without it the limit that the laboratory states."),
    )

    declared = forms.ChoiceField(
        label=gettext_lazy("It only says"),
        choices=[
            ("", "---"),
            ("passed", gettext_lazy("passed")),
            ("failed", gettext_lazy("failed")),
        ],
        required=False,
    )
    declared_by = forms.CharField(label=gettext_lazy("Who says so"), required=False, max_length=200)
    document = forms.CharField(label=gettext_lazy("Document"), required=False, max_length=200)

    remark = forms.CharField(
        label=gettext_lazy("Remark"), required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    accept = forms.BooleanField(
        label=gettext_lazy("I accept this result as radiation protection supervisor"),
        required=False,
    )
    accept_because = forms.CharField(
        label=gettext_lazy("Why a result without figures can be accepted"),
        required=False,
        max_length=1000,
    )
    because = forms.CharField(
        label=gettext_lazy("Why the earlier record is corrected"), required=False, max_length=1000
    )

    def __init__(self, request: Any, *args: Any, replaces: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.replaces = replaces
        self.today = request.today
        items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
        ordered = items.order_by("label_sort")
        choices: dict[str, Any] = self.fields
        choices["sources"].queryset = ordered.of_kind(ItemKind.SOURCE)
        choices["counter"].queryset = ordered.of_kind(ItemKind.MONITOR)
        choices["described"].offer(request)
        if not choices["described"].queryset.exists():
            del self.fields["described"]
            choices["laboratory"].label = _("Laboratory")
        for name in NEEDED:  # by its way only, so not required by the form as a whole
            choices[name].needed = True
        near = near_sources(request, ordered, replaces)
        self.chosen_from_list = near is None
        if near is not None:
            choices["sources"].widget = forms.CheckboxSelectMultiple()
            choices["sources"].queryset = near
        if "rps" not in request.roles:
            del self.fields["accept"], self.fields["accept_because"]
        if replaces is None:
            del self.fields["because"]
        else:
            self.fields["because"].required = True

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        """The form in the order of the work: title, help, fields, name of the part."""
        for title, help_text, names, part in GROUPS:
            bound = [self[name] for name in names if name in self.fields]
            if bound:
                yield str(title), str(help_text), bound, part

    def clean(self) -> dict[str, Any]:
        """What the way of the result needs; an empty count is *not evaluable*, never refused."""
        data = super().clean() or {}
        self._clean_days(data)
        check = {
            Way.COUNTS: self._clean_counts,
            Way.REPORTED: self._clean_report,
            Way.DECLARED: self._clean_declared,
        }.get(data.get("way", ""))
        if check:
            check(data)
        return data

    def _clean_days(self, data: dict[str, Any]) -> None:
        """Working out a wipe, too, speaks only of what has happened."""
        for name in ("wiped_on", "counted_on", "reported_on"):
            day = data.get(name)
            if day and day > self.today:
                self._miss(name, _("%(on)s lies in the future.") % {"on": day_text(day)})
        wiped, reported = data.get("wiped_on"), data.get("reported_on")
        if wiped and reported and reported < wiped:
            self._miss("reported_on", _("It cannot have been reported before it was wiped."))

    def _clean_counts(self, data: dict[str, Any]) -> None:
        if not data.get("counter"):
            self._miss("counter", _("Say which counter it was."))
        for name in ("gross", "background"):
            counts, seconds = data.get(f"{name}_counts"), data.get(f"{name}_seconds")
            if counts is None or seconds is None:
                continue
            pairs = paired(counts, seconds)
            if pairs is None:
                self._miss(
                    f"{name}_seconds",
                    _(
                        "%(seconds)s times do not fit %(counts)s counts: give one time for each "
                        "count."
                    )
                    % {"seconds": len(seconds), "counts": len(counts)},
                )
            data[name] = pairs or []

    def _clean_report(self, data: dict[str, Any]) -> None:
        if not data.get("laboratory") and not data.get("described"):
            self._miss("laboratory", _("Say which laboratory it was."))
        if data.get("laboratory") and data.get("described"):
            self._miss("laboratory", _("Choose a laboratory or write its name, not both."))
        figures = [data.get(name) is not None for name in ("reported", "less_than")]
        if not any(figures) and not data.get("not_detected"):
            self._miss("reported", _("Give the activity reported, or what it is less than."))
        if all(figures):
            self._miss("less_than", _("Give an activity or a less-than value, not both."))
        if any(figures) and data.get("not_detected"):
            self._miss("not_detected", _("With a figure, leave “not detected” out."))

    def _clean_declared(self, data: dict[str, Any]) -> None:
        if not data.get("declared"):
            self._miss("declared", _("Say whether it passed or failed."))
        if not data.get("declared_by"):
            self._miss("declared_by", _("Say who declared it."))

    def _miss(self, field: str, text: str) -> None:
        if field not in self.errors:
            self.add_error(field, ValidationError(text))

    def wipe(self) -> Wipe:
        """The wipe that the form describes; call after it was found valid."""
        data = self.cleaned_data
        return Wipe(
            sources=list(data["sources"]),
            wiped_on=data["wiped_on"],
            wiped_time=data["wiped_time"],
            why=data["why"],
            method=data["method"],
            point_wiped=data["point_wiped"],
            sampled_by=data["sampled_by"],
            remark=data["remark"],
            result=self._result(data),
            laboratory=None if data["way"] == Way.COUNTS else data.get("described"),
        )

    def _result(self, data: dict[str, Any]) -> Counted | FromLaboratory | DeclaredBy:
        if data["way"] == Way.DECLARED:
            said = (data["declared"] == "passed", data["declared_by"], data["document"])
            return DeclaredBy(*said, data["reported_on"])
        if data["way"] == Way.REPORTED:
            return self._report(data)
        return Counted(
            counter=data["counter"],
            counted_on=data["counted_on"] or data["wiped_on"],
            counted_by=data["counted_by"] or data["sampled_by"],
            gross=data["gross"],
            background=data["background"],
        )

    def _report(self, data: dict[str, Any]) -> FromLaboratory:
        names = ("reported", "uncertainty", "less_than", "detection_limit")
        figures = {name: data[name].bq if data[name] else None for name in names}
        stated = {name: data[name].text for name in names if data[name]}
        if data["coverage_factor"]:
            stated["coverage_factor"] = str(data["coverage_factor"])
        if data["not_detected"]:
            stated["not_detected"] = "not detected"
        described = data.get("described")
        return FromLaboratory(
            laboratory=described.label if described else data["laboratory"],
            figures=leak.Reported(
                activity_bq=figures["reported"],
                expanded_uncertainty_bq=figures["uncertainty"],
                coverage_factor=data["coverage_factor"],
                less_than_bq=figures["less_than"],
                detection_limit_bq=figures["detection_limit"],
                not_detected=data["not_detected"],
            ),
            stated=stated,
            reported_on=data["reported_on"],
            report=data["report"],
        )


GROUPS = (
    (
        gettext_lazy("The wipe"),
        "",
        ("sources", "wiped_on", "wiped_time", "sampled_by", "why", "point_wiped", "method"),
        "wipe",
    ),
    (gettext_lazy("The result"), "", ("way",), "result"),
    (
        gettext_lazy("Counted here"),
        gettext_lazy("Raw counts: the site works out the rest."),
        (
            *("counter", "counted_on", "counted_by"),
            *("gross_counts", "gross_seconds", "background_counts", "background_seconds"),
        ),
        "counts",
    ),
    (
        gettext_lazy("Reported by a laboratory"),
        "",
        (
            *("described", "laboratory", "report", "reported_on"),
            *("reported", "uncertainty", "coverage_factor", "less_than"),
            *("not_detected", "detection_limit"),
        ),
        "laboratory",
    ),
    (
        gettext_lazy("Declared without figures"),
        gettext_lazy("It satisfies only when the supervisor accepts it with a reason."),
        ("declared", "declared_by", "document"),
        "declared",
    ),
    (
        gettext_lazy("Record"),
        "",
        ("remark", "because", "accept", "accept_because"),
        "record",
    ),
)


class AcceptForm(WritingForm):
    """Accept what somebody entered."""

    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("Needed where the record only says that the test passed."),
    )
