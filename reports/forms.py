"""Which day is asked about."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from inventory.calc.asof import AsOf
from inventory.fields import DayField


class OnForm(forms.Form):
    """The day of a page."""

    on = DayField(label=_("As of"), required=False)


class RegisterForm(OnForm):
    """The day of a register, and how much was known."""

    known = DayField(
        label=_("As it was known on"),
        required=False,
        help_text=_("Leave empty for everything that is known now."),
    )


class RangedRegisterForm(RegisterForm):
    """The days of a register of what happened, and how much was known."""

    since = DayField(
        label=_("From"),
        required=False,
        help_text=_("Leave empty for everything up to the day."),
    )
    field_order = ("since", "on", "known")

    def clean(self) -> dict[str, Any]:
        """The range runs forwards."""
        data: dict[str, Any] = super().clean() or {}
        since, on = data.get("since"), data.get("on")
        if since and on and since > on:
            self.add_error("since", _("The first day lies after the last one."))
        return data


class SearchForm(forms.Form):
    """Search by serial, nuclide or code."""

    q = forms.CharField(label=_("Serial, nuclide or code"), required=False, max_length=100)


def as_of(request: Any, form_class: type[OnForm] = OnForm) -> tuple[AsOf, OnForm]:
    """The day asked for, today without one; a day that cannot be read falls back with its error.

    *As it was known on* a day means: at the end of that day in the site's time zone.
    """
    initial = {"on": request.today}
    asked = set(form_class.base_fields) & set(request.GET)
    form = form_class(request.GET if asked else None, initial=initial)
    if not form.is_bound or not form.is_valid():
        return AsOf(request.today), form
    known = form.cleaned_data.get("known")
    request.on = form.cleaned_data["on"] or request.today
    return AsOf(request.on, known_at(known, request.site)), form


def known_at(day: date | None, site: Any) -> datetime | None:
    """The last moment of a day in a site's time zone."""
    if day is None:
        return None
    zone = ZoneInfo(site.time_zone)
    return datetime.combine(day, time.max, tzinfo=zone) if day < date.max - timedelta(1) else None
