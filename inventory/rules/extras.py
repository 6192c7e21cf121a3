"""Rows that no requirement is made of: reports, retention, areas, contamination, monitors."""

from __future__ import annotations

import re
from collections.abc import Collection

from inventory.calc.stays import VERBS
from inventory.rules.conditions_read import read_conditions
from inventory.rules.reader import Table
from inventory.rules.schema import (
    AREA_QUANTITIES,
    COMPARATORS,
    KEEP_FROM,
    REQUIREMENTS,
    TRIGGERS,
    AreaRow,
    ContaminationRow,
    MonitorRow,
    ReportRow,
    RetentionRow,
)

LONGEST_HOURS, LONGEST_DAYS, LONGEST_MONTHS = 240, 3660, 1200
FORMS = ("telephone", "written", "register")
#: By when: one of these.
DEADLINES = ("at_once", "hours", "days", "months", "month_day")
#: Records that are kept: of checks, of movements, and what is no record of a kind here.
KEPT = tuple(
    dict.fromkeys(
        (
            *(kind for _subject, kind in REQUIREMENTS.values()),
            *VERBS,
            *("happening", "follow_up", "incident", "dose_record", "permit", "instructions"),
        )
    )
)
PURPOSES = ("transport", "designation", "release")
NUCLIDE_CLASSES = (
    *("beta_gamma", "alpha", "low_toxicity_alpha", "soft_beta", "transuranic", "strontium_like"),
    *("class_a", "class_b", "class_c", "by_table"),
)
KINDS = ("removable", "fixed", "total")
CONTAMINATION_UNITS = ("Bq/cm2", "dpm/100cm2")

_MONTH_DAY = re.compile(r"(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")
_LONGEST_OF_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def read_report(table: Table, tables: Collection[str]) -> ReportRow:
    """Whom to tell of what, by when. Raises RuleFault."""
    _one_deadline(table)
    row = ReportRow(
        id=table.name("id"),
        trigger=table.word("trigger", TRIGGERS),
        tell=table.text("tell"),
        form=table.word("form", FORMS),
        at_once=table.take("at_once", bool, False, required=False),
        hours=table.maybe_whole("hours", 1, LONGEST_HOURS),
        days=table.maybe_whole("days", 1, LONGEST_DAYS),
        months=table.maybe_whole("months", 1, LONGEST_MONTHS),
        month_day=_month_day(table),
        when=read_conditions(table, tables),
        content=table.texts("content"),
        note=table.text("note", ""),
        cite=table.cite(),
    )
    table.done()
    return row


def _one_deadline(table: Table) -> None:
    """``at_once = false`` alone: the clause names no time, and the file says so on purpose."""
    said = [one for one in DEADLINES if table.has(one)]
    if len(said) != 1:
        field = said[1] if said else "at_once"
        found = f"expected exactly one of {', '.join(DEADLINES)}, found {len(said)}"
        raise table.refuse(field, found)


def _month_day(table: Table) -> str:
    """A day of every year as MM-DD; 29 February is none."""
    value = table.text("month_day", "")
    found = _MONTH_DAY.fullmatch(value)
    if value and not (found and int(found[2]) <= _LONGEST_OF_MONTH[int(found[1]) - 1]):
        raise table.fault("month_day", "a day of every year as MM-DD", value)
    return value


def read_retention(table: Table, tables: Collection[str]) -> RetentionRow:
    """How long records of a kind are kept. Raises RuleFault."""
    kept_from = table.word("kept_from", KEEP_FROM)
    # From its own day a record is kept for a while; until an event it may be without one after it.
    least = 1 if kept_from in ("record", "series_end", "calendar_year_end") else 0
    months = 0 if kept_from == "for_ever" else table.whole("months", least, LONGEST_MONTHS)
    row = RetentionRow(
        id=table.name("id"),
        record_kind=table.word("record_kind", KEPT),
        kept_from=kept_from,
        months=months,
        alternative=table.text("alternative", ""),
        notice_days=table.whole("notice_days", 0, LONGEST_DAYS, 0),
        note=table.text("note", ""),
        cite=table.cite(),
    )
    table.done()
    return row


def read_area(table: Table, tables: Collection[str]) -> AreaRow:
    """A class of area. Raises RuleFault."""
    row = AreaRow(
        id=table.name("id"),
        name=table.text("name"),
        quantity=table.word("quantity", AREA_QUANTITIES),
        value=table.number("value"),
        comparator=table.word("comparator", COMPARATORS),
        distance_m=table.maybe_number("distance_m"),
        averaging=table.text("averaging", ""),
        note=table.text("note", ""),
        cite=table.cite(),
    )
    table.done()
    return row


def read_contamination(table: Table, tables: Collection[str]) -> ContaminationRow:
    """A level of surface contamination. Raises RuleFault."""
    row = ContaminationRow(
        id=table.name("id"),
        purpose=table.word("purpose", PURPOSES),
        nuclides=table.word("nuclides", NUCLIDE_CLASSES),
        kind=table.word("kind", KINDS),
        value=table.number("value"),
        unit=table.word("unit", CONTAMINATION_UNITS),
        comparator=table.word("comparator", COMPARATORS),
        averaging_cm2=table.maybe_number("averaging_cm2"),
        note=table.text("note", ""),
        cite=table.cite(),
    )
    table.done()
    return row


def read_monitor(table: Table, tables: Collection[str]) -> MonitorRow:
    """What a calibration or a check of a monitor must show. Raises RuleFault."""
    row = MonitorRow(
        id=table.name("id"),
        applies_to=table.word("applies_to", ("calibration", "function_check")),
        tolerance_percent=table.number("tolerance_percent", up_to=100),
        comparator=table.word("comparator", ("at_most", "below")),
        when=read_conditions(table, tables),
        qualified_person=table.take("qualified_person", bool, False, required=False),
        note=table.text("note", ""),
        cite=table.cite(),
    )
    table.done()
    return row
