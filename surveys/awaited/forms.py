"""Forms of wipes that a laboratory counts: sending them, and giving one up."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.accounts.models import Site
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind, sort_key
from inventory.pages import WritingForm
from surveys.awaited.sending import Parcel, Taken
from surveys.grids import Grid, GridForm, written
from surveys.laboratories.fields import LaboratoryField
from surveys.leak.models import Reason

#: Days after which a result is asked for. Common practice, no source.
CHASE_AFTER = timedelta(days=21)
OPEN_ROWS, BLANK_ROWS, MOST_ROWS = 5, 12, 80
#: Of so many sources the browser offers the names while somebody types.
MOST_OFFERED = 500


def line(label: Any, length: int = 200, *, required: bool = False, **kwargs: Any) -> Any:
    """A line of text."""
    return forms.CharField(label=label, max_length=length, required=required, **kwargs)


class TakenForm(forms.Form):
    """One wipe. A row in which neither source nor label is written is none."""

    sources = line(
        gettext_lazy("Source"),
        widget=forms.TextInput(attrs={"list": "offered-sources", "autocomplete": "off"}),
    )
    wiped_on = DayField(label=gettext_lazy("Another day"), required=False)
    wiped_by = line(gettext_lazy("Another person"))
    point_wiped = line(gettext_lazy("Point wiped"))
    label = line(gettext_lazy("On the envelope"), 100)

    def has_changed(self) -> bool:
        """Whether anything is written that makes a wipe."""
        return written(self, "sources", "label", "point_wiped")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.names and "sources" not in self.errors:
            self.add_error("sources", _("Say which source the wipe covers."))
        return data

    @property
    def names(self) -> list[str]:
        """What is written for the sources, one by one."""
        text = self.cleaned_data.get("sources", "") if hasattr(self, "cleaned_data") else ""
        return [part.strip() for part in text.split(";") if part.strip()]


class TakenBase(Grid):
    """The wipes of one sending. Sources are looked up together: one query for all rows."""

    TITLE = gettext_lazy("Wipes")
    OPEN = OPEN_ROWS
    site: Any = None

    def clean(self) -> None:
        rows = [row for row in self.written if not row.errors]
        found = _named(self.site, {name for row in rows for name in row.names})
        self.found: dict[int, list[Item]] = {}
        for row in rows:
            sources = []
            for name in row.names:
                matching = found[name]
                if len(matching) == 1:
                    sources.append(matching[0])
                else:
                    row.add_error("sources", _not_one(name, matching))
            self.found[id(row)] = sources

    def taken(self, day: Any, person: str) -> list[Taken]:
        """The wipes; ``day`` and ``person`` where the row names no others."""
        return [
            Taken(
                sources=self.found[id(row)],
                wiped_on=row.cleaned_data["wiped_on"] or day,
                wiped_by=row.cleaned_data["wiped_by"] or person,
                point_wiped=row.cleaned_data["point_wiped"],
                label=row.cleaned_data["label"],
            )
            for row in self.written
        ]


def _named(site: Any, names: set[str]) -> dict[str, list[Item]]:
    """The sources that each text names: by code, label or serial."""
    keys = {sort_key(name) for name in names}
    codes = {name.upper() for name in names}
    sources = Item.objects.filter(site=site, kind=ItemKind.SOURCE)
    asked = Q(code__in=codes) | Q(key__in=keys) | Q(label_sort__in=keys)
    by_name: dict[str, list[Item]] = defaultdict(list)
    for item in sources.filter(asked).order_by("pk") if names else ():
        for name in names:
            if name.upper() == item.code or sort_key(name) in (item.key, item.label_sort):
                by_name[name].append(item)
    return by_name


def names_for(site: Site, sources: Sequence[Item]) -> dict[int, str]:
    """What to write for each source so that it alone is meant: its label, or its code where others
    are called the same."""
    keys = {source.label_sort for source in sources}
    there = Item.objects.filter(site=site, kind=ItemKind.SOURCE, label_sort__in=keys)
    called = Counter(there.values_list("label_sort", flat=True))
    return {
        source.pk: source.code
        if called[source.label_sort] > 1 or ";" in source.label
        else source.label
        for source in sources
    }


def _not_one(name: str, matching: list[Item]) -> str:
    if not matching:
        return _("No source here has the code or serial “%(name)s”.") % {"name": name}
    codes = ", ".join(f"{item.code} ({item.label})" for item in matching[:6])
    values = {"name": name, "codes": codes}
    return _("“%(name)s” could be any of these: %(codes)s. Give the code.") % values


TakenRows = forms.formset_factory(
    TakenForm, formset=TakenBase, extra=BLANK_ROWS, max_num=MOST_ROWS, absolute_max=MOST_ROWS
)


class SendForm(GridForm):
    """What the wipes of one sending share."""

    laboratory = LaboratoryField(label=gettext_lazy("Laboratory"))
    sent_on = DayField(label=gettext_lazy("Sent on"))
    chase_on = DayField(
        label=gettext_lazy("Ask for the result from"),
        required=False,
        help_text=gettext_lazy("Empty: 21 days after sending (common practice, no source)."),
    )
    wiped_on = DayField(label=gettext_lazy("Wiped on"))
    wiped_by = line(gettext_lazy("Wiped by"), required=True)
    why = forms.ChoiceField(label=gettext_lazy("Reason"), choices=Reason.choices)
    method = line(gettext_lazy("Method"))
    remark = line(gettext_lazy("Remark"), 1000)
    because = line(gettext_lazy("Why the earlier record is corrected"), 1000, required=True)

    def __init__(
        self, request: Any, *args: Any, rows: Any = None, replaces: Any = None, **kwargs: Any
    ) -> None:
        """``rows``: what the grid starts with; ``replaces``: the record of the one wipe that is
        corrected."""
        super().__init__(*args, **kwargs)
        self.request, self.today = request, request.today
        laboratory: Any = self.fields["laboratory"]
        laboratory.offer(request)
        if replaces is None:
            del self.fields["because"]
        grid: Any = TakenRows(
            self.data if self.is_bound else None,
            initial=rows,
            prefix="wipes",
            form_kwargs={"empty_permitted": True},
        )
        grid.site = request.site
        if replaces is not None:
            grid.OPEN, grid.extra = 1, 0
        self.rows = grid

    @property
    def offered(self) -> list[str]:
        """The names that the browser offers while somebody types; of a large site none."""
        sources = Item.objects.filter(site=self.request.site, kind=ItemKind.SOURCE)
        found = list(sources.order_by("label_sort")[: MOST_OFFERED + 1])
        if len(found) > MOST_OFFERED:
            return []
        return list(names_for(self.request.site, found).values())

    @property
    def head(self) -> list[forms.BoundField]:
        """The fields that stand before the grid."""
        return [one for one in self.visible_fields() if one.name != "because"]

    @property
    def end(self) -> list[forms.BoundField]:
        """The fields that stand after it."""
        return [one for one in self.visible_fields() if one.name == "because"]

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if not self.rows.written and not self.errors:
            self.add_error(None, _("Write at least one wipe."))
        return data

    def parcel(self) -> Parcel:
        """What was sent where; call after the form was found valid."""
        data = self.cleaned_data
        names = ("laboratory", "sent_on", "why", "method", "remark")
        chase_on = data["chase_on"] or min(data["sent_on"], date.max - CHASE_AFTER) + CHASE_AFTER
        return Parcel(**{name: data[name] for name in names}, chase_on=chase_on)

    def taken(self) -> list[Taken]:
        """The wipes in it."""
        return list(self.rows.taken(self.cleaned_data["wiped_on"], self.cleaned_data["wiped_by"]))


class GiveUpForm(WritingForm):
    """From which day on nobody waits any more, and why."""

    on = DayField(label=gettext_lazy("Given up on"))
    reason = forms.CharField(
        label=gettext_lazy("Why no result will come"),
        help_text=gettext_lazy("Such as: lost in the post, confirmed by the laboratory."),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=1000,
    )
