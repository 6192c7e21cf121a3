"""Forms of monitors: a monitor's description, and a calibration with its efficiencies."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.fields import DayField, NuclideField
from inventory.items.forms import DescriptionForm, one_of, text, tick
from inventory.items.snapshots import OF_A_MONITOR
from inventory.items.wording import RADIATIONS
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import read_body
from inventory.pages import WritingForm
from inventory.sentences import error_text
from surveys.calc.leak import check_factor
from surveys.grids import Grid
from surveys.monitors.actions import Certificate, monitor_snapshot
from surveys.monitors.in_force import Efficiency
from surveys.monitors.models import Basis, MonitorKind
from surveys.sentences import SENTENCES

#: Rows that are open at once, and rows in all beyond those that are filled already.
OPEN_ROWS, BLANK_ROWS = 4, 12
FIGURES = ("efficiency", "u_rel", "source_efficiency", "window_cm2")


class MonitorForm(DescriptionForm):
    """A rate unit and its probe, valid as a pair."""

    KIND = ItemKind.MONITOR
    OPTIONAL = OF_A_MONITOR
    FACTS = ("tag", "monitor_kind", "maker", "model", "serial", *OPTIONAL)

    tag = text(gettext_lazy("Tag"), required=True)
    monitor_kind = forms.ChoiceField(label=gettext_lazy("Kind"), choices=MonitorKind.choices)
    maker = text(gettext_lazy("Maker"))
    model = text(gettext_lazy("Model"))
    serial = text(gettext_lazy("Serial"))
    radiation = one_of(gettext_lazy("What it measures"), RADIATIONS)
    presence_only = tick(gettext_lazy("It only shows that there is radiation, and measures none"))
    required_by_law = tick(gettext_lazy("The law requires a monitor here"))

    def facts(self) -> dict[str, Any]:
        return monitor_snapshot(**{name: self.cleaned_data[name] for name in self.FACTS})


def figure(label: Any) -> forms.FloatField:
    """A number of a certificate."""
    attrs = {"inputmode": "decimal", "autocomplete": "off"}
    return forms.FloatField(label=label, required=False, widget=forms.TextInput(attrs=attrs))


class EfficiencyForm(forms.Form):
    """One row of a certificate. A row in which nothing is written is no row."""

    nuclide = NuclideField(label=gettext_lazy("Nuclide"), required=False)
    efficiency = figure(gettext_lazy("Efficiency"))
    u_rel = figure(gettext_lazy("Relative uncertainty (k = 1)"))
    basis = forms.ChoiceField(label=gettext_lazy("Basis"), choices=Basis.choices)
    source_efficiency = figure(gettext_lazy("Source efficiency"))
    window_cm2 = figure(gettext_lazy("Window (cm²)"))

    def has_changed(self) -> bool:
        """Whether anything is written; the basis always has a value."""
        written = [self.data.get(self.add_prefix(name), "") for name in ("nuclide", *FIGURES)]
        return any(value.strip() for value in written)

    def clean(self) -> dict[str, Any]:
        """What no counter can have is refused in the row where it stands."""
        data = super().clean() or {}
        for name, said in (
            ("nuclide", _("Say for which nuclide.")),
            ("efficiency", _("Give the efficiency.")),
        ):
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, said)
        if not self.errors:
            try:
                nuclide = data["nuclide"]
                check_factor(self.row().factor(), nuclide.most_counts_per_decay)
            except DomainError as error:
                field = error.field if error.field in self.fields else "efficiency"
                self.add_error(field, error_text(error, SENTENCES))
        return data

    def row(self) -> Efficiency:
        """The efficiency that the row states."""
        data = self.cleaned_data
        return Efficiency(
            nuclide=data["nuclide"].name,
            basis=data["basis"],
            **{name: data[name] for name in FIGURES},
        )


class EfficienciesBase(Grid):
    """The rows of a certificate: some in sight, the others to be opened."""

    TITLE = gettext_lazy("Efficiencies")
    OPEN = OPEN_ROWS

    def clean(self) -> None:
        """A nuclide stands once."""
        seen: set[str] = set()
        for row in self.forms:
            nuclide = row.cleaned_data.get("nuclide") if row.is_valid() else None
            if nuclide is not None and nuclide.name in seen:
                row.add_error("nuclide", error_text(_twice(nuclide.name), SENTENCES))
            if nuclide is not None:
                seen.add(nuclide.name)

    def efficiencies(self) -> list[Efficiency]:
        """The rows in which something is written."""
        return [row.row() for row in self.written]


def _twice(nuclide: str) -> DomainError:
    return DomainError("efficiency_twice", {"nuclide": nuclide})


Efficiencies = forms.formset_factory(
    EfficiencyForm, formset=EfficienciesBase, extra=BLANK_ROWS, max_num=60, absolute_max=60
)


def efficiency_rows(data: Any = None, initial: Any = None) -> Any:
    """The rows; each of them may be left or made empty."""
    return Efficiencies(
        data, initial=initial, prefix="efficiencies", form_kwargs={"empty_permitted": True}
    )


class CalibrationForm(WritingForm):
    """What a calibration certificate says."""

    monitor = forms.ModelChoiceField(
        Item.objects.none(), label=gettext_lazy("Monitor"), to_field_name="code"
    )
    on = DayField(label=gettext_lazy("Calibrated on"))
    certificate = text(gettext_lazy("Certificate"))
    laboratory = text(gettext_lazy("Laboratory"), 200)
    valid_until = DayField(
        label=gettext_lazy("Valid until"),
        required=False,
        help_text=gettext_lazy("Where the certificate says so; the earlier day holds."),
    )
    verdict = forms.ChoiceField(
        label=gettext_lazy("Result"),
        choices=[("passed", gettext_lazy("passed")), ("failed", gettext_lazy("failed"))],
        widget=forms.RadioSelect,
        help_text=gettext_lazy("Passed: within tolerance as left. A failed one acts at once."),
    )
    accept = forms.BooleanField(
        label=gettext_lazy("I accept this calibration as radiation protection supervisor"),
        required=False,
    )
    reason = forms.CharField(
        label=gettext_lazy("Why the earlier record is corrected"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(
        self, request: Any, *args: Any, replaces: Record | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
        choices: dict[str, Any] = self.fields
        choices["monitor"].queryset = items.of_kind(ItemKind.MONITOR).order_by("label_sort")
        if replaces is None:
            del self.fields["monitor"], self.fields["reason"]
        if "rps" not in request.roles:
            del self.fields["accept"]

    @property
    def head(self) -> list[forms.BoundField]:
        """The fields that stand before the efficiencies."""
        return [one for one in self.visible_fields() if one.name not in ("accept", "reason")]

    @property
    def end(self) -> list[forms.BoundField]:
        """The fields that stand after them."""
        return [one for one in self.visible_fields() if one.name in ("accept", "reason")]

    def certified(self, efficiencies: list[Efficiency]) -> Certificate:
        """What the certificate says; call after the form was found valid."""
        data = self.cleaned_data
        return Certificate(
            on=data["on"],
            passed=data["verdict"] == "passed",
            certificate=data["certificate"],
            laboratory=data["laboratory"],
            valid_until=data["valid_until"],
            efficiencies=efficiencies,
        )


def from_calibration(record: Record) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Everything as it was entered, to be corrected: the form's values and the rows'."""
    body = read_body(record)
    said = {mention["role"]: mention for mention in body["items"]}["subject"]
    values = {
        "monitor": said["item"],
        "on": record.effective_on,
        "verdict": "passed" if said["outcome"] == "pass" else "failed",
        **body["detail"],
    }
    return values, [
        {name: _as_written(text) for name, text in row.items()} for row in body["points"]
    ]


def _as_written(text: str | None) -> str | None:
    """A figure without the ending that only says that it is a number."""
    return text.removesuffix(".0") if text else text
