"""What two rule sets say differently, row by row and field by field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from typing import Any

from inventory.calc.explain import Cite
from inventory.rules.schema import Row, RuleSet
from inventory.rules.strictness import adding, removing, weigh

ADDED, REMOVED, ALTERED, UNCHANGED = "added", "removed", "altered", "unchanged"
_ROW_FIELDS = tuple(one.name for one in fields(Row) if one.name not in ("id", "cite"))
_CITE_FIELDS = tuple(one.name for one in fields(Cite) if one.name != "authority")


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field of a row that another rule set says otherwise."""

    field: str
    old: Any
    new: Any


@dataclass(frozen=True, slots=True)
class Difference:
    """A row in both, in one or in the other; ``verdict`` is one of ``strictness.VERDICTS``."""

    kind: str
    row_id: str
    requirement: str
    old: Row | None
    new: Row | None
    fields: tuple[FieldChange, ...]
    verdict: str

    @property
    def row(self) -> Row:
        """The row as it is now, or as it was."""
        found = self.new or self.old
        assert found is not None
        return found


def differences(new: RuleSet, old: RuleSet) -> list[Difference]:
    """Every row of both: those of ``new`` in its order, then those that are gone."""
    before, after = ({row.id: row for row in rules.rows} for rules in (old, new))
    out = [_of_new(row, before.get(row.id), new) for row in new.rows]
    return out + [_gone(row) for row in old.rows if row.id not in after]


def altered(new: RuleSet, old: RuleSet) -> list[Difference]:
    """Only the rows that differ."""
    return [one for one in differences(new, old) if one.kind != UNCHANGED]


def _of_new(row: Row, old: Row | None, rules: RuleSet) -> Difference:
    if old is None:
        beside = [one for one in rules.rows_for(row.requirement) if one is not row]
        return Difference(ADDED, row.id, row.requirement, None, row, (), adding(row, beside))
    changes = tuple(changed(old, row))
    kind = ALTERED if changes else UNCHANGED
    return Difference(kind, row.id, row.requirement, old, row, changes, weigh(old, row))


def _gone(row: Row) -> Difference:
    return Difference(REMOVED, row.id, row.requirement, row, None, (), removing(row))


def changed(old: Row, new: Row) -> Iterator[FieldChange]:
    """The fields in which two rows differ."""
    for names, one, other in ((_ROW_FIELDS, old, new), (_CITE_FIELDS, old.cite, new.cite)):
        yield from _changed(names, one, other)


def _changed(names: Sequence[str], old: Any, new: Any) -> Iterator[FieldChange]:
    for name in names:
        before, after = getattr(old, name), getattr(new, name)
        if before != after:
            yield FieldChange(name, before, after)
