"""Rows that cannot stand in one schedule: refused when they are written, in one sentence."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from inventory.calc.errors import DomainError
from inventory.rules.schema import (
    ENTRY,
    INTERVAL,
    NOT_ASKED,
    NOT_DECIDED,
    OWN,
    REQUIREMENTS,
    Row,
    RuleSet,
)

#: What answers for everything where it has no condition: two of them can only contradict.
_ANSWERS = (INTERVAL, NOT_DECIDED, NOT_ASKED)


def check(rules: RuleSet) -> None:
    """Refuse a schedule that contradicts itself. Raises DomainError."""
    _check_ids(rules.rows)
    for requirement in rules.requirements:
        rows = rules.rows_for(requirement)
        _check_known(rules, requirement)
        _check_answers(rows)
        if not any(not row.when and row.result != ENTRY for row in rows):
            raise DomainError("requirement_needs_default", {"requirement": requirement})


def _check_ids(rows: Sequence[Row]) -> None:
    ids = [row.id for row in rows]
    for row_id in ids:
        if ids.count(row_id) > 1:
            raise DomainError("row_id_twice", {"row": row_id}, field="id")


def _check_known(rules: RuleSet, requirement: str) -> None:
    own = [one.name for one in rules.own_kinds]
    if requirement.startswith(OWN) and requirement not in own:
        raise DomainError("own_kind_unknown", {"requirement": requirement}, field="requirement")
    if not requirement.startswith(OWN) and requirement not in REQUIREMENTS:
        raise DomainError("requirement_unknown", {"requirement": requirement}, field="requirement")


def _check_answers(rows: Sequence[Row]) -> None:
    """Two rows for the same things in the same mode that answer differently."""
    for one, other in combinations(rows, 2):
        if contradict(one, other):
            values = {"row": one.id, "other": other.id, "requirement": one.requirement}
            raise DomainError("rows_contradict", values)


def contradict(one: Row, other: Row) -> bool:
    """Whether two rows hold for the very same things, in the same mode, with different answers."""
    if (one.requirement, one.when) != (other.requirement, other.when):
        return False
    if one.mode != other.mode or one.mode == "adds":
        return False
    answers = [(row.result, row.months, row.days) for row in (one, other)]
    return all(row.result in _ANSWERS for row in (one, other)) and answers[0] != answers[1]
