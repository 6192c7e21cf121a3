"""The page *Can this counter do it?*"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.calc.explain import Explained
from inventory.calc.units import format_activity
from inventory.ledger.models import Item
from inventory.requirements.wording import state_sentence
from inventory.sentences import day_text, lines, number_text, value_text
from surveys.calc import leak
from surveys.sentences import SENTENCES
from surveys.sessions.cells import numeric
from surveys.sessions.plan import Background, CounterPlan, NuclideThere, plans

#: The mark before each answer: a tick, a diamond, a cross, a square.
MARKS = {
    "within_1_min": "pass",
    "within_10_min": "pass",
    "longer": "inconclusive",
    "unknown_background": "not_evaluable",
    "unknown_limit": "not_evaluable",
}


class RatesForm(forms.Form):
    """A background rate for each counter, where another than the last one is to be tried."""

    def __init__(self, counters: Iterable[Item], data: Any = None) -> None:
        super().__init__(data)
        for counter in counters:
            self.fields[counter.code] = forms.FloatField(
                label=_("%(counter)s (counts per second)") % {"counter": counter.label},
                required=False,
                min_value=0,
                max_value=1e6,
                widget=numeric(),
            )

    def rates(self) -> dict[str, float]:
        """The rates that were given and can be read."""
        self.full_clean()
        found = getattr(self, "cleaned_data", {})
        return {code: rate for code, rate in found.items() if rate is not None}


def page(request: Any, site: str) -> HttpResponse:
    """Counters down, nuclides across each of them, today."""
    items = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    found = plans(request.site, items, request.today, {})
    form = RatesForm([plan.counter for plan in found], request.GET or None)
    rates = form.rates() if request.GET else {}
    if rates:
        found = plans(request.site, items, request.today, rates)
    context = {
        "form": form,
        "asked": [plan.counter.label for plan in found if plan.background.count is None],
        "counters": [_counter(request, plan) for plan in found],
        "on": request.today,
    }
    return render(request, "sessions/counters.html", context)


def _counter(request: Any, plan: CounterPlan) -> dict[str, Any]:
    return {
        "label": plan.counter.label,
        "url": reverse("item", args=[request.site.slug, plan.counter.code]),
        "calibration": _calibration(plan, request.today),
        "background": _background(request, plan.background),
        "rows": [_row(there, said) for there, said in plan.abilities],
    }


def _calibration(plan: CounterPlan, on: date) -> dict[str, str]:
    """Its calibration today, in words, and what that means for a pass."""
    span = plan.calibration
    state = span.decision.state_on(on) if span else "not_required"
    text = state_sentence(span.decision, on) if span else value_text("state", state)
    unfit = ""
    if plan.in_force.unfit_because:
        unfit = _("A pass counted on it today is not relied on: %(why)s.") % {
            "why": value_text("because", plan.in_force.unfit_because)
        }
    return {"state": state, "text": text, "unfit": unfit}


def _background(request: Any, background: Background) -> dict[str, str]:
    if background.count is None:
        return {"text": _("No background is known: give its rate below."), "url": ""}
    values = {
        "rate": number_text(background.count.rate),
        "counts": number_text(background.count.counts),
        "seconds": number_text(background.count.seconds),
    }
    if background.seq is None or background.on is None:
        return {"text": _("Background as given: %(rate)s per second") % values, "url": ""}
    said = _("Last background: %(rate)s per second (%(counts)s counts in %(seconds)s s) on %(on)s")
    return {
        "text": said % {**values, "on": day_text(background.on)},
        "url": reverse("record", args=[request.site.slug, background.seq]),
    }


def _row(there: NuclideThere, said: Explained[leak.Ability]) -> dict[str, Any]:
    ability = said.value
    told = list(lines(said.steps, SENTENCES))
    return {
        "nuclide": there.name or _("nuclide not known"),
        "sources": there.sources,
        "mark": MARKS.get(ability.answer, "fail"),
        "answer": told[0].text,
        "lines": told[1:],
        "short": _bq(ability.detection_1_min_bq),
        "long": _bq(ability.detection_10_min_bq),
        "to_pass": time_text(ability.seconds_to_pass, ability.never),
        "to_tenth": time_text(ability.seconds_to_tenth, ability.never),
    }


def _bq(value: float | None) -> str:
    return "–" if value is None else format_activity(value)


def time_text(seconds: float | None, never: bool = False) -> str:
    """A counting time as people read it, rounded up: 8 s, 3 min 20 s, 2 h 5 min, 4 days."""
    if seconds is None:
        return _("never") if never else "–"
    whole = int(-(-seconds // 1)) or 1
    if whole < 60:
        return _("%(s)s s") % {"s": whole}
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        text = _("%(min)s min %(s)s s") if rest else _("%(min)s min")
        return text % {"min": minutes, "s": rest}
    minutes = -(-whole // 60)
    hours, rest = divmod(minutes, 60)
    if hours < 48:
        text = _("%(h)s h %(min)s min") if rest else _("%(h)s h")
        return text % {"h": hours, "min": rest}
    return _("%(d)s days") % {"d": -(-hours // 24)}
