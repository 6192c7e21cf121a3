"""What is asked about what lies ahead: a day, a place, a kind of work, how long beyond a shutdown.

A form sent with GET; page and files read the same address.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from config.accounts.models import Site
from inventory import knowledge
from inventory.fields import DayField
from inventory.ledger.models import Item, ItemKind
from reports.ahead.names import Kinds

MONTHS = (0, 1, 2, 3, 4, 6, 9, 12)
USUAL_MONTHS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """``today``: the day on which it is asked; ``place`` None: everywhere; ``requirement`` empty:
    every kind; ``months``: what is due so long after a shutdown can still be taken along in it."""

    site: Site
    on: date
    today: date
    place: int | None = None
    place_code: str = ""
    place_name: str = ""
    requirement: str = ""
    months: int = USUAL_MONTHS

    @property
    def past(self) -> bool:
        """Whether what lies ahead of that day has begun to happen."""
        return self.on < self.today


def _months_text(months: int) -> str:
    if not months:
        return _("nothing: only what falls due during it")
    said = ngettext("due up to %(n)s month after it", "due up to %(n)s months after it", months)
    return said % {"n": months}


class AheadForm(forms.Form):
    """What the page is narrowed down to."""

    place = forms.ChoiceField(label=gettext_lazy("Where"), required=False)
    kind = forms.ChoiceField(label=gettext_lazy("Which work"), required=False)
    months = forms.TypedChoiceField(
        label=gettext_lazy("Can be taken along in a shutdown"),
        coerce=int,
        empty_value=None,
        required=False,
    )
    on = DayField(label=gettext_lazy("As of"), required=False)

    def __init__(self, data: Any, *, places: dict[str, str], kinds: dict[str, str]) -> None:
        super().__init__(data)
        choices: dict[str, Any] = self.fields
        choices["place"].choices = [("", _("everywhere")), *places.items()]
        choices["kind"].choices = [("", _("all")), *kinds.items()]
        choices["months"].choices = [(months, _months_text(months)) for months in MONTHS]


def asked_for(request: Any) -> tuple[Asked, AheadForm]:
    """What a request asks for; what cannot be read is left out and said beside its field."""
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    rows = items.of_kind(ItemKind.LOCATION).order_by("label_sort")
    places = {code: (pk, label) for pk, code, label in rows.values_list("pk", "code", "label")}
    kinds = Kinds(knowledge.schedules_of(request.site))
    data = request.GET.copy()
    data.setdefault("on", request.today.isoformat())
    data.setdefault("months", str(USUAL_MONTHS))
    labels = {code: label for code, (_pk, label) in places.items()}
    form = AheadForm(data, places=labels, kinds=kinds.choices)
    form.is_valid()
    said = form.cleaned_data
    request.on = said.get("on") or request.today
    key, name = places.get(said.get("place", ""), (None, ""))
    months = said.get("months")
    asked = Asked(
        site=request.site,
        on=said.get("on") or request.today,
        today=request.today,
        place=key,
        place_code=said.get("place", ""),
        place_name=name,
        requirement=said.get("kind", ""),
        months=USUAL_MONTHS if months is None else months,
    )
    return asked, form


def query_of(request: Any) -> str:
    """The choice as in the address, for the files of the same."""
    names = ("place", "kind", "months", "on")
    return urlencode({name: request.GET[name] for name in names if request.GET.get(name)})
