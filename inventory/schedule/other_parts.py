"""What a rule set says beside its rows: limit, whom to tell, how long records are kept, areas,
contamination, monitors, and what it decides once for all rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inventory.calc.explain import Cite
from inventory.calc.units import format_activity
from inventory.rules.schema import (
    AreaRow,
    ContaminationRow,
    LimitRow,
    MonitorRow,
    ReportRow,
    RetentionRow,
    RuleSet,
)
from inventory.schedule.condition_words import when_text
from inventory.schedule.spoken import days_text, months_text, word
from inventory.sentences import cite_text, number_text, value_text

WORDS: dict[str, str | Promise] = {
    "trigger:leak_failed": gettext_lazy("a leak test fails"),
    "trigger:shutter_failed": gettext_lazy("a shutter fails"),
    "trigger:device_damaged": gettext_lazy("a gauge is damaged"),
    "trigger:missing": gettext_lazy("a source is missing"),
    "trigger:record_wrong": gettext_lazy("a record turns out to be wrong"),
    "trigger:received": gettext_lazy("a source is received"),
    "trigger:transferred": gettext_lazy("a source is transferred"),
    "trigger:disposed": gettext_lazy("a source is disposed of"),
    "trigger:over_exposure": gettext_lazy("somebody was exposed above a limit"),
    "trigger:spill": gettext_lazy("something was spilt or released"),
    "trigger:stock_at_year_end": gettext_lazy("a year ends, of what is held"),
    "trigger:leak_tested": gettext_lazy("a leak test was done"),
    "form:telephone": gettext_lazy("by telephone"),
    "form:written": gettext_lazy("in writing"),
    "form:register": gettext_lazy("through the register"),
    "kept_from:record": gettext_lazy("from the record"),
    "kept_from:next_record": gettext_lazy("from the next record of its kind"),
    "kept_from:disposal": gettext_lazy("from the day it is gone"),
    "kept_from:employment_end": gettext_lazy("from the end of the employment"),
    "kept_from:licence_end": gettext_lazy("from the end of the permit"),
    "kept_from:series_end": gettext_lazy("from the last record of the series"),
    "kept_from:calendar_year_end": gettext_lazy("from the end of the year"),
    "until:next_record": gettext_lazy("until the next record of its kind"),
    "until:disposal": gettext_lazy("until it is gone"),
    "until:employment_end": gettext_lazy("until the end of the employment"),
    "until:licence_end": gettext_lazy("until the end of the permit"),
    "record_kind:follow_up": gettext_lazy("follow-up"),
    "record_kind:incident": gettext_lazy("incident"),
    "record_kind:dose_record": gettext_lazy("doses of persons"),
    "record_kind:permit": gettext_lazy("permit"),
    "record_kind:instructions": gettext_lazy("local instructions"),
    "purpose:transport": gettext_lazy("transport"),
    "purpose:designation": gettext_lazy("designation of an area"),
    "purpose:release": gettext_lazy("release"),
    "kind_of_level:removable": gettext_lazy("removable"),
    "kind_of_level:fixed": gettext_lazy("fixed"),
    "kind_of_level:total": gettext_lazy("total"),
    "nuclides:beta_gamma": gettext_lazy("beta and gamma emitters"),
    "nuclides:alpha": gettext_lazy("alpha emitters"),
    "nuclides:low_toxicity_alpha": gettext_lazy("low-toxicity alpha emitters"),
    "nuclides:soft_beta": gettext_lazy("soft beta emitters"),
    "nuclides:transuranic": gettext_lazy("transuranic nuclides"),
    "nuclides:strontium_like": gettext_lazy("nuclides like Sr-90"),
    "nuclides:class_a": gettext_lazy("class A"),
    "nuclides:class_b": gettext_lazy("class B"),
    "nuclides:class_c": gettext_lazy("class C"),
    "nuclides:by_table": gettext_lazy("by the value of each nuclide"),
    "quantity:rate": gettext_lazy("dose rate %(value)s µSv/h"),
    "quantity:hour_dose": gettext_lazy("dose in one hour %(value)s µSv"),
    "quantity:day_average": gettext_lazy("dose rate averaged over a day %(value)s µSv/h"),
    "quantity:year_dose": gettext_lazy("dose in a year %(value)s mSv"),
    "words:supervisor": gettext_lazy("Supervisor"),
    "words:adviser": gettext_lazy("Adviser"),
    "words:accounting_check": gettext_lazy("Accounting check"),
    "words:source_store": gettext_lazy("Source store"),
    "words:leak_test": gettext_lazy("Leak test"),
    "words:permit": gettext_lazy("Permit"),
    "words:site_instructions": gettext_lazy("Local rules"),
}


@dataclass(frozen=True, slots=True)
class Statement:
    """A sentence of a rule set with its clause and remark."""

    text: str
    cite: str = ""
    note: str = ""


def _said(text: str, cite: Cite | None = None, note: str = "") -> Statement:
    upper = text[:1].upper() + text[1:]
    return Statement(f"{upper}.", cite_text(cite), note)


def record_word(kind: str) -> str:
    """A kind of record that is kept, in words."""
    return _word("record_kind", kind)


def _word(name: str, value: str) -> str:
    return str(WORDS.get(f"{name}:{value}") or value_text("kind", value).replace("_", " "))


def limit(row: LimitRow) -> Iterator[Statement]:
    """When a wipe fails, and what a counter must be able to see."""
    values = {
        "bq": format_activity(row.bq),
        "detect": format_activity(row.required_detection_bq),
        "act": format_activity(row.bq * row.action_fraction),
        "unit": row.unit,
    }
    fails = (
        _("a wipe fails at %(bq)s or more")
        if row.comparator == "reaches"
        else _("a wipe fails above %(bq)s")
    )
    yield _said(fails % values, row.cite)
    yield _said(_("a counter must be able to find %(detect)s") % values)
    yield _said(
        _("from %(act)s on it is to be looked into; results are stated in %(unit)s") % values
    )


def report(row: ReportRow, rules: RuleSet) -> Statement:
    """Whom to tell, by when, how."""
    values = {
        "when": _word("trigger", row.trigger),
        "whom": row.tell,
        "by": _deadline(row),
        "how": how_told(row),
    }
    said = _("when %(when)s, tell %(whom)s %(by)s, %(how)s") % values
    return _said(said + when_text(row.when, rules.tables), row.cite, row.note)


def how_told(row: ReportRow) -> str:
    """By telephone, in writing, through the register."""
    return _word("form", row.form)


def _deadline(row: ReportRow) -> str:
    if row.at_once:
        return _("at once")
    if row.hours:
        said = ngettext("within %(n)s hour", "within %(n)s hours", row.hours)
        return said % {"n": row.hours}
    if row.month_day:
        return _("by %(day)s of the next year") % {"day": _month_day(row.month_day)}
    if not row.days and not row.months:
        return _("(no time is named)")
    length = days_text(row.days) if row.days else months_text(row.months or 0)
    return _("within %(length)s") % {"length": length}


def _month_day(text: str) -> str:
    month, day = text.split("-")
    return date_format(date(2001, int(month), int(day)), "j F")


def retention(row: RetentionRow) -> Statement:
    """How long records of a kind are kept."""
    values = {"what": record_word(row.record_kind), "length": months_text(row.months)}
    if row.kept_from == "for_ever":
        said = _("%(what)s: for ever") % values
    else:
        values["from"] = _word("kept_from", row.kept_from)
        values["until"] = _word("until", row.kept_from)
        text = _("%(what)s: %(length)s %(from)s") if row.months else _("%(what)s: %(until)s")
        said = text % values
    if row.notice_days:
        said += _("; tell %(days)s before anything is thrown away") % {
            "days": days_text(row.notice_days)
        }
    return _said(said, row.cite, row.note)


def area(row: AreaRow) -> Statement:
    """What makes a class of area."""
    value = str(WORDS[f"quantity:{row.quantity}"]) % {
        "value": word("compared", row.comparator) + " " + number_text(row.value)
    }
    parts = [value]
    if row.distance_m is not None:
        parts.append(_("at %(d)s m") % {"d": number_text(row.distance_m)})
    parts += [row.averaging] if row.averaging else []
    return _said(f"{row.name}: {', '.join(parts)}", row.cite, row.note)


def contamination(row: ContaminationRow) -> Statement:
    """A level of surface contamination with its purpose."""
    values = {
        "purpose": _word("purpose", row.purpose),
        "kind": _word("kind_of_level", row.kind),
        "what": _word("nuclides", row.nuclides),
        "compared": word("compared", row.comparator),
        "value": number_text(row.value),
        "unit": row.unit.replace("cm2", " cm²").replace("/ ", "/"),
    }
    said = _("%(purpose)s, %(what)s, %(kind)s: %(compared)s %(value)s %(unit)s") % values
    if row.averaging_cm2:
        said += _(", averaged over %(a)s cm²") % {"a": number_text(row.averaging_cm2)}
    return _said(said, row.cite, row.note)


def monitor(row: MonitorRow, rules: RuleSet) -> Statement:
    """How far off a monitor may be."""
    values = {
        "what": value_text("requirement", row.applies_to),
        "compared": word("compared", row.comparator),
        "percent": number_text(row.tolerance_percent),
    }
    said = _("%(what)s: off by %(compared)s %(percent)s %%") % values
    if row.qualified_person:
        said += _(", by a qualified person")
    return _said(said + when_text(row.when, rules.tables), row.cite, row.note)


def basis(rules: RuleSet) -> Iterator[Statement]:
    """What is decided once for all rows."""
    one = rules.basis
    activity = {
        "day": _("an activity in a condition is that of the day"),
        "reference": _("an activity in a condition is the one on the certificate"),
    }
    yield _said(activity[one.activity_on])
    if one.working_life_months:
        said = _("a working life that nobody states is %(months)s from the making")
        yield _said(said % {"months": months_text(one.working_life_months)}, one.working_life_cite)
    if one.hass_cite:
        yield _said(_("what a high-activity source is"), one.hass_cite)


def sections(rules: RuleSet) -> list[tuple[str, list[Statement]]]:
    """Every part with its heading; one of which nothing is said is not there."""
    found = [
        (_("Limit of a wipe test"), list(limit(rules.leak_limit))),
        (_("Whom to tell"), [report(row, rules) for row in rules.reports]),
        (_("How long records are kept"), [retention(row) for row in rules.retention]),
        (_("Areas"), [area(row) for row in rules.areas]),
        (_("Contamination of surfaces"), [contamination(row) for row in rules.contamination]),
        (_("How far off a monitor may be"), [monitor(row, rules) for row in rules.monitors]),
        (_("What holds for all rows"), list(basis(rules))),
    ]
    return [(title, said) for title, said in found if said]


def names(rules: RuleSet) -> list[tuple[str, str]]:
    """What things are called under this rule set."""
    return [(str(WORDS.get(f"words:{name}") or name), text) for name, text in rules.words.items()]
