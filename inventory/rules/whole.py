"""What no row shows by itself: rows that contradict each other, requirements without a default."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.rules.reader import RuleFault
from inventory.rules.schema import ENTRY, INTERVAL, Row, RuleSet


def check_whole(name: str, rules: RuleSet) -> None:
    """Refuse a rule set that contradicts itself; ``name`` begins the fault. Raises RuleFault."""
    if not rules.rows:
        raise RuleFault(f"{name}, row: expected at least one [[row]], found none")
    for what, listed in (
        *(("row", rules.rows), ("report", rules.reports), ("retention", rules.retention)),
        *(("area", rules.areas), ("contamination", rules.contamination)),
        ("monitor", rules.monitors),
    ):
        _ids_once(name, what, (one.id for one in listed))
    for requirement in rules.requirements:
        _check_requirement(name, rules, requirement)


def _ids_once(name: str, what: str, ids: Iterable[str]) -> None:
    seen = set()
    for one in ids:
        if one in seen:
            raise RuleFault(f"{name}, {what} {one}: the id is used twice")
        seen.add(one)


def _check_requirement(name: str, rules: RuleSet, requirement: str) -> None:
    if not rules.subject_of(requirement):
        raise RuleFault(f"{name}, {requirement}: is not a requirement of this rule set")
    plain = [row for row in rules.rows_for(requirement) if not row.when]
    if all(row.result == ENTRY for row in plain):
        raise RuleFault(
            f"{name}, {requirement}: needs a row without conditions that asks more than a test "
            "when something begins"
        )
    _same_default(name, plain)


def _same_default(name: str, plain: list[Row]) -> None:
    """Two defaults that always hold and say different numbers: nobody could say which is meant."""
    defaults = [row for row in plain if row.result == INTERVAL and row.mode == "default"]
    for row in defaults[1:]:
        first = defaults[0]
        if (row.months, row.days) != (first.months, first.days):
            raise RuleFault(
                f"{name}, row {row.id}: says {row.interval_text} and row {first.id} says "
                f"{first.interval_text}, expected one default without conditions"
            )
