"""Rows of a schedule as sentences: what is asked, of what, on whose word."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.units import format_activity
from inventory.rules.schema import (
    BY_DECAY,
    ENTRY,
    HOLD,
    INTERVAL,
    NOT_DECIDED,
    UNTIL,
    Bound,
    NuclideTable,
    Row,
    RuleSet,
    Wanted,
)
from inventory.rules.schema import VALUES as ALLOWED
from inventory.schedule.words import COMPARED, LONGER, VALUES, WITH_VALUE, YES_NO
from inventory.sentences import WORDS, cite_text, day_text, number_text, value_text

#: More values than this are said by what is not among them, where that is shorter.
FEW = 3
Tables = Mapping[str, NuclideTable]
Conditions = Sequence[tuple[str, Wanted]]


def word(name: str, value: str) -> str:
    """One value of a row in words; what has none reads as it is."""
    return str(lazy_word(name, value))


def lazy_word(name: str, value: str) -> str | Promise:
    """The same before anybody knows in which language: for choices of forms."""
    key = f"{name}:{value}"
    return VALUES.get(key) or WORDS.get(key) or value


def title_of(requirement: str, rules: RuleSet | None) -> str:
    """What a requirement is called: the site's own title, or the word for it."""
    kinds = rules.own_kinds if rules else ()
    own = next((one.title for one in kinds if one.name == requirement), None)
    return own or value_text("requirement", requirement)


def months_text(months: float) -> str:
    """Months as people count them: 24 months, 15 years."""
    if months >= 36 and months % 12 == 0:
        years = int(months // 12)
        return ngettext("%(n)s year", "%(n)s years", years) % {"n": years}
    n = int(months)
    return ngettext("%(n)s month", "%(n)s months", n) % {"n": number_text(months)}


def days_text(days: float) -> str:
    """Days as text."""
    n = int(days)
    return ngettext("%(n)s day", "%(n)s days", n) % {"n": number_text(days)}


# --- what it asks -------------------------------------------------------------------------------


def asks(row: Row) -> str:
    """What a row asks, without its conditions: every 24 months."""
    makers = {INTERVAL: _interval, UNTIL: _until, ENTRY: _entry, HOLD: _hold}
    if row.result in makers:
        return makers[row.result](row)
    if row.result == NOT_DECIDED:
        return _("to be decided: nobody has set an interval")
    return _("not required")


def _interval(row: Row) -> str:
    if row.ends == "calendar_year" and row.months == 12:
        said = _("once per calendar year")
    else:
        said = _every(row)
        if row.ends != "anniversary":
            said += _(", to 31 December of that year")
    if row.grace_days:
        said += _(", and %(days)s of grace") % {"days": days_text(row.grace_days)}
    return said + _late(row)


def _every(row: Row) -> str:
    if row.days == 1 or row.months == 1:
        return _("every day") if row.days else _("every month")
    length = days_text(row.days) if row.days else months_text(row.months or 0)
    return _("every %(length)s") % {"length": length}


def _late(row: Row) -> str:
    if row.late_from != "old_due":
        return ""
    said = _("; a late test does not move the days after it")
    if row.unused_months:
        said += _(", unless it was unused for more than %(months)s") % {
            "months": months_text(row.unused_months)
        }
    return said


def _until(row: Row) -> str:
    values = {"date": word("trait", row.trait), "months": months_text(row.months or 0)}
    return (_("%(months)s after %(date)s") if row.months else _("by %(date)s")) % values


def _entry(row: Row) -> str:
    said = word("entry", row.entry)
    if row.entry == "after_storage" and row.stored_months:
        said += _(" of %(comparator)s %(months)s") % {
            "comparator": word("stored_comparator", row.stored_comparator),
            "months": months_text(row.stored_months),
        }
    if row.entry == "happening":
        said = _("after %(list)s") % {"list": joined([word("what", h) for h in row.happenings])}
    if row.within_days:
        said += _(", at the latest %(days)s after") % {"days": days_text(row.within_days)}
    return said + _fresh(row)


def _fresh(row: Row) -> str:
    parts = [months_text(row.fresh_months)] if row.fresh_months else []
    parts += [days_text(row.fresh_days)] if row.fresh_days else []
    if not parts:
        return ""
    return _("; a test up to %(long)s old is new enough") % {"long": _(" and ").join(parts)}


def _hold(row: Row) -> str:
    said = _("on hold, test before use; as long as an accounting check has seen it within %(m)s")
    said %= {"m": months_text(row.seen_months)}
    if row.ceiling_months:
        said += _(", and never longer than %(m)s after the last test") % {
            "m": months_text(row.ceiling_months)
        }
    return said


# --- when it holds ------------------------------------------------------------------------------


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
    once = f"{name}:1" if wanted.value == 1 else ""
    template = WITH_VALUE.get(once) or WITH_VALUE[name]
    compared = str(COMPARED[wanted.comparator]) % {"value": ""}
    values = {"what": _bound(name, wanted), "compared": compared.strip()}
    return str(template) % {**values, "table": _table(name, wanted, tables)}


def _bound(name: str, bound: Bound) -> str:
    if name == "series":
        return months_text(bound.value)
    makers: dict[str, Callable[[float], str]] = {
        "activity_bq": format_activity,
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


def joined(words: Sequence[str]) -> str:
    """A, B or C."""
    if len(words) < 2:
        return "".join(words)
    values = {"first": ", ".join(words[:-1]), "last": words[-1]}
    return _("%(first)s or %(last)s") % values


# --- the whole row ------------------------------------------------------------------------------


def row_sentence(row: Row, tables: Tables | None = None) -> str:
    """A row as one sentence: Every 24 months, where it is a gas."""
    return f"{_upper(asks(row))}{when_text(row.when, tables)}."


def stands(row: Row) -> str:
    """How a row stands to the others of its requirement; empty for the usual one."""
    return "" if row.mode == "default" else _upper(word("mode", row.mode)) + "."


def warned(row: Row) -> str:
    """How long before the day people are warned."""
    if row.result not in (INTERVAL, UNTIL) or not row.lead_days:
        return ""
    return _("Warned %(days)s before.") % {"days": days_text(row.lead_days)}


def on_whose_word(row: Row) -> str:
    """Authority, clause, edition, how known, whether checked, and since when the clause holds."""
    parts = [word("authority", row.authority), cite_text(row.cite)]
    if row.in_force_from:
        parts.append(_("in force from %(on)s") % {"on": day_text(row.in_force_from)})
    return _upper(": ".join(parts[:2])) + "".join(f", {part}" for part in parts[2:]) + "."


def loosened(row: Row) -> str:
    """Why a row is looser than it was, and who decided that."""
    return decided_text(row.loosened_because, row.decided_by, row.decided_on)


def decided_text(because: str, by: str, on: date | None) -> str:
    """A decision with its reason; empty where nobody had to decide."""
    if not because:
        return ""
    values = {"why": because.rstrip("."), "by": by, "on": day_text(on) if on else _("no day")}
    return _("Decided by %(by)s on %(on)s: %(why)s.") % values


def by_decay(rules: RuleSet) -> bool:
    """Whether a row of the schedule loosens below an activity: then it must be said that this ends
    no permit and allows no disposal."""
    return any(name in BY_DECAY for row in rules.rows for name, _wanted in row.when)


def reviewed_text(mark: Mapping[str, Any] | None) -> str:
    """Who went through a row, and when."""
    if not mark:
        return _("Nobody has gone through it yet.")
    on = day_text(date.fromisoformat(mark["on"]))
    return _("Gone through by %(by)s on %(on)s.") % {"by": mark["by"], "on": on}


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def field_text(name: str, value: Any, tables: Tables | None = None) -> str:
    """The value of a field of a row, for a list of what changed."""
    if value in (None, "", (), 0):
        return _("none")
    if isinstance(value, date):
        return day_text(value)
    if name == "when":
        return conditions(value, tables)
    if isinstance(value, tuple):
        return joined([word("what", one) for one in value])
    return word(name, str(value))
