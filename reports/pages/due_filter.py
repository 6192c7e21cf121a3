"""Which lines of what needs doing are shown, in which order: a form sent with GET.

Narrowing down hides lines, never what failed: the sentence of the site stays whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db.models import F, OuterRef, Q, Subquery
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.fields import DayField, LongSelect
from inventory.items.models import Location
from inventory.knowledge import requirements_said
from inventory.ledger.models import Item, ItemKind, sort_key
from inventory.requirements.plans import people_with_bookings, with_booking
from inventory.sentences import value_text
from inventory.timeline import RequirementSpan, Stay

NOBODY, ANYBODY = "-", "+"
BY_STATE, BY_ROUND, BY_KIND = "state", "round", "kind"
#: States that nobody has to look at; they are shown when asked for.
CALM = (due.GOOD, due.ON_HOLD, due.NOT_REQUIRED)


class DueForm(forms.Form):
    """What the list is narrowed down to."""

    q = forms.CharField(
        label=gettext_lazy("Search"),
        help_text=gettext_lazy("Label, serial, tag or code; a gauge's tag finds what is inside."),
        required=False,
        max_length=100,
    )
    location = forms.ChoiceField(label=gettext_lazy("Where"), required=False, widget=LongSelect)
    requirement = forms.ChoiceField(label=gettext_lazy("Which work"), required=False)
    kind = forms.ChoiceField(label=gettext_lazy("On what"), required=False)
    booked = forms.ChoiceField(label=gettext_lazy("Booked"), required=False)
    ahead = forms.ChoiceField(
        label=gettext_lazy("How far ahead"),
        choices=[
            ("", gettext_lazy("what needs doing now")),
            ("30", gettext_lazy("and due within 30 days")),
            ("60", gettext_lazy("and due within 60 days")),
            ("90", gettext_lazy("and due within 90 days")),
        ],
        required=False,
    )
    group = forms.ChoiceField(
        label=gettext_lazy("In the order of"),
        choices=[
            ("", gettext_lazy("urgency")),
            (BY_ROUND, gettext_lazy("rounds: place and work")),
            (BY_KIND, gettext_lazy("kind of work")),
        ],
        required=False,
    )
    on = DayField(label=gettext_lazy("As of"), required=False)
    state = forms.MultipleChoiceField(
        label=gettext_lazy("Only these states"),
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )

    def __init__(
        self, data: Any, *, places: dict[str, str], people: list[str], said: Mapping[str, str]
    ) -> None:
        super().__init__(data)
        names: Any = self.fields
        kinds = dict.fromkeys(said.values())
        names["state"].choices = [(one, value_text("state", one)) for one in due.URGENCY]
        names["location"].choices = [("", _("everywhere")), *places.items()]
        names["requirement"].choices = [
            ("", _("all")),
            *((one, value_text("requirement", one)) for one in said),
        ]
        names["kind"].choices = [("", _("all")), *((one, ItemKind(one).label) for one in kinds)]
        names["booked"].choices = [
            ("", _("booked or not")),
            (NOBODY, _("with nobody")),
            (ANYBODY, _("booked")),
            *((f"={name}", _("with %(name)s") % {"name": name}) for name in people),
        ]


@dataclass(slots=True)
class Chosen:
    """The lines asked for: ``on`` is the day, ``spans`` the rows, ``words`` what narrows them."""

    form: DueForm
    on: date
    site: Site
    asked: dict[str, Any]
    places: Places
    today: date
    schedules: Sequence[due.Schedule]

    @property
    def group(self) -> str:
        """The order of the list."""
        return str(self.asked.get("group") or BY_STATE)

    @property
    def whole(self) -> bool:
        """Whether the list is just what needs doing on the day, nothing less and nothing more."""
        return not self.narrowed and not self.asked.get("ahead")

    @property
    def narrowed(self) -> bool:
        """Whether some lines of what needs doing may be hidden."""
        return bool(list(self.words()))

    @property
    def query(self) -> str:
        """The choice as in the address, without the page; today is not written into it."""
        plain = {
            name: value.isoformat() if isinstance(value, date) else value
            for name, value in self.asked.items()
            if value and not (name == "on" and value == self.today)
        }
        return urlencode(plain, doseq=True)

    def words(self) -> Iterator[str]:
        """What narrows the list, each in a word or two."""
        yield from (value_text("state", state) for state in self.asked.get("state") or ())
        for name in ("requirement", "kind", "booked"):
            if value := self.asked.get(name):
                yield str(dict(self.form.fields[name].choices)[value])  # type: ignore[attr-defined]
        if place := self.asked.get("location"):
            yield self.places.name_of(place)
        if wanted := self.asked.get("q", "").strip():
            yield f"“{wanted}”"

    def everything(self) -> Any:
        """What the list would show if nothing but the horizon narrowed it."""
        spans: Any = RequirementSpan.objects.filter(site=self.site)
        if set(self.asked.get("state") or ()) & set(CALM):
            return spans.with_state(self.on).order_by("urgency", "due_on", "id")
        return spans.needs_doing(self.on, timedelta(days=int(self.asked.get("ahead") or 0)))

    def spans(self) -> Any:
        """The rows asked for, in the order asked for."""
        found = self.everything()
        if states := self.asked.get("state"):
            found = found.filter(state_on__in=states)
        if requirement := self.asked.get("requirement"):
            found = found.filter(requirement=requirement)
        if kind := self.asked.get("kind"):
            found = found.filter(item__kind=kind)
        if place := self.asked.get("location"):
            there = Stay.objects.on(self.on).filter(location__in=self.places.inside(place))
            found = found.filter(item__in=there.values("item"))
        if wanted := self.asked.get("q", "").strip():
            found = found.filter(self._matching(wanted))
        return self._ordered(self._by_booking(found))

    def _by_booking(self, found: Any) -> Any:
        booked = self.asked.get("booked")
        if not booked:
            return found
        found = with_booking(found, self.on)
        if booked in (NOBODY, ANYBODY):
            return found.filter(booked_for__isnull=booked == NOBODY)
        return found.filter(with_whom=booked[1:])

    def _matching(self, wanted: str) -> Q:
        """What bears the name itself, or lies in a gauge that does."""
        items = Item.objects.filter(site=self.site).filter(begins_with(wanted))
        gauges = items.filter(kind=ItemKind.GAUGE)
        inside = Stay.objects.on(self.on).filter(gauge__in=gauges.values("pk"))
        return Q(item__in=items.values("pk")) | Q(item__in=inside.values("item"))

    def _ordered(self, found: Any) -> Any:
        if self.group == BY_KIND:
            return found.order_by("requirement", "urgency", "due_on", "id")
        if self.group != BY_ROUND:
            return found
        stay = Stay.objects.on(self.on).filter(item=OuterRef("item"))
        place = Subquery(stay.values("location__label_sort")[:1])
        order = (F("place").asc(nulls_last=True), "requirement", "urgency", "due_on", "id")
        return found.annotate(place=place).order_by(*order)


class Places:
    """The locations of a site and what lies inside which."""

    def __init__(self, site: Site) -> None:
        rows = Location.objects.filter(item__site=site).order_by("item__label_sort")
        found = rows.values_list("item_id", "item__code", "item__label", "within_id")
        self._label, self._key, self._within = {}, {}, {}
        for key, code, label, within in found:
            self._label[code], self._key[code], self._within[key] = label, key, within

    @property
    def choices(self) -> dict[str, str]:
        """Codes with labels, in the order of the labels."""
        return dict(self._label)

    def name_of(self, code: str) -> str:
        """What a location is called."""
        return str(self._label[code])

    def inside(self, code: str) -> list[int]:
        """The location and everything inside it, to any depth."""
        found = [self._key[code]]
        for outer in found:
            found += [
                key for key, within in self._within.items() if within == outer and key not in found
            ]
        return found


def chosen(request: Any) -> Chosen:
    """What a request asks for; what cannot be read is left out and said beside its field."""
    places = Places(request.site)
    people = people_with_bookings(request.site, request.today)
    data = request.GET.copy()
    data.setdefault("on", request.today.isoformat())
    schedules = knowledge.schedules_of(request.site)
    said = requirements_said(schedules)
    form = DueForm(data, places=places.choices, people=people, said=said)
    form.is_valid()
    asked = form.cleaned_data
    request.on = asked.get("on") or request.today
    return Chosen(
        form,
        asked.get("on") or request.today,
        request.site,
        asked,
        places,
        request.today,
        schedules,
    )


def showing(shown: int, total: int, words: list[str]) -> str:
    """What the list is narrowed down to: Showing 7 of 23: late, Boiler house."""
    values = {"n": shown, "of": total, "words": ", ".join(words)}
    if words:
        return _("Showing %(n)s of %(of)s: %(words)s.") % values
    return ngettext("%(n)s line.", "%(n)s lines.", shown) % values


def begins_with(text: str) -> Q:
    """Items whose code is this text, or whose serial, tag or label begins with it: ranges on the
    folded keys, which an index answers on both databases. The folded keys pad numbers to eight
    digits, so a number that is still being typed is looked for at every length it can grow to."""
    wanted = " ".join(text.casefold().split())
    head = wanted.rstrip("0123456789")
    digits = wanted[len(head) :]
    folded = sort_key(f"{head}.")[:-1]  # a space before the number stays
    starts = [f"{folded}{'0' * (8 - n)}{digits}" for n in range(len(digits), 9)]
    if not digits or not starts:
        starts = [folded + digits]
    found = Q(code=wanted.upper())
    for start in starts:
        for column in ("key", "label_sort"):
            found |= Q(**{f"{column}__gte": start, f"{column}__lt": start + "\U0010ffff"})
    return found
