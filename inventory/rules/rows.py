"""One row of a rule set: from a table of a file or of a record, and back to one.

Which fields a row has depends on what it asks; any other field is refused, so that nothing that
somebody wrote is silently without effect.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import fields, replace
from datetime import date
from typing import Any

from inventory.rules.conditions_read import Conditions, conditions_data, read_conditions
from inventory.rules.reader import Table
from inventory.rules.schema import (
    ENDS,
    ENTRIES,
    ENTRY,
    HAPPENINGS,
    HOLD,
    INTERVAL,
    LATE_FROM,
    MODES,
    NOT_ASKED,
    OWN,
    REQUIREMENTS,
    RESULTS,
    TRAIT_DATES,
    UNTIL,
    USUAL_MODE,
    Row,
)

LONGEST_MONTHS, LONGEST_DAYS = 600, 3660
LEAD_DAYS = 30
#: On whose word a row stands: that of the rule set, or whoever decided it for a thing or a site.
AUTHORITIES = ("template", "label", "registration", "permit", "site", "adviser")


def usual_mode(result: str, when: Conditions) -> str:
    """The mode of a row that does not say one."""
    if result == NOT_ASKED and when:
        return "exempts"
    return USUAL_MODE.get(result, "default")


def row_from(where: str, data: Mapping[str, Any], tables: Collection[str] | None = None) -> Row:
    """A row from the table of a record: dates and numbers may be text. ``where`` begins its
    faults. Raises RuleFault."""
    return read_row(Table(where, data, from_text=True), tables)


def read_row(table: Table, tables: Collection[str] | None) -> Row:
    """A row from a table; ``tables`` are the names of the nuclide tables its conditions may use,
    None where nobody knows. Raises RuleFault."""
    result = table.word("result", RESULTS, INTERVAL)
    when = read_conditions(table, tables)
    row = Row(
        id=table.name("id"),
        requirement=_requirement(table),
        result=result,
        lead_days=table.whole("lead_days", 0, LONGEST_DAYS, LEAD_DAYS),
        mode=_mode(table, result, when),
        when=when,
        note=table.text("note", ""),
        **_asked(table, result),
        **_decided(table),
        cite=table.cite(),
    )
    table.done()
    own = row.authority != "template"
    return replace(row, cite=replace(row.cite, authority=row.authority)) if own else row


def _requirement(table: Table) -> str:
    value = table.name("requirement")
    if value not in REQUIREMENTS and not value.startswith(OWN):
        raise table.fault("requirement", f"one of {', '.join(REQUIREMENTS)}", value)
    return value


def _mode(table: Table, result: str, when: Conditions) -> str:
    mode = table.word("mode", MODES, usual_mode(result, when))
    if mode == "exempts" and result != NOT_ASKED:
        raise table.refuse("mode", f"a row that exempts must be {NOT_ASKED}, this is {result}")
    if (mode == "suspends") != (result == HOLD) and not (result == HOLD and mode == "replaces"):
        raise table.refuse(
            "mode", f"{mode} does not go with {result}: {HOLD} suspends, or replaces"
        )
    if result == HOLD and not when:
        raise table.refuse("when", f"is missing, expected conditions: {HOLD} must end some time")
    return mode


def _asked(table: Table, result: str) -> dict[str, Any]:
    """The fields of what the row asks."""
    readers: dict[str, Callable[[Table], dict[str, Any]]] = {
        **{INTERVAL: _interval, UNTIL: _until, ENTRY: _entry, HOLD: _hold},
    }
    return {"months": None} | (readers[result](table) if result in readers else {})


def _interval(table: Table) -> dict[str, Any]:
    days = table.maybe_whole("days", 1, LONGEST_DAYS)
    if days is not None and table.has("months"):
        raise table.refuse("days", "expected months or days, found both")
    months = table.whole("months", 1, LONGEST_MONTHS) if days is None else None
    ends = table.word("ends", ENDS, "anniversary")
    if days is not None and ends != "anniversary":
        raise table.refuse("ends", "an interval in days ends on its own day, not with the year")
    late_from = table.word("late_from", LATE_FROM, "test")
    unused = table.maybe_whole("unused_months", 1, LONGEST_MONTHS)
    if unused is not None and late_from != "old_due":
        raise table.refuse("unused_months", "expected late_from = 'old_due' beside it")
    return {
        **{"days": days, "months": months, "ends": ends},
        **{"late_from": late_from, "unused_months": unused},
        "grace_days": table.whole("grace_days", 0, LONGEST_DAYS, 0),
    }


def _until(table: Table) -> dict[str, Any]:
    return {
        "trait": table.word("trait", TRAIT_DATES),
        "months": table.maybe_whole("months", 1, LONGEST_MONTHS),
    }


def _entry(table: Table) -> dict[str, Any]:
    entry = table.word("entry", ENTRIES)
    asked: dict[str, Any] = {
        "entry": entry,
        "within_days": table.whole("within_days", 0, LONGEST_DAYS, 0),
    }
    if entry == "happening":
        asked["happenings"] = table.texts("happenings", HAPPENINGS)
        if not asked["happenings"]:
            known = ", ".join(HAPPENINGS)
            raise table.refuse("happenings", f"is missing, expected a list of {known}")
    if entry == "after_storage":
        asked["stored_months"] = table.whole("stored_months", 0, LONGEST_MONTHS, 0)
        comparators = ("at_least", "more_than")
        asked["stored_comparator"] = table.word("stored_comparator", comparators, "at_least")
    if entry in ("after_storage", "first_use"):
        asked["fresh_months"] = table.whole("fresh_months", 0, LONGEST_MONTHS, 0)
        asked["fresh_days"] = table.whole("fresh_days", 0, LONGEST_DAYS, 0)
    return asked


def _hold(table: Table) -> dict[str, Any]:
    return {
        "seen_months": table.whole("seen_months", 1, LONGEST_MONTHS, 12),
        "ceiling_months": table.maybe_whole("ceiling_months", 1, LONGEST_MONTHS),
    }


def _decided(table: Table) -> dict[str, Any]:
    """Since when the clause is in force, and who decided a row of the site's own."""
    return {
        "in_force_from": table.take("in_force_from", date, required=False),
        "authority": table.word("authority", AUTHORITIES, "template"),
        "loosened_because": table.text("loosened_because", ""),
        "decided_by": table.text("decided_by", ""),
        "decided_on": table.take("decided_on", date, required=False),
    }


def row_data(row: Row) -> dict[str, Any]:
    """The table that a row would be written as, ready for JSON: what it does not say is as
    ``row_from`` would have it."""
    usual: dict[str, Any] = {one.name: one.default for one in fields(Row)}
    usual |= {"result": INTERVAL, "months": None, "lead_days": LEAD_DAYS}
    usual |= {"mode": usual_mode(row.result, row.when), "when": ()}
    said = {name: getattr(row, name) for name in usual}
    data = {name: _plain(value) for name, value in said.items() if value != usual[name]}
    del data["cite"]
    if row.when:
        data["when"] = conditions_data(row.when)
    cited = {one.name: getattr(row.cite, one.name) for one in fields(row.cite)}
    return data | {name: _plain(value) for name, value in cited.items() if value}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if isinstance(value, date) else value
