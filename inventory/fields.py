"""Form fields: the only parsers of what people write. Each turns text into exact values or says in
one sentence what was expected; web forms, import rows and commands use the same ones."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from inventory.calc.dates import PartialDate, parse_date
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import NuclideData, resolve
from inventory.calc.units import Activity, parse_activity
from inventory.nuclides.read import nuclides
from inventory.sentences import error_text


def said(parse: Callable[[], Any]) -> Any:
    """Run a parser; its domain error becomes the field's sentence."""
    try:
        return parse()
    except DomainError as error:
        raise ValidationError(error_text(error), code=error.code) from error


class LongSelect(forms.Select):
    """A select among hundreds, written in one go: Django's own asks two templates for each of its
    options, which took longer than the rest of a page. Without groups."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        chosen = set(self.format_value(value))
        options = format_html_join(
            "",
            "<option{}>{}</option>",
            (
                (flatatt({"value": one, "selected": str(one) in chosen}), label)
                for one, label in self.choices
            ),
        )
        said = self.build_attrs(self.attrs, {"name": name, **(attrs or {})})
        return format_html("<select{}>{}</select>", flatatt(said), options)


class ActivityField(forms.CharField):
    """An activity above zero with its unit, such as 3.7 GBq or 100 mCi."""

    def clean(self, value: Any) -> Activity | None:
        text = super().clean(value)
        return said(lambda: parse_activity(text)) if text else None


class ResultField(forms.CharField):
    """A measured activity with its unit, zero and below included."""

    def clean(self, value: Any) -> Activity | None:
        from inventory.calc.units import parse_result

        text = super().clean(value)
        return said(lambda: parse_result(text)) if text else None


class NuclideField(forms.CharField):
    """A nuclide as people write it: Cs137, 137Cs, Caesium-137, Am241/Be."""

    def clean(self, value: Any) -> NuclideData | None:
        text = super().clean(value)
        return said(lambda: resolve(text, nuclides())) if text else None


class PartialDateField(forms.CharField):
    """A date of known precision: 2019-05-03, May 2019, 2019."""

    def clean(self, value: Any) -> PartialDate | None:
        text = super().clean(value)
        return said(lambda: parse_date(text)) if text else None


class DayField(forms.DateField):
    """A whole day. On pages the browser's own date field; in files 2019-05-03 or 3 May 2019."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def to_python(self, value: Any) -> date | None:
        if value in self.empty_values or isinstance(value, date):
            return value or None
        found = said(lambda: parse_date(str(value)))
        if found.precision != "day":
            raise ValidationError(
                _("“%(text)s” is not a whole day: write it like 2019-05-03.") % {"text": value}
            )
        day: date = found.on
        return day


class CountsField(forms.CharField):
    """Counts joined by plus signs: 431 or 431 + 425. Digits alone: a thousands separator would turn
    5,000 into 5, so anything that can be read in two ways is refused."""

    PART = re.compile(r"[0-9]{1,15}")

    def clean(self, value: Any) -> list[float]:
        text = super().clean(value) or ""
        return [self._number(part.strip()) for part in text.split("+")] if text else []

    def _number(self, part: str) -> float:
        if not self.PART.fullmatch(part):
            raise ValidationError(self._expected() % {"text": part[:40]})
        return int(part)

    def _expected(self) -> str:
        return _(
            "“%(text)s” is not a count: write digits only, such as 5000, and several counts as "
            "431 + 425."
        )


class SecondsField(CountsField):
    """Counting times in seconds, joined like the counts: 600 or 600 + 60.5."""

    PART = re.compile(r"[0-9]{1,9}([.,][0-9]{1,6})?")
    TWO_WAYS = re.compile(r"[0-9]{1,3}[.,][0-9]{3}")

    def _number(self, part: str) -> float:
        if not self.PART.fullmatch(part) or self.TWO_WAYS.fullmatch(part):
            raise ValidationError(self._expected() % {"text": part[:40]})
        return float(part.replace(",", "."))

    def _expected(self) -> str:
        return _(
            "“%(text)s” is not a time in seconds: write it like 1200 or 60.5, and several as "
            "600 + 60."
        )


def paired(
    counts: Sequence[float], seconds: Sequence[float]
) -> list[tuple[float, float | None]] | None:
    """Counts with their times, one each; None when they do not fit. Without any time each count
    stands alone. One time for several counts could be each one's or their total: not taken."""
    if not seconds:
        return [(count, None) for count in counts]
    if len(seconds) != len(counts):
        return None
    return list(zip(counts, seconds, strict=True))
