"""Sentences for codes: the one renderer that pages, documents and commands share.

Below this module everything answers with codes and values (``inventory.calc.explain``). Each app
keeps its own table of sentences; a caller passes the tables it needs, upper ones first.
"""

from __future__ import annotations

import math
from collections import ChainMap
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils import formats
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite, Scalar, Step
from inventory.calc.units import format_activity
from inventory.due_sentences import DUE_SENTENCES, DUE_WORDS
from inventory.keeping_sentences import KEEPING_SENTENCES, KEEPING_WORDS
from inventory.movement_sentences import MOVEMENT_SENTENCES, MOVEMENT_WORDS
from inventory.rules.schema import OWN
from inventory.shutdowns.sentences import SHUTDOWN_SENTENCES

Table = Mapping[str, str | Promise]

#: What a check is called, as a requirement and as the record of it.
CHECKS: dict[str, str | Promise] = {
    "accounting_check": gettext_lazy("accounting check"),
    "working_life": gettext_lazy("working life"),
    "special_form": gettext_lazy("special-form certificate"),
    "shutter_check": gettext_lazy("shutter check"),
    "label_check": gettext_lazy("label check"),
    "dose_survey": gettext_lazy("dose-rate survey"),
    "device_inspection": gettext_lazy("device inspection"),
    "function_check": gettext_lazy("function check"),
    "check_device_reading": gettext_lazy("check-device reading"),
    "area_survey": gettext_lazy("area survey"),
    "contamination_survey": gettext_lazy("contamination survey"),
    "store_check": gettext_lazy("store check"),
    "local_rules_review": gettext_lazy("review of the local rules"),
    "risk_assessment_review": gettext_lazy("review of the risk assessment"),
    "contingency_rehearsal": gettext_lazy("rehearsal of the contingency plan"),
    "stock_report": gettext_lazy("stock report"),
    "permit_validity": gettext_lazy("validity of the permit"),
    "appointment": gettext_lazy("appointment"),
    "training": gettext_lazy("training"),
}

#: Words for values that are codes themselves; the key is "name of the value:code".
WORDS: dict[str, str | Promise] = {
    "known_by:regulator_text": gettext_lazy("read in the regulator's text"),
    "known_by:copy": gettext_lazy("read in a copy of the law"),
    "known_by:secondary": gettext_lazy("read on a secondary page"),
    "known_by:memory": gettext_lazy("from memory, not seen"),
    "known_by:own": gettext_lazy("own choice"),
    "whom:label": gettext_lazy("its label"),
    "whom:registration": gettext_lazy("its registration sheet"),
    "whom:permit": gettext_lazy("the permit"),
    "whom:site": gettext_lazy("the site itself"),
    "whom:adviser": gettext_lazy("the adviser"),
    "state:failed": gettext_lazy("failed, out of use"),
    "state:late": gettext_lazy("late"),
    "state:never_done": gettext_lazy("never done"),
    "state:undecided": gettext_lazy("interval not decided"),
    "state:awaited": gettext_lazy("result awaited"),
    "state:due_soon": gettext_lazy("due soon"),
    "state:good": gettext_lazy("good"),
    "state:on_hold": gettext_lazy("on hold"),
    "state:not_required": gettext_lazy("not required"),
    "requirement:leak_test": gettext_lazy("leak test"),
    "requirement:calibration": gettext_lazy("calibration"),
    **{f"requirement:{name}": word for name, word in CHECKS.items()},
    "outcome:": gettext_lazy("no outcome"),
    "outcome:pass": gettext_lazy("passes"),
    "outcome:fail": gettext_lazy("fails"),
    "outcome:inconclusive": gettext_lazy("inconclusive"),
    "outcome:not_evaluable": gettext_lazy("not evaluable"),
    "because:counter_calibration_late": gettext_lazy("the counter's calibration was late"),
    "because:counter_calibration_failed": gettext_lazy("the counter was out of use"),
    "because:counter_calibration_never_done": gettext_lazy(
        "the counter had no calibration that holds"
    ),
    "because:counter_calibration_undecided": gettext_lazy(
        "nobody had decided the counter's calibration interval"
    ),
    "because:counter_calibration_not_required": gettext_lazy("the counter was not on this site"),
    "because:counter_calibration_on_hold": gettext_lazy("the counter was on hold"),
    "because:counter_calibration_awaited": gettext_lazy("the counter was away for calibration"),
    "because:laboratory_authorisation_expired": gettext_lazy(
        "the laboratory's authorisation had expired"
    ),
    "because:was_missing": gettext_lazy("it was missing that day"),
    "because:was_gone": gettext_lazy("it had left this site for good by then"),
    "kind:wipe_sent": gettext_lazy("wipe sent to a laboratory"),
    "kind:wipe_given_up": gettext_lazy("wipe given up"),
    "kind:described": gettext_lazy("described"),
    **MOVEMENT_WORDS,
    **KEEPING_WORDS,
    "kind:leak_test": gettext_lazy("leak test"),
    "kind:calibration": gettext_lazy("calibration"),
    **{f"kind:{name}": word for name, word in CHECKS.items()},
    **DUE_WORDS,
    "kind:happening": gettext_lazy("something happened"),
    "what:damage": gettext_lazy("damage, or suspected damage"),
    "what:capsule_work": gettext_lazy("work on the capsule"),
    "what:repair": gettext_lazy("repair"),
    "what:servicing": gettext_lazy("servicing"),
    "what:end_of_use": gettext_lazy("taken out of use for good"),
    "what:relocation": gettext_lazy("relocation"),
    "kind:counting_session": gettext_lazy("counting session"),
    "kind:accepted": gettext_lazy("accepted"),
    "kind:followup_closed": gettext_lazy("follow-up closed"),
    "kind:followup_step": gettext_lazy("step of a follow-up"),
    "kind:followup_step_done": gettext_lazy("step done"),
    "kind:booked": gettext_lazy("booking"),
    "kind:not_done": gettext_lazy("not done"),
    "kind:file_loaded": gettext_lazy("file loaded"),
    "kind:shutdown_planned": gettext_lazy("planned shutdown"),
    "kind:schedule_set": gettext_lazy("schedule set"),
    "kind:schedule_drafted": gettext_lazy("draft of the schedule"),
    "kind:setting_made": gettext_lazy("setting"),
    "kind:change_confirmed": gettext_lazy("change confirmed"),
    "kind:document_added": gettext_lazy("document added"),
    "kind:reference_data_changed": gettext_lazy("reference data changed"),
}


#: Rows that were looked at and have no part in what is said: pages fold them.
ASIDE = frozenset({"due_row_later", "due_row_set_aside", "due_row_done", "due_row_not_met"})


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence of an explanation and how deep it stands."""

    depth: int
    text: str
    cite: str
    code: str

    @property
    def aside(self) -> bool:
        """Whether it is about a row that was looked at and has no part in what is said."""
        return self.code in ASIDE


def day_text(day: date) -> str:
    """A date that no country misreads: 24 Nov 2026."""
    return formats.date_format(day, "j M Y")


def number_text(value: float | Decimal, digits: int = 3) -> str:
    """A number as people read it: ``digits`` significant figures, whole numbers untouched."""
    number = float(value)
    if not math.isfinite(number):
        return str(number)
    if number == int(number) and abs(number) < 1e6:
        return str(int(number))
    if 1000 <= abs(number) < 1e6:
        return f"{number:.0f}"
    return f"{number:.{digits}g}"


#: Values that hold what somebody wrote, or a name: never read as a number.
VERBATIM = frozenset({"text", "nearest", "unit", "one", "other", "item", "source", "place", "row"})


def value_text(name: str, value: Scalar, table: Table = WORDS) -> str:
    """One value of a step as text; the ending of its name says what it is.

    ``_bq`` an activity, ``_on`` a day; a text that stands in the table of words is put in words.
    """
    if value is None:
        return _("unknown")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, date):
        return day_text(value)
    if isinstance(value, str) and name == "row_conditions":
        return _conditions_text(value)
    if isinstance(value, str) and name not in VERBATIM:
        if name in ("requirement", "kind") and value.startswith(OWN):
            return value.removeprefix(OWN).replace("-", " ")
        word = table.get(f"{name}:{value}") or WORDS.get(f"{name}:{value}")
        if word is not None:
            return str(word)
        if name == "on" or name.endswith("_on"):
            return _parsed_day(value)
        if name.endswith("_bq"):
            return format_activity(float(value))
        return _frozen_number(value)
    if name.endswith("_bq"):
        return format_activity(float(value))
    if isinstance(value, float | Decimal):
        return number_text(value)
    return str(value)


def _conditions_text(text: str) -> str:
    from inventory.rules.conditions import from_text
    from inventory.schedule.condition_words import conditions  # whose words rest on this module

    return conditions(from_text(text))


def _parsed_day(text: str) -> str:
    try:
        return day_text(date.fromisoformat(text))
    except ValueError:
        return text


def _frozen_number(text: str) -> str:
    """A float that was frozen as text is read again as people read it; other text stays."""
    if "." not in text and "e" not in text:
        return text
    try:
        return number_text(float(text))
    except ValueError:
        return text


def cite_text(cite: Cite | None) -> str:
    """A clause as a reader needs it: document, clause, edition, how it was read, when checked."""
    if cite is None:
        return ""
    parts = [part for part in (cite.document, cite.clause, cite.edition) if part]
    if cite.authority:  # the document says whatever it says: this is somebody's own word
        parts.insert(0, _("on the word of %(whom)s") % {"whom": _whom(cite.authority)})
    if cite.known_by:
        parts.append(value_text("known_by", cite.known_by))
    if cite.known_by and cite.known_by != "own":
        parts.append(
            _("checked against the current text on %(on)s") % {"on": day_text(cite.checked_on)}
            if cite.checked_on
            else _("not checked against the current text")
        )
    return ", ".join(parts)


def clause_text(cite: Cite, *, short: bool = False) -> str:
    """The clause in a cell: document and clause, ``short`` only the clause; and on whose word."""
    named = (cite.clause or cite.document) if short else f"{cite.document}, {cite.clause}"
    if not cite.authority:
        return named
    values = {"clause": named, "whom": _whom(cite.authority)}
    return _("%(clause)s, on the word of %(whom)s") % values


def _whom(authority: str) -> str:
    return str(WORDS.get(f"whom:{authority}", authority))


def fill(code: str, values: Mapping[str, Scalar], table: Table) -> str:
    """The sentence of one code. An unknown code is a fault of ours and says so, readably."""
    template = table.get(code)
    if template is None:
        return _("[no sentence for %(code)s]") % {"code": code}
    said = str(template) % {name: value_text(name, value, table) for name, value in values.items()}
    return said.replace("  ", " ").strip()  # a note may be empty


def _together(*tables: Any) -> Table:
    """The tables of a caller before this one; nothing is copied."""
    return ChainMap(*tables, SENTENCES)


def lines(steps: Iterable[Step], *tables: Table, depth: int = 0) -> Iterator[Line]:
    """Every step as a line, grounds indented below what rests on them."""
    table = _together(*tables)
    for step in steps:
        yield Line(depth, fill(step.code, step.values, table), cite_text(step.cite), step.code)
        yield from lines(step.because, table, depth=depth + 1)


def error_text(error: DomainError, *tables: Table) -> str:
    """A domain error as one sentence."""
    table = _together(*tables)
    return fill(error.code, error.values, table)


#: Sentences of this app's codes. ``%(x_bq)s`` already carries its unit.
SENTENCES: dict[str, str | Promise] = {
    # writing
    "number_not_finite": gettext_lazy("A number that is not finite cannot be recorded."),
    "text_has_control_character": gettext_lazy(
        "%(text)s holds a control character; please write it without."
    ),
    "text_too_long": gettext_lazy("%(name)s is too long: at most %(length)s characters."),
    "effective_in_future": gettext_lazy(
        "%(on)s lies in the future: a record says what has happened."
    ),
    "item_of_another_site": gettext_lazy("%(item)s belongs to another site."),
    "request_key_used_elsewhere": gettext_lazy(
        "This form was already used for something else: please open it anew."
    ),
    "correction_needs_reason": gettext_lazy("Say why the earlier record is corrected."),
    "correction_of_another_kind": gettext_lazy(
        "Record %(seq)s is of another kind and cannot be corrected by this one."
    ),
    "correction_drops_item": gettext_lazy(
        "The correction of record %(seq)s must also name every item that it concerned."
    ),
    "already_corrected": gettext_lazy(
        "Record %(seq)s has been corrected already: correct the newer one."
    ),
    "clock_runs_backwards": gettext_lazy(
        "The clock of this computer is behind record %(seq)s: please set it right first."
    ),
    "change_needs_reason": gettext_lazy("Say why the description changes."),
    "site_exists": gettext_lazy("A site with the short name %(site)s exists already."),
    "site_unknown": gettext_lazy(
        "There is no site with the short name “%(text)s”; known: %(known)s."
    ),
    "place_inside_itself": gettext_lazy("%(place)s cannot lie inside itself."),
    **MOVEMENT_SENTENCES,
    **SHUTDOWN_SENTENCES,
    # follow-ups, acceptance, schedule
    "closing_needs_reason": gettext_lazy("Say why the follow-up can be closed."),
    "closed_before_opened": gettext_lazy(
        "The follow-up was opened on %(opened_on)s; it cannot be closed before."
    ),
    "only_rps_closes": gettext_lazy("Only the radiation protection supervisor closes a follow-up."),
    "already_closed": gettext_lazy("This follow-up on %(item)s has been closed already."),
    "steps_still_open": gettext_lazy(
        "The follow-up cannot be closed before every step is done or withdrawn. Open: %(text)s"
    ),
    "closed_before_step": gettext_lazy(
        "“%(text)s” was done on %(done_on)s; the follow-up cannot be closed before that day."
    ),
    "steps_there_already": gettext_lazy("These steps are there already."),
    "step_needs_text": gettext_lazy("Say what is to be done."),
    "step_before_opened": gettext_lazy(
        "The follow-up was opened on %(opened_on)s; nothing of it lies before that day."
    ),
    "step_done_already": gettext_lazy("“%(text)s” has been marked as done already."),
    "step_not_done": gettext_lazy("“%(text)s” is not marked as done."),
    "step_withdrawn": gettext_lazy("“%(text)s” has been withdrawn."),
    # bookings and attempts
    "nothing_chosen": gettext_lazy("Tick the lines that this is about."),
    "requirement_not_of_item": gettext_lazy("Nothing of that kind is required of %(item)s."),
    "booked_in_past": gettext_lazy("%(on)s has gone by: book a day that is still to come."),
    "unbooking_needs_reason": gettext_lazy("Say why it is no longer booked."),
    "not_booked": gettext_lazy("Nobody has %(item)s booked."),
    "not_done_needs_why": gettext_lazy("Say why it was not done."),
    "only_rps_accepts": gettext_lazy("Only the radiation protection supervisor accepts a record."),
    "already_accepted": gettext_lazy("Record %(seq)s has been accepted already."),
    "declared_needs_reason": gettext_lazy(
        "A result that only says “passed” needs your reason for accepting it."
    ),
    "adopted_needs_day_and_name": gettext_lazy(
        "An adopted schedule needs the day and the name of who adopted it."
    ),
    # checks, and what happened to a thing
    "check_unknown": gettext_lazy("This site knows no check called %(requirement)s."),
    "check_names_nothing": gettext_lazy("Say of at least one of them what was found."),
    "check_needs_outcome": gettext_lazy("Say what came of it for %(item)s."),
    "check_of_another_kind": gettext_lazy(
        "“%(requirement)s” is no check of %(item)s: that is another kind of thing."
    ),
    "check_names_item_twice": gettext_lazy("%(item)s stands in this check twice."),
    "not_on_site_then": gettext_lazy("%(item)s was not on site on %(on)s."),
    "valid_until_before_check": gettext_lazy(
        "It was done on %(on)s: what it says cannot end before that day."
    ),
    "extension_needs_day": gettext_lazy("Say until when it holds: without a day nothing changes."),
    "extension_needs_document": gettext_lazy("Say in which document it is written."),
    "happening_needs_what": gettext_lazy("Say what happened."),
    "happening_to_another_kind": gettext_lazy(
        "%(item)s is neither a source nor a gauge nor a monitor."
    ),
    # documents
    "document_empty": gettext_lazy("“%(text)s” is empty."),
    "document_too_large": gettext_lazy(
        "“%(text)s” is larger than %(megabytes)s MB, the most that is kept of one file."
    ),
    "document_type": gettext_lazy(
        "“%(text)s” is none of these: PDF, PNG, JPEG, TXT, CSV, XLSX, DOCX, ODS (the content "
        "counts, not the name)."
    ),
    "document_macros": gettext_lazy("The file holds macros: save it without them first."),
    "document_ending": gettext_lazy(
        "“%(text)s” holds %(found)s: give it the ending %(place)s, or choose the right file."
    ),
    "document_needs_title": gettext_lazy("Say what the document is: it needs a title."),
    "document_dated_in_future": gettext_lazy(
        "The date on the document, %(dated_on)s, lies in the future."
    ),
    # looking things up
    "subject_unknown": gettext_lazy("Nothing here has the code, serial or tag “%(text)s”."),
    "subject_ambiguous": gettext_lazy(
        "“%(text)s” could be any of these: %(candidates)s. Give the code."
    ),
    # what is due
    **DUE_SENTENCES,
    **KEEPING_SENTENCES,
    # open points of a source
    "open_serial_unknown": gettext_lazy("The serial is not known: %(text)s."),
    "open_serial_repeated": gettext_lazy(
        "The serial %(text)s stands for another source too: compare the plates."
    ),
    "open_leading_zeros": gettext_lazy(
        "The serial %(text)s was a number in the list it came from: zeros before it may be lost."
    ),
    "open_place_unknown": gettext_lazy("Where it is was not stated."),
    "open_certificate_before_arrival": gettext_lazy(
        "The maker's leak-test certificate of %(tested_on)s is older than the arrival on "
        "%(arrived_on)s."
    ),
    "open_wiped_before_arrival": gettext_lazy(
        "The wipe of %(wiped_on)s is older than the arrival on %(arrived_on)s."
    ),
    "open_activity_unknown": gettext_lazy("The activity is not known: totals say “at least”."),
    "open_reference_unknown": gettext_lazy(
        "The reference date is not known: the activity cannot be decayed."
    ),
    "open_reference_day_unknown": gettext_lazy(
        "Only the %(precision)s of the reference date is known (“%(text)s”): its last day, "
        "%(reference_on)s, is used."
    ),
    "open_reference_after_arrival": gettext_lazy(
        "The reference date %(reference_on)s lies after arrival on %(arrived_on)s."
    ),
    "open_reference_after_wipe": gettext_lazy(
        "The reference date %(reference_on)s lies after the wipe of %(wiped_on)s."
    ),
    "open_nuclide_unknown": gettext_lazy("The nuclide table has no “%(text)s”."),
    "open_arrival_unknown": gettext_lazy("The day of arrival is not known."),
    "activity_unknown": gettext_lazy("The activity on the day is not known."),
    "open_not_accepted": gettext_lazy("Record %(seq)s of %(done_on)s waits to be accepted."),
    # Activities (inventory.calc.units)
    "activity_not_a_number": gettext_lazy(
        "“%(text)s” is not an activity: write a number and a unit, for example 370 MBq or 10 mCi."
    ),
    "activity_without_unit": gettext_lazy(
        "“%(text)s” has no unit: write one, for example MBq or mCi."
    ),
    "activity_unit_unknown": gettext_lazy(
        "“%(unit)s” in “%(text)s” is not a unit of activity: use Bq, kBq, MBq, GBq, TBq, "
        "pCi, nCi, uCi, mCi, Ci or dpm."
    ),
    "activity_ambiguous": gettext_lazy(
        "“%(text)s” can be read as %(one)s or as %(other)s: write the one that is meant."
    ),
    "activity_not_positive": gettext_lazy("“%(text)s” is not above zero: an activity must be."),
    "activity_not_finite": gettext_lazy("%(number)s is not an activity."),
    "threshold_not_positive": gettext_lazy("The threshold must be above zero."),
    # Dates (inventory.calc.dates)
    "date_ambiguous": gettext_lazy(
        "“%(text)s” can be read as more than one date: write it as 2019-05-03 or 3 May 2019."
    ),
    "date_not_understood": gettext_lazy(
        "“%(text)s” is not a date: write it as 2019-05-03, 3 May 2019, May 2019 or 2019."
    ),
    # Nuclides (inventory.calc.nuclides)
    "nuclide_unknown": gettext_lazy(
        "“%(text)s” is not in the nuclide table; the nearest name there is %(nearest)s."
    ),
    "nuclide_column_missing": gettext_lazy("The nuclide table has no column %(column)s."),
    "nuclide_row_bad": gettext_lazy(
        "Line %(row)s of the nuclide table: “%(text)s” cannot stand in column %(column)s."
    ),
    "nuclide_name_twice": gettext_lazy(
        "Line %(row)s of the nuclide table: the name or an alias of %(text)s stands there twice."
    ),
    # Decay (inventory.calc.decay)
    "half_life_not_positive": gettext_lazy("The half-life must be above zero."),
    "decay_not_finite": gettext_lazy(
        "The day lies %(elapsed_days)s days from the reference date; with a half-life of "
        "%(half_life_days)s days that is too far back for an activity."
    ),
    "decayed": gettext_lazy(
        "%(activity_bq)s on %(reference_on)s, %(elapsed_days)s days to %(on)s: "
        "× 2^(-t/T) = %(fraction)s gives %(result_bq)s."
    ),
    "half_life": gettext_lazy("Half-life %(half_life)s."),
    "first_day_below": gettext_lazy(
        "%(activity_bq)s on %(reference_on)s: first below %(below_bq)s on %(first_on)s."
    ),
    "never_below": gettext_lazy(
        "%(activity_bq)s on %(reference_on)s: not below %(below_bq)s before the year 10000."
    ),
    "years_until": gettext_lazy(
        "%(activity_bq)s comes down to %(minimum_bq)s in %(years)s years (365.2422 d each)."
    ),
    # A/D and category (inventory.calc.category)
    "a_over_d": gettext_lazy("A/D = %(a_over_d)s."),
    "a_over_d_at_least": gettext_lazy(
        "A/D is at least %(a_over_d)s: not every nuclide has a known D-value."
    ),
    "a_over_d_of_nuclide": gettext_lazy(
        "%(nuclide)s: %(activity_bq)s over D = %(d_bq)s is %(ratio)s."
    ),
    "d_unlimited": gettext_lazy("%(nuclide)s has no D-value (unlimited) and counts 0."),
    "d_unknown": gettext_lazy("%(nuclide)s: the D-value is not known."),
    "category_from": gettext_lazy("Category %(category)s: A/D %(a_over_d)s has reached %(least)s."),
    "category_5": gettext_lazy(
        "Category 5: A/D %(a_over_d)s is below 0.01, the activity above exemption."
    ),
    "category_5_exemption_unknown": gettext_lazy(
        "Category 5: A/D %(a_over_d)s is below 0.01; the exemption activity is not known."
    ),
    "category_none": gettext_lazy("No category: the activity is not above exemption."),
    # Levels that a decaying activity passes (inventory.calc.thresholds)
    "threshold_d_unknown": gettext_lazy(
        "The D-value of %(nuclide)s is not known well enough, so no category boundary is shown."
    ),
    "threshold_d_unlimited": gettext_lazy(
        "%(nuclide)s has no D-value (unlimited), so it has no category boundary."
    ),
    "threshold_exemption_unknown": gettext_lazy(
        "The exemption activity of %(nuclide)s is not known, so it is not shown."
    ),
}
