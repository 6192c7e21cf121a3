"""Fields of which the forms of a schedule are made."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.schedule.spoken import lazy_word


def whole(label: Any, most: int, *, least: int = 0, help_text: Any = "") -> Any:
    """A whole number that may stay empty."""
    return forms.IntegerField(
        label=label, min_value=least, max_value=most, required=False, help_text=help_text
    )


def choice(name: str, label: Any, values: tuple[str, ...], *, needed: bool = False) -> Any:
    """One of the values of a field of a row, in words."""
    listed: list[tuple[str, Any]] = [(value, lazy_word(name, value)) for value in values]
    if not needed:
        listed.insert(0, ("", "–"))
    return forms.ChoiceField(label=label, choices=listed, required=needed)


def line(label: Any, most: int = 200, *, needed: bool = False, help_text: Any = "") -> Any:
    """A line of text."""
    return forms.CharField(label=label, max_length=most, required=needed, help_text=help_text)


def several_lines(label: Any, help_text: Any = "") -> Any:
    """A few lines of text."""
    widget = forms.Textarea(attrs={"rows": 2})
    return forms.CharField(
        label=label, required=False, max_length=1000, widget=widget, help_text=help_text
    )
