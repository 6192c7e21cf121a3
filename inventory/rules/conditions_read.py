"""Conditions of a row: from a table of a file, and back to one."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from inventory.rules.reader import Table
from inventory.rules.schema import COMPARATORS, CONDITIONS, VALUES, Bound, Wanted

Conditions = tuple[tuple[str, Wanted], ...]

#: Conditions whose number is one of a nuclide table.
BY_TABLE = ("quotient", "device_quotient")
#: Conditions counted in calendar months: whole ones, since half a month is no length.
IN_MONTHS = ("age_months", "kept_months")
SERIES = "series"
LONGEST_MONTHS = 1200


def read_conditions(table: Table, tables: Collection[str] | None) -> Conditions:
    """The ``when`` of a row, sorted by name. ``tables``: names of the nuclide tables there are,
    or None where nobody knows. Raises RuleFault."""
    when = table.inner("when")
    names = sorted(when.data, key=str)
    return tuple((name, _condition(when, name, tables)) for name in names)


def _condition(when: Table, name: str, tables: Collection[str] | None) -> Wanted:
    kind = CONDITIONS.get(name)
    if kind is None:
        raise when.refuse(name, f"is not a condition; known are {', '.join(CONDITIONS)}")
    if kind is bool:
        found: bool = when.take(name, bool)
        return found
    if name == SERIES:
        return _series(when.inner(name))
    if kind is float:
        return _bound(name, when.inner(name), tables)
    return _text(when, name)


def _text(when: Table, name: str) -> str | tuple[str, ...]:
    """One text, or a list of texts of which one must be it."""
    allowed = VALUES.get(name)
    if isinstance(when.data[name], list | tuple):
        when.data[name] = list(when.data[name])
        return when.texts(name, allowed)
    return when.text(name) if allowed is None else when.word(name, allowed)


def _bound(name: str, table: Table, tables: Collection[str] | None) -> Bound:
    said = [one for one in COMPARATORS if table.has(one)]
    if len(said) != 1:
        raise table.refuse(
            said[1] if said else "below",
            f"expected exactly one of {', '.join(COMPARATORS)}, found {len(said)}",
        )
    (comparator,) = said
    value = (
        table.whole(comparator, 0, LONGEST_MONTHS)
        if name in IN_MONTHS
        else table.number(comparator, zero=True)
    )
    bound = Bound(comparator, value, _table_name(table, tables) if name in BY_TABLE else "")
    table.done()
    return bound


def _table_name(table: Table, tables: Collection[str] | None) -> str:
    return table.name("table") if tables is None else table.word("table", tables)


def _series(table: Table) -> Bound:
    """Records of another kind without a gap longer than so many months."""
    of = table.word("of", VALUES[SERIES])
    bound = Bound("at_most", table.whole("months", 1, LONGEST_MONTHS), table=of)
    table.done()
    return bound


def conditions_data(when: Conditions) -> dict[str, Any]:
    """The table that conditions are read from, ready for JSON."""
    return {name: _data(name, wanted) for name, wanted in when}


def _data(name: str, wanted: Wanted) -> Any:
    if isinstance(wanted, tuple):
        return list(wanted)
    if not isinstance(wanted, Bound):
        return wanted
    if name == SERIES:
        return {"of": wanted.table, "months": wanted.value}
    table: Mapping[str, Any] = {"table": wanted.table} if wanted.table else {}
    return {**table, wanted.comparator: wanted.value}
