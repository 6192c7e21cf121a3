"""Rows of a schedule as sentences: what is asked, of what, on whose word."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from inventory.rules.schema import (
    BY_DECAY,
    ENTRY,
    HOLD,
    INTERVAL,
    NOT_DECIDED,
    UNTIL,
    Row,
    RuleSet,
)
from inventory.schedule.condition_words import Tables, conditions, when_text
from inventory.schedule.spoken import days_text, joined, months_text, word
from inventory.sentences import cite_text, day_text

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
    elif row.ends == "same_year":
        said = _("anew after each calendar year")
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
    parts = [word("authority", row.authority), cite_text(replace(row.cite, authority=""))]
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
