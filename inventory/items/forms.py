"""Forms that describe things: the parsers between what people write and a description.

One form serves three pages: a new thing (with its arrival), a thing described anew (a change from
a day on, or a correction), and the correction of one record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.moves import IN_USE, KEEPINGS
from inventory.custody.forms import PlaceField, places_for
from inventory.fields import ActivityField, DayField, NuclideField, PartialDateField
from inventory.items.actions import SourceText, gauge_snapshot, location_snapshot, snapshot_of
from inventory.items.models import LocationKind
from inventory.items.snapshots import OF_A_GAUGE, OF_A_PLACE, OF_A_SOURCE
from inventory.items.wording import DESIGNATIONS, FORMS_OF_MATTER, USED_FOR
from inventory.ledger import canonical
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import WritingForm
from inventory.sentences import WORDS, day_text

CHANGE, CORRECTION = "change", "correction"
#: Kinds of thing that arrive nowhere: they are described and that is all.
NEVER_ARRIVE = (ItemKind.LOCATION, ItemKind.LABORATORY, ItemKind.PERMIT, ItemKind.PERSON)
#: What is said of the arrival of a thing beside its day.
ARRIVAL = ("to", "keeping", "supplier", "document", "owner", "expected_on")


def text(label: Any, length: int = 100, *, required: bool = False, help_text: Any = "") -> Any:
    """A line of text."""
    return forms.CharField(label=label, max_length=length, required=required, help_text=help_text)


def area(label: Any, *, help_text: Any = "") -> Any:
    """A few lines of text."""
    widget = forms.Textarea(attrs={"rows": 2})
    return forms.CharField(
        label=label, required=False, max_length=1000, widget=widget, help_text=help_text
    )


def one_of(label: Any, words: Mapping[str, Any], *, help_text: Any = "") -> Any:
    """A choice that may stay open."""
    choices = [("", gettext_lazy("not said")), *words.items()]
    return forms.ChoiceField(label=label, choices=choices, required=False, help_text=help_text)


def tick(label: Any, *, help_text: Any = "") -> Any:
    """Yes, or not said."""
    return forms.BooleanField(label=label, required=False, help_text=help_text)


class DescriptionForm(WritingForm):
    """What every description has beside the thing's own facts: its day, its place, its reason."""

    KIND: ClassVar[str] = ""
    FACTS: ClassVar[tuple[str, ...]] = ()
    #: Of these, what the description says only where it is known.
    OPTIONAL: ClassVar[tuple[str, ...]] = ()
    #: How the day is called from which it is there.
    SINCE: ClassVar[Any] = gettext_lazy("Part of the site since")
    TEMPLATE: ClassVar[str] = "items/form.html"
    #: Sentences of what upper modules may refuse.
    TABLES: ClassVar[tuple[Any, ...]] = ()

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
    keeping = forms.ChoiceField(
        label=gettext_lazy("How it is kept"),
        choices=[(one, WORDS[f"keeping:{one}"]) for one in KEEPINGS],
        required=False,
    )
    supplier = text(gettext_lazy("Supplier"), 200)
    document = text(gettext_lazy("Delivery note or transport document"), 200)
    owner = text(
        gettext_lazy("Whose it is, if it only visits"),
        200,
        help_text=gettext_lazy(
            "Only for a contractor’s, which leaves again: it is not this site’s own."
        ),
    )
    expected_on = DayField(label=gettext_lazy("Visits until"), required=False)
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
        self.arrives = self.KIND not in NEVER_ARRIVE
        keep = self._kept(fixed)
        for name in {"how", "on", "reason", *ARRIVAL} - set(keep):
            del self.fields[name]
        choices: dict[str, Any] = self.fields
        if "keeping" in keep:
            choices["keeping"].needed = True  # there is always one chosen
        if "to" in keep:
            choices["to"].queryset = places_for(request, self.KIND)
        if item is not None and "on" in keep:
            choices["on"].label = _("Holds from")
            choices["on"].help_text = _("The first day of a change; a correction keeps its day.")
            choices["on"].required, choices["on"].needed = False, True
        elif not self.arrives and "on" in keep:
            choices["on"].label = self.SINCE

    def _kept(self, fixed: bool) -> tuple[str, ...]:
        if fixed:
            return ("reason",)
        if self.item is not None:
            return ("how", "on", "reason")
        return ("on", *ARRIVAL) if self.arrives else ("on",)

    @classmethod
    def start_from(cls, snapshot: dict[str, Any]) -> dict[str, Any]:
        """What the form starts with when the thing is described anew."""
        return {name: snapshot.get(name) for name in cls.FACTS}

    def arrival(self) -> dict[str, Any]:
        """What the act that receives it is told, by the names of its arguments."""
        said = {name: self.cleaned_data[name] for name in ARRIVAL if name in self.fields}
        return said | ({"keeping": said["keeping"] or IN_USE} if said else {})

    @property
    def groups(self) -> Iterator[tuple[str, str, list[forms.BoundField], str]]:
        """The form in the order of the work: title, help, fields, name of the part."""
        facts = [name for name in self.FACTS if name in self.fields]
        others = ("how", "on", *ARRIVAL, "reason")
        plain = [self[name] for name in facts if name not in self.OPTIONAL]
        yield _("What it is"), "", plain, "facts"
        if asked := [self[name] for name in facts if name in self.OPTIONAL]:
            yield _("What schedules ask for"), "", asked, "asked"
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
        kept = {name: value for name, value in before.items() if name not in self.OPTIONAL}
        return kept | self.facts()

    def facts(self) -> dict[str, Any]:
        """The thing's own facts, as its snapshot keeps them."""
        raise NotImplementedError


class LocationForm(DescriptionForm):
    """A place on the site."""

    KIND = ItemKind.LOCATION
    OPTIONAL = OF_A_PLACE
    FACTS = ("name", "place_kind", "within", *OPTIONAL)

    name = text(gettext_lazy("Name"), 200, required=True)
    place_kind = forms.ChoiceField(label=gettext_lazy("Kind"), choices=LocationKind.choices)
    within = PlaceField(label=gettext_lazy("Lies inside"), required=False)
    designation = one_of(gettext_lazy("Designation of the area"), DESIGNATIONS)

    def __init__(self, request: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(request, *args, **kwargs)
        choices: dict[str, Any] = self.fields
        choices["within"].queryset = places_for(request, ItemKind.LOCATION)

    def facts(self) -> dict[str, Any]:
        data = self.cleaned_data
        within = data["within"].code if data["within"] else None
        return location_snapshot(
            data["name"],
            place_kind=data["place_kind"],
            within=within,
            designation=data["designation"],
        )


class GaugeForm(DescriptionForm):
    """A device that holds none, one or several sources."""

    KIND = ItemKind.GAUGE
    OPTIONAL = OF_A_GAUGE
    FACTS = ("tag", "maker", "model", "housing_serial", "whom_to_ask", *OPTIONAL)

    tag = text(gettext_lazy("Tag"), required=True)
    maker = text(gettext_lazy("Maker"))
    model = text(gettext_lazy("Model"))
    housing_serial = text(gettext_lazy("Housing serial"))
    whom_to_ask = text(gettext_lazy("Whom to ask before its shutter is closed"), 200)
    device_kind = text(
        gettext_lazy("What it is for"), help_text=gettext_lazy("Such as: level gauge, backscatter.")
    )
    quality_on = DayField(
        label=gettext_lazy("Certificate of quality of"),
        required=False,
        help_text=gettext_lazy("Of one of an approved type: the day on the maker's certificate."),
    )
    portable = tick(gettext_lazy("It is carried from place to place"))
    type_approved = tick(gettext_lazy("It is of a type that an authority has approved"))
    detects_leak_in_water = tick(
        gettext_lazy("It stands in water that is watched for activity, so that a leak would show")
    )

    def facts(self) -> dict[str, Any]:
        return gauge_snapshot(**{name: self.cleaned_data[name] for name in self.FACTS})


class SourceForm(DescriptionForm):
    """A sealed source as its certificate states it. What is not known is left empty."""

    KIND = ItemKind.SOURCE
    FACTS = (
        *("nuclide", "activity_text", "reference_text", "maker", "model"),
        *("serial", "serial_unknown_because"),
        *(name for name in OF_A_SOURCE if name not in ("made_on", "made_precision")),
        *("remark", "arrival_unknown"),
    )
    OPTIONAL = OF_A_SOURCE

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
    use = one_of(
        gettext_lazy("Used for"),
        USED_FOR,
        help_text=gettext_lazy("Rows of a schedule for another use do not hold for it."),
    )
    made_text = PartialDateField(
        label=gettext_lazy("Made"),
        required=False,
        help_text=gettext_lazy("As far as it is known; of a month or a year its last day counts."),
    )
    working_life_until = DayField(
        label=gettext_lazy("Working life ends"),
        required=False,
        help_text=gettext_lazy("As the maker recommends it."),
    )
    special_form_certificate = text(gettext_lazy("Special-form certificate"))
    special_form_until = DayField(
        label=gettext_lazy("Special-form certificate valid until"), required=False
    )
    iso_2919 = text(
        gettext_lazy("ISO 2919 class"), 50, help_text=gettext_lazy("Such as ISO/97/C64344.")
    )
    physical_form = one_of(gettext_lazy("Physical form"), FORMS_OF_MATTER)
    inaccessible = tick(gettext_lazy("Nobody can get at it where it is used"))
    remark = area(gettext_lazy("Remark"))
    arrival_unknown = tick(gettext_lazy("The day of arrival is not known"))

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
