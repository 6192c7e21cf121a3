"""Conditions of a row as people write them: what, compared how, with which value."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.calc.units import parse_result
from inventory.rules.conditions_read import BY_TABLE, SERIES
from inventory.rules.schema import COMPARATORS, CONDITIONS, REQUIREMENTS, VALUES, Bound, Row, Wanted
from inventory.schedule.condition_words import ACTIVITIES, nearly_all
from inventory.schedule.spoken import lazy_word, word
from inventory.sentences import error_text, value_text

#: So many conditions can be written for one row.
SLOTS = 6
#: Compared how: a condition that is no number only *is* something.
IS = "is"
HOWS = [
    (IS, gettext_lazy("is")),
    *((one, lazy_word("compared", one)) for one in COMPARATORS),
]
UNITS = (("TBq", 1e12), ("GBq", 1e9), ("MBq", 1e6), ("kBq", 1e3), ("Bq", 1.0))
#: What a condition is about, for the choice.
NAMES: dict[str, Any] = {
    "nuclide": gettext_lazy("nuclide"),
    "activity_bq": gettext_lazy("activity"),
    "half_life_days": gettext_lazy("half-life in days"),
    "age_months": gettext_lazy("age in months"),
    "kept_months": gettext_lazy("months since it was received"),
    "quotient": gettext_lazy("activity by the value of a nuclide table"),
    "device_quotient": gettext_lazy("all in the gauge, by the values of a nuclide table"),
    "contents_beta_gamma_bq": gettext_lazy("activity in the gauge that emits no alpha"),
    "contents_alpha_bq": gettext_lazy("activity in the gauge that emits alpha"),
    "contains_only": gettext_lazy("nuclide of every source in the gauge"),
    "gas": gettext_lazy("a gas"),
    "alpha_emitter": gettext_lazy("alpha emitter"),
    "neutron_source": gettext_lazy("neutron source"),
    "hass": gettext_lazy("high-activity source"),
    "use": gettext_lazy("what it is used as"),
    "in_device": gettext_lazy("inside a gauge"),
    "portable": gettext_lazy("portable gauge"),
    "whereabouts": gettext_lazy("where it is"),
    "keeping": gettext_lazy("how it is kept"),
    "inaccessible": gettext_lazy("nobody can get at it"),
    "visiting": gettext_lazy("a contractor's, on a visit"),
    "type_approved": gettext_lazy("type approved"),
    "required_by_law": gettext_lazy("the law asks for it"),
    "presence_only": gettext_lazy("only shows that there is radiation"),
    "detects_leak_in_water": gettext_lazy("a detector watches it in water"),
    "working_life_past": gettext_lazy("working life is over"),
    "monitor_kind": gettext_lazy("kind of monitor"),
    "radiation": gettext_lazy("what a monitor measures"),
    "place_kind": gettext_lazy("kind of place"),
    "designation": gettext_lazy("designation of the area"),
    "series": gettext_lazy("a series of other records, longest gap in months"),
}


def fields_for(tables: Mapping[str, Any]) -> dict[str, forms.Field]:
    """The fields of every slot; ``tables`` are the nuclide tables of the rules."""
    of = [
        ("", "–"),
        *((name, table.title) for name, table in tables.items()),
        *((name, value_text("requirement", name)) for name in REQUIREMENTS),
    ]
    out: dict[str, forms.Field] = {}
    for slot in range(1, SLOTS + 1):
        choice, text = forms.ChoiceField, forms.CharField
        out[f"when{slot}_name"] = choice(
            label=_("Condition %(n)s") % {"n": slot},
            choices=[("", _("no condition")), *NAMES.items()],
            required=False,
        )
        out[f"when{slot}_how"] = choice(label=_("Compared"), choices=HOWS, required=False)
        out[f"when{slot}_value"] = text(label=_("Value"), max_length=200, required=False)
        out[f"when{slot}_of"] = choice(label=_("Table or records"), choices=of, required=False)
    return out


def initial_for(row: Row) -> dict[str, str]:
    """What the slots say of a row; a row with more conditions than slots cannot be edited here."""
    out: dict[str, str] = {}
    for slot, (name, wanted) in enumerate(row.when, 1):
        out[f"when{slot}_name"] = name
        out[f"when{slot}_how"] = wanted.comparator if isinstance(wanted, Bound) else IS
        out[f"when{slot}_value"] = _written(name, wanted)
        out[f"when{slot}_of"] = wanted.table if isinstance(wanted, Bound) else ""
    return out


def _written(name: str, wanted: Wanted) -> str:
    if isinstance(wanted, Bound):
        return _in_unit(wanted.value) if name in ACTIVITIES else f"{wanted.value:.12g}"
    if isinstance(wanted, bool):
        return _("yes") if wanted else _("no")
    values = [str(one) for one in (wanted if isinstance(wanted, tuple) else (wanted,))]
    others = [one for one in VALUES.get(name, ()) if one not in values]
    if nearly_all(values, others):
        return f"{_('anything but')} {_listed(name, others)}"
    return _listed(name, values)


def _listed(name: str, values: Sequence[str]) -> str:
    return ", ".join(word(name, value) for value in values)


def _in_unit(bq: float) -> str:
    """An activity with the unit in which it is short, every digit kept."""
    unit, factor = next((one for one in UNITS if bq >= one[1]), UNITS[-1])
    return f"{bq / factor:.15g} {unit}"


def read(data: Mapping[str, Any], refuse: Callable[[str, str], None]) -> dict[str, Any]:
    """The ``when`` table of a row from the slots; ``refuse`` gets a field and what is wrong."""
    out: dict[str, Any] = {}
    for slot in range(1, SLOTS + 1):
        name = data.get(f"when{slot}_name")
        if not name:
            continue
        try:
            if name in out:
                raise ValidationError(_("This is asked in another condition already."))
            out[name] = _wanted(
                *(name, data.get(f"when{slot}_how", "")),
                *(data.get(f"when{slot}_value", "").strip(), data.get(f"when{slot}_of", "")),
            )
        except ValidationError as error:
            refuse(f"when{slot}_value", error.messages[0])
    return out


def _wanted(name: str, how: str, text: str, of: str) -> Any:
    kind = CONDITIONS[name]
    if not text:
        raise ValidationError(_("Give the value."))
    if kind is bool:
        return _yes_or_no(text)
    if name == SERIES:
        return {"of": of, "months": _number(text)} if of in REQUIREMENTS else _which_records()
    if kind is float:
        return _bound(name, how, text, of)
    return _texts(name, text)


def _which_records() -> Any:
    raise ValidationError(_("Choose which records the series is made of."))


def _yes_or_no(text: str) -> bool:
    said = text.lower()
    if said in ("yes", "y", _("yes").lower()):
        return True
    if said in ("no", "n", _("no").lower()):
        return False
    raise ValidationError(_("Write yes or no."))


def _bound(name: str, how: str, text: str, of: str) -> dict[str, Any]:
    if how not in COMPARATORS:
        raise ValidationError(_("Choose how it is compared: below, at most, above or at least."))
    if name in BY_TABLE and (not of or of in REQUIREMENTS):
        raise ValidationError(_("Choose the nuclide table."))
    value = _activity(text) if name in ACTIVITIES else _number(text)
    return {how: value} | ({"table": of} if name in BY_TABLE else {})


def _activity(text: str) -> float:
    try:
        return float(parse_result(text).decimal)
    except DomainError as error:
        raise ValidationError(error_text(error)) from error


def _number(text: str) -> float | int:
    try:
        value = float(text.replace(",", "."))
    except ValueError as error:
        raise ValidationError(_("Write a number, such as 15.")) from error
    return int(value) if value == int(value) else value


def _texts(name: str, text: str) -> str | list[str]:
    """One text or several; of a closed list also everything but what is named."""
    but = _("anything but").lower()
    if name in VALUES and text.lower().startswith(but):
        named = _named(name, text[len(but) :])
        return [value for value in VALUES[name] if value not in named]
    found = _named(name, text)
    return found[0] if len(found) == 1 else found


def _named(name: str, text: str) -> list[str]:
    known = {word(name, value).lower(): value for value in VALUES.get(name, ())}
    known |= {value: value for value in VALUES.get(name, ())}
    said = [part.strip() for part in text.split(",") if part.strip()]
    for part in said if known else ():
        if part.lower() not in known:
            listed = ", ".join(word(name, value) for value in VALUES[name])
            raise ValidationError(_("Write one or several of: %(list)s.") % {"list": listed})
    return [known.get(part.lower(), part) for part in said]
