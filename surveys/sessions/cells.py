"""What the head and the rows of a session are made of: fields, and what belongs together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from inventory.fields import CountsField, SecondsField
from inventory.sentences import day_text


def numeric(**more: str) -> forms.TextInput:
    """A cell for a number; a phone shows its digits."""
    return forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", **more})


def counts_field(label: Any, **more: Any) -> CountsField:
    """Counts, several joined by plus signs."""
    return CountsField(label=label, required=False, widget=numeric(), **more)


def seconds_field(label: Any, **more: Any) -> SecondsField:
    """Times in seconds, joined like the counts."""
    return SecondsField(label=label, required=False, widget=numeric(), **more)


def named(label: Any, **more: Any) -> forms.CharField:
    """A source or gauge by name, with the names that the page knows on offer."""
    attrs = {"list": "names", "autocomplete": "off", "spellcheck": "false"}
    widget = forms.TextInput(attrs=attrs)
    return forms.CharField(label=label, required=False, max_length=400, widget=widget, **more)


def future(day: Any) -> str:
    """That a day has not come yet."""
    return _("%(on)s lies in the future.") % {"on": day_text(day)}


def pairing_fault(numbers: Sequence[float], times: Sequence[float]) -> str:
    """Why counts and times do not belong together, or nothing."""
    if not numbers:
        return _("Give the counts.")
    if not times:
        return _("Give the counting time.")
    if len(numbers) != len(times):
        said = _("%(seconds)s times do not fit %(counts)s counts: give one time for each count.")
        return said % {"seconds": len(times), "counts": len(numbers)}
    return "" if all(times) else _("A counting time is above 0.")
