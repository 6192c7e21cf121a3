"""Forms that describe things: the parsers between what people write and a description.

One form serves three pages: a new thing (with its arrival), a thing described anew (a change from
a day on, or a correction), and the correction of one record.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.custody.forms import PlaceField, places_for
from inventory.fields import ActivityField, DayField, NuclideField, PartialDateField
from inventory.items.actions import SourceText, gauge_snapshot, location_snapshot, snapshot_of
from inventory.items.models import LocationKind
from inventory.ledger import canonical
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import WritingForm
from inventory.sentences import day_text

CHANGE, CORRECTION = "change", "correction"


def text(label: Any, length: int = 100, *, required: bool = False, help_text: Any = "") -> Any:
    """A line of text."""
    return forms.CharField(label=label, max_length=length, required=required, help_text=help_text)


class DescriptionForm(WritingForm):
    """What every description has beside the thing's own facts: its day, its place, its reason."""

    KIND: ClassVar[str] = ""
    FACTS: ClassVar[tuple[str, ...]] = ()
    TEMPLATE: ClassVar[str] = "items/form.html"

    how = forms.ChoiceField(
        label=gettext_lazy("What is it"),
        choices=[
            (CHANGE, gettext_lazy("a change: it was as described until a day, and now differs")),
            (CORRECTION, gettext_lazy("a correction: the description was wrong from its day on")),
        ],
        widget=forms.RadioSelect,
    )
    on = DayField(label=gettext_lazy("Received on"))
    to = PlaceField(label=gettext_lazy("First place"))
    supplier = text(gettext_lazy("Supplier"), 200)
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("What was found, and where it was read."),
    )

    def __init__(
        self,
        request: Any,
        *args: Any,
        item: Item | None = None,
        old: Record | None = None,
        fixed: bool = False,
        **kwargs: Any,
    ) -> None:
        """``item`` and ``old``: describe it anew, starting from that record; ``fixed``: only as
        the correction of it."""
        super().__init__(*args, **kwargs)
        self.item, self.old = item, old
        self.arrives = self.KIND not in (ItemKind.LOCATION, ItemKind.LABORATORY)
        keep = self._kept(fixed)
        for name in {"how", "on", "to", "supplier", "reason"} - set(keep):
            del self.fields[name]
        choices: dict[str, Any] = self.fields
        if "to" in keep:
            choices["to"].queryset = places_for(request, self.KIND)
        if item is not None and "on" in keep:
            choices["on"].label = _("Holds from")
            choices["on"].help_text = _("The first day of a change; a correction keeps its day.")
            choices["on"].required, choices["on"].needed = False, True
        elif not self.arrives and "on" in keep:
            choices["on"].label = _("Part of the site since")

    def _kept(self, fixed: bool) -> tuple[str, ...]:
        if fixed:
            return ("reason",)
        if self.item is not None:
            return ("how", "on", "reason")
        return ("on", "to", "supplier") if self.arrives else ("on",)

    @classmethod
    def start_from(cls, snapshot: dict[str, Any]) -> dict[str, Any]:
        """What the form starts with when the thing is described anew."""
        return {name: snapshot.get(name) for name in cls.FACTS}

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        """The form in the order of the work: title, help, fields, name of the part."""
        facts = [self[name] for name in self.FACTS if name in self.fields]
        others = ("how", "on", "to", "supplier", "reason")
        yield _("What it is"), "", facts, "facts"
        title = _("Arrival") if self.arrives else _("Since when")
        if self.item is not None:
            title = _("Why it is described anew")
        yield title, "", [self[name] for name in others if name in self.fields], "record"

    def clean(self) -> dict[str, Any]:
        """A change has a day of its own; a description that says nothing new is none."""
        data = super().clean() or {}
        key = data.get("request_key")
        if self.old is None or Record.objects.filter(request_key=key).exists():
            return data  # a resend: the action answers with what was written
        if not self.errors and canonical.plain(self.snapshot()) == snapshot_of(self.old):
            self.add_error(None, _("Nothing differs from the description that is there."))
        if data.get("how") == CHANGE:
            on, since = data.get("on"), self.old.effective_on
            if on is None and "on" not in self.errors:
                self.add_error("on", _("Say from which day the change holds."))
            elif on is not None and on < since:
                self.add_error(
                    "on",
                    _("It is described as from %(on)s already: a change comes after that.")
                    % {"on": day_text(since)},
                )
        return data

    @property
    def correction(self) -> bool:
        """Whether the earlier record was wrong."""
        return self.cleaned_data.get("how", CORRECTION) == CORRECTION

    def snapshot(self) -> dict[str, Any]:
        """The full description; what the form does not ask for stays as it was."""
        before = snapshot_of(self.old) if self.old is not None else {}
        return before | self.facts()

    def facts(self) -> dict[str, Any]:
        """The thing's own facts, as its snapshot keeps them."""
        raise NotImplementedError


class LocationForm(DescriptionForm):
    """A place on the site."""

    KIND = ItemKind.LOCATION
    FACTS = ("name", "place_kind", "within")

    name = text(gettext_lazy("Name"), 200, required=True)
    place_kind = forms.ChoiceField(label=gettext_lazy("Kind"), choices=LocationKind.choices)
    within = PlaceField(label=gettext_lazy("Lies inside"), required=False)

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        choices: dict[str, Any] = self.fields
        choices["within"].queryset = places_for(request, ItemKind.LOCATION)

    def facts(self) -> dict[str, Any]:
        data = self.cleaned_data
        within = data["within"].code if data["within"] else None
        return location_snapshot(data["name"], place_kind=data["place_kind"], within=within)


class GaugeForm(DescriptionForm):
    """A device that holds none, one or several sources."""

    KIND = ItemKind.GAUGE
    FACTS = ("tag", "maker", "model", "housing_serial", "whom_to_ask")

    tag = text(gettext_lazy("Tag"), required=True)
    maker = text(gettext_lazy("Maker"))
    model = text(gettext_lazy("Model"))
    housing_serial = text(gettext_lazy("Housing serial"))
    whom_to_ask = text(gettext_lazy("Whom to ask before its shutter is closed"), 200)

    def facts(self) -> dict[str, Any]:
        return gauge_snapshot(**{name: self.cleaned_data[name] for name in self.FACTS})


class SourceForm(DescriptionForm):
    """A sealed source as its certificate states it. What is not known is left empty."""

    KIND = ItemKind.SOURCE
    FACTS = (
        *("nuclide", "activity_text", "reference_text", "maker", "model"),
        *("serial", "serial_unknown_because", "remark", "arrival_unknown"),
    )

    nuclide = NuclideField(label=gettext_lazy("Nuclide"), help_text=gettext_lazy("Such as Cs-137."))
    activity_text = ActivityField(
        label=gettext_lazy("Activity as stated"),
        required=False,
        help_text=gettext_lazy("With its unit, such as 3.7 GBq or 100 mCi."),
    )
    reference_text = PartialDateField(
        label=gettext_lazy("Reference date"),
        required=False,
        help_text=gettext_lazy("As far as it is known: 2019-05-03, May 2019 or 2019."),
    )
    maker = text(gettext_lazy("Maker"))
    model = text(gettext_lazy("Model"))
    serial = text(gettext_lazy("Serial"))
    serial_unknown_because = text(gettext_lazy("Why the serial is not known"), 200)
    remark = forms.CharField(
        label=gettext_lazy("Remark"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    arrival_unknown = forms.BooleanField(
        label=gettext_lazy("The day of arrival is not known"), required=False
    )

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        if self.item is None:
            self.fields["on"].required = False
            self.fields["on"].help_text = _(
                "Leave empty when nobody knows: today is used, and the arrival stays an open point."
            )
        if self.old is None or not snapshot_of(self.old).get("arrival_unknown"):
            del self.fields["arrival_unknown"]

    def facts(self) -> dict[str, Any]:
        data = self.cleaned_data
        known = {"arrival_unknown": data["arrival_unknown"]} if "arrival_unknown" in data else {}
        stated = SourceText.stated(
            data, data["activity_text"], data["reference_text"], self._basis()
        )
        return known | stated.snapshot()

    def _basis(self) -> str:
        """What the activity rests on: as before, for the form does not ask."""
        before = snapshot_of(self.old).get("activity_basis") if self.old is not None else None
        return before if before and before != "unknown" else "certificate"
