"""When a row holds, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from django.utils.translation import gettext as _

from inventory.calc.units import format_activity
from inventory.rules.schema import CONDITIONS, Bound, NuclideTable, Wanted
from inventory.rules.schema import VALUES as ALLOWED
from inventory.schedule.spoken import days_text, joined, months_text, word
from inventory.schedule.words import COMPARED, LONGER, WITH_VALUE, YES_NO
from inventory.sentences import number_text, value_text

#: More values than this are said by what is not among them, where that is shorter.
FEW = 3
#: Conditions whose number is an activity.
ACTIVITIES = tuple(name for name in CONDITIONS if name.endswith("_bq"))
Tables = Mapping[str, NuclideTable]
Conditions = Sequence[tuple[str, Wanted]]


def conditions(when: Conditions, tables: Tables | None = None) -> str:
    """Conditions as one text; empty where it always holds."""
    return _(" and ").join(condition(name, wanted, tables) for name, wanted in when)


def when_text(when: Conditions, tables: Tables | None = None) -> str:
    """Conditions as the end of a sentence; empty where there are none."""
    said = conditions(when, tables)
    return _(", where %(when)s") % {"when": said} if said else ""


def condition(name: str, wanted: Wanted, tables: Tables | None = None) -> str:
    """One condition in words."""
    if isinstance(wanted, bool) and name in YES_NO:
        return str(YES_NO[name][0 if wanted else 1])
    if isinstance(wanted, Bound):
        return _number(name, wanted, tables)
    template = WITH_VALUE[name]
    values = wanted if isinstance(wanted, tuple) else (wanted,)
    return str(template) % {"what": _one_of(name, [str(one) for one in values])}


def nearly_all(values: Sequence[str], others: Sequence[str]) -> bool:
    """Whether it is shorter to say what is not among the values."""
    return 0 < len(others) < len(values) and len(values) > FEW


def _one_of(name: str, values: Sequence[str]) -> str:
    """One of several values; where it is nearly every value, the few that it is not."""
    others = [one for one in ALLOWED.get(name, ()) if one not in values]
    if nearly_all(values, others):
        return _("anything but %(list)s") % {"list": joined([word(name, one) for one in others])}
    return joined([word(name, one) for one in values])


def _number(name: str, wanted: Bound, tables: Tables | None) -> str:
    whole = f"{name}:{wanted.value:g}" if wanted.value == 1 or _is_none(wanted) else ""
    template = WITH_VALUE.get(whole) or WITH_VALUE[name]
    compared = str(COMPARED[wanted.comparator]) % {"value": ""}
    values = {"what": _bound(name, wanted), "compared": compared.strip()}
    return str(template) % {**values, "table": _table(name, wanted, tables)}


def _is_none(bound: Bound) -> bool:
    """Whether the bound allows nothing but none at all."""
    return bound.value == 0 and bound.comparator == "at_most"


def _bound(name: str, bound: Bound) -> str:
    if name == "series":
        return months_text(bound.value)
    makers: dict[str, Callable[[float], str]] = {
        **dict.fromkeys(ACTIVITIES, format_activity),
        "half_life_days": days_text,
        "age_months": months_text,
        "kept_months": months_text,
    }
    value = makers.get(name, number_text)(bound.value)
    compared = LONGER if name in ("age_months", "kept_months") else COMPARED
    return str(compared[bound.comparator]) % {"value": value}


def _table(name: str, bound: Bound, tables: Tables | None) -> str:
    if name == "series":
        return value_text("requirement", bound.table)
    found = (tables or {}).get(bound.table)
    return found.title if found else bound.table
