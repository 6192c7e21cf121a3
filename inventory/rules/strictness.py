"""Whether a change of a row tightens or loosens. Whatever is not shown to be stricter loosens:
tightening is free, loosening needs a named person and a reason."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from math import inf
from typing import Final

from inventory.rules.schema import (
    ENTRY,
    HOLD,
    INTERVAL,
    NOT_ASKED,
    NOT_DECIDED,
    UNTIL,
    Bound,
    Row,
    Wanted,
)
from inventory.rules.strictest import left

TIGHTENED, LOOSENED, CHANGED, SAME = "tightened", "loosened", "changed", "same"
#: The verdicts, the one that must be looked at first.
VERDICTS: Final = (LOOSENED, TIGHTENED, CHANGED, SAME)
#: What a row asks, strictest first.
_RANK = {INTERVAL: 0, UNTIL: 0, ENTRY: 0, NOT_DECIDED: 1, HOLD: 2, NOT_ASKED: 3}
#: How far a row that asks nothing sets others aside.
_REACH = {"default": 0, "adds": 0, "replaces": 1, "suspends": 2, "exempts": 3}
_WIDER, _NARROWER, _OTHER = "wider", "narrower", "other"


def weigh(old: Row, new: Row) -> str:
    """What a change of a row means: one of VERDICTS."""
    found = {
        *_by_result(old, new),
        *_by_mode(old, new),
        *_by_conditions(old, new),
        *_by_numbers(old, new),
    }
    if old != new:
        found.add(CHANGED)  # a clause, a note, a lead time
    return _first(found)


def adding(row: Row, beside: Sequence[Row]) -> str:
    """What a row means that was not there; ``beside`` are the others of its requirement."""
    if _RANK[row.result] >= _RANK[HOLD]:
        harmless = row.mode in ("default", "adds") and any(not one.when for one in beside)
        return CHANGED if harmless else LOOSENED
    if row.mode != "replaces":
        return TIGHTENED
    aside = [one for one in beside if one.mode == "default" and one not in left([row, one])]
    return TIGHTENED if all(_as_strict(row, one) for one in aside) else LOOSENED


def _as_strict(row: Row, aside: Row) -> bool:
    """Whether a row may take the place of another one without loosening."""
    alike = replace(aside, mode=row.mode, when=row.when)
    return _RANK[aside.result] >= _RANK[HOLD] or weigh(alike, row) != LOOSENED


def removing(row: Row) -> str:
    """What it means that a row is not there any more."""
    sets_free = _RANK[row.result] >= _RANK[HOLD] and row.mode != "replaces"
    return TIGHTENED if sets_free else LOOSENED


def loosens(old: Row | None, new: Row | None, beside: Sequence[Row] = ()) -> bool:
    """Whether a change needs a reason, the name of who decided it and a day. Without ``old`` the
    row is added, without ``new`` it is removed."""
    if old is None:
        return new is not None and adding(new, beside) == LOOSENED
    return (removing(old) if new is None else weigh(old, new)) == LOOSENED


def _first(found: Iterable[str]) -> str:
    return min(found, key=VERDICTS.index, default=SAME)


def _by_result(old: Row, new: Row) -> set[str]:
    before, after = _RANK[old.result], _RANK[new.result]
    if before == after:
        return set() if old.result == new.result else {LOOSENED}
    return {LOOSENED if after > before else TIGHTENED}


def _by_mode(old: Row, new: Row) -> set[str]:
    if old.mode == new.mode:
        return set()
    if _RANK[new.result] >= _RANK[HOLD]:
        more = _REACH[new.mode] > _REACH[old.mode]
        return {LOOSENED if more else TIGHTENED}
    if _RANK[old.result] >= _RANK[HOLD] and new.mode != "replaces":
        return {TIGHTENED}
    return {TIGHTENED if new.mode == "adds" else LOOSENED}


def _by_conditions(old: Row, new: Row) -> set[str]:
    way = _reaches(dict(old.when), dict(new.when))
    if way is None:
        return set()
    if _RANK[old.result] >= _RANK[HOLD] > _RANK[new.result]:
        return set()  # what exempted exempts no more, wherever
    if _RANK[new.result] >= _RANK[HOLD]:
        return {TIGHTENED if way == _NARROWER else LOOSENED}
    if new.mode == "replaces":
        return {LOOSENED}  # what it sets aside may be stricter
    return {TIGHTENED if way == _WIDER else LOOSENED}


def _reaches(old: Mapping[str, Wanted], new: Mapping[str, Wanted]) -> str | None:
    """Whether the new conditions hold for more, for less, or for others; None: for the same."""
    if old == new:
        return None
    if all(name in old and _implies(old[name], wanted) for name, wanted in new.items()):
        return _WIDER
    if all(name in new and _implies(new[name], wanted) for name, wanted in old.items()):
        return _NARROWER
    return _OTHER


def _implies(one: Wanted, other: Wanted) -> bool:
    """Whether whatever meets the one meets the other."""
    if isinstance(one, Bound) and isinstance(other, Bound):
        return _bound_implies(one, other)
    if isinstance(one, Bound) or isinstance(other, Bound):
        return False
    listed = other if isinstance(other, tuple) else (other,)
    return all(value in listed for value in (one if isinstance(one, tuple) else (one,)))


def _bound_implies(one: Bound, other: Bound) -> bool:
    upper = ("below", "at_most")
    if one.table != other.table or (one.comparator in upper) != (other.comparator in upper):
        return False
    if one.value == other.value:
        return one.comparator == other.comparator or one.comparator in ("below", "above")
    return one.value < other.value if one.comparator in upper else one.value > other.value


def _by_numbers(old: Row, new: Row) -> set[str]:
    if old.result != new.result:
        return set()
    found = {_way(before, after) for before, after in zip(_loose(old), _loose(new), strict=True)}
    if old.result == INTERVAL:
        found |= {_by_length(old, new), _by_unused(old, new)}
    if old.result == ENTRY:
        found.add(_by_entry(old, new))
    if old.result == UNTIL and old.trait != new.trait:
        found.add(LOOSENED)
    found.add(_way(_day(old.in_force_from), _day(new.in_force_from)))
    return found


def _way(before: float, after: float) -> str:
    if before == after:
        return SAME
    return LOOSENED if after > before else TIGHTENED


def _loose(row: Row) -> tuple[float, ...]:
    """Numbers of a row of which more is looser."""
    return (
        *(row.grace_days, row.within_days, row.fresh_months, row.fresh_days),
        *(row.stored_months, row.stored_comparator == "more_than"),
        *(row.seen_months, inf if row.ceiling_months is None else row.ceiling_months),
        *(row.ends != "anniversary", row.late_from == "test"),
        (row.months or 0) if row.result == UNTIL else 0,
    )


def _by_length(old: Row, new: Row) -> str:
    if old.months and new.months:
        return _way(old.months, new.months)
    if old.days and new.days:
        return _way(old.days, new.days)
    return TIGHTENED if _days(new)[1] <= _days(old)[0] else LOOSENED


def _days(row: Row) -> tuple[float, float]:
    """How many days an interval has, at least and at most: months differ in length."""
    if row.days:
        return row.days, row.days
    months = row.months or 0
    return months * 28, months * 31


def _by_unused(old: Row, new: Row) -> str:
    """Unused for longer than this, the old due date is forgotten: sooner forgotten is looser."""
    if old.late_from != "old_due" or new.late_from != "old_due":
        return SAME
    return _way(-(old.unused_months or inf), -(new.unused_months or inf))


def _by_entry(old: Row, new: Row) -> str:
    if old.entry != new.entry:
        return LOOSENED
    before, after = set(old.happenings), set(new.happenings)
    if before == after:
        return SAME
    return TIGHTENED if before < after else LOOSENED


def _day(day: date | None) -> int:
    """The day from which a clause is in force, as a number; without one it always was."""
    return day.toordinal() if day else 0
