"""Monitor cover and the years to come, in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inventory.calc import ahead
from inventory.sentences import day_text
from inventory.shutdowns.wording import days_text
from reports.ahead.endings import LEVEL
from reports.pages.decay_curve import level_name

#: What monitors measure: kind and radiation, as ``monitors.abilities`` names it.
MEASURES = {
    "wipe_counter": gettext_lazy("count wipes"),
    "contamination:alpha": gettext_lazy("measure alpha contamination"),
    "contamination:beta": gettext_lazy("measure beta contamination"),
    "contamination:photon": gettext_lazy("measure contamination with photon emitters"),
    "contamination:": gettext_lazy("measure contamination"),
    "dose_rate:photon": gettext_lazy("measure photon dose rates"),
    "dose_rate:beta": gettext_lazy("measure beta dose rates"),
    "dose_rate:neutron": gettext_lazy("measure neutron dose rates"),
    "dose_rate:": gettext_lazy("measure dose rates"),
    "neutron:neutron": gettext_lazy("measure neutrons"),
    "neutron:": gettext_lazy("measure neutrons"),
    "personal:photon": gettext_lazy("measure personal photon doses"),
    "personal:": gettext_lazy("measure personal doses"),
}
ENDS = {
    "working_life": gettext_lazy("working life ends"),
    "special_form": gettext_lazy("special-form certificate ends"),
    "permit_validity": gettext_lazy("permit ends"),
    "laboratory": gettext_lazy("authorisation of the laboratory ends"),
}


def measures(what: str) -> str:
    """What a monitor can do: measure beta contamination."""
    word = MEASURES.get(what)
    return str(word) if word else _("measure %(what)s") % {"what": what.replace(":", " ").strip()}


def gap_text(what: str, gap: ahead.Days) -> str:
    """3 to 24 Mar 2027: nothing in date can measure beta contamination."""
    values = {"days": days_text(*gap), "what": measures(what)}
    return _("%(days)s: nothing in date can %(what)s") % values


def in_date_text(days: Sequence[ahead.Days], on: date) -> str:
    """Until when a monitor is in date and here, or that it is not."""
    now = [last for first, last in days if first <= on <= last]
    if now:
        return _("in date until %(on)s") % {"on": day_text(max(now))}
    return _("not in date here")


def no_gap_text(end: date) -> str:
    """That there is no gap until the end of the coming year."""
    return _("no gap until %(on)s") % {"on": day_text(end - ahead.ONE_DAY)}


def ending_text(ending: ahead.Ending) -> str:
    """What ends, or which level is passed."""
    if ending.what == LEVEL and ending.level is not None:
        return _("falls %(level)s") % {"level": level_name(ending.level)}
    return str(ENDS[ending.what])


def year_title(year: ahead.Year, on: date) -> str:
    """The year, or that it had ended before the day asked about."""
    if year.number is None:
        return _("Ended before %(on)s") % {"on": day_text(on)}
    return str(year.number)


def unknown_text(unknown: int) -> str:
    """Of how many sources no decay could be worked out; nothing for none."""
    if not unknown:
        return ""
    return ngettext(
        "%(n)s source is not in it: its activity, reference date or nuclide is not known.",
        "%(n)s sources are not in it: activity, reference date or nuclide is not known.",
        unknown,
    ) % {"n": unknown}
