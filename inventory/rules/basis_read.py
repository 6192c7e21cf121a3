"""What a rule set decides once for all its rows: limit of a wipe, nuclide tables, basis, words."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from inventory.calc.explain import Cite
from inventory.rules.reader import Table, spelt
from inventory.rules.schema import COMPARATORS, RESULT_UNITS, Basis, LimitRow, NuclideTable

#: By which list sources are put into categories.
CATEGORY_SCHEMES = ("iaea", "us_part_37")
#: Words in which countries differ and that a rule set may choose.
WORDS = (
    *("supervisor", "adviser", "accounting_check", "source_store", "leak_test", "permit"),
    "site_instructions",
)
LONGEST_MONTHS = 600


def read_limit(table: Table) -> LimitRow:
    """The limit of a wipe test. Raises RuleFault."""
    bq = table.number("bq")
    limit = LimitRow(
        bq=bq,
        comparator=table.word("comparator", ("reaches", "exceeds")),
        required_detection_bq=table.number("required_detection_bq", up_to=bq),
        action_fraction=table.number("action_fraction", up_to=1)
        if table.has("action_fraction")
        else 0.1,
        unit=table.word("unit", RESULT_UNITS, "Bq"),
        cite=table.cite(),
    )
    table.text("note", "")
    table.done()
    return limit


def read_tables(table: Table) -> dict[str, NuclideTable]:
    """The nuclide tables by name. Raises RuleFault."""
    found = {}
    for name in list(table.data):
        if spelt(name) != name:
            raise table.refuse(name, "expected a name of letters, digits and _ . : - only")
        one = table.inner(name)
        found[name] = NuclideTable(
            name=name,
            title=one.text("title"),
            bq=_values(one.inner("bq")),
            cite=one.cite(),
            other_bq=one.maybe_number("other_bq"),
            other_alpha_bq=one.maybe_number("other_alpha_bq"),
        )
        one.text("note", "")
        one.done()
    return found


def _values(table: Table) -> Mapping[str, float]:
    if not table.data:
        raise table.refuse("Cs-137", "is missing, expected at least one nuclide and its Bq")
    return {name: table.number(name) for name in list(table.data)}


def read_basis(table: Table, tables: Collection[str]) -> Basis:
    """The basis. Raises RuleFault."""
    usual = Basis()
    working_life = table.maybe_whole("working_life_months", 1, LONGEST_MONTHS)
    basis = Basis(
        activity_on=table.word("activity_on", ("day", "reference"), usual.activity_on),
        working_life_months=working_life,
        working_life_cite=table.cite() if working_life else None,
        category_scheme=table.word("category_scheme", CATEGORY_SCHEMES, usual.category_scheme),
        pickup_fraction=table.maybe_number("pickup_fraction", up_to=1),
        wipe_area_cm2=table.maybe_number("wipe_area_cm2"),
        **_hass(table, usual, tables),
    )
    table.done()
    return basis


def _hass(table: Table, usual: Basis, tables: Collection[str]) -> dict[str, Any]:
    """On which activity and table a source is one of high activity; only with its clause."""
    said = {
        "hass_on": table.word("hass_on", ("day", "manufacture"), usual.hass_on),
        "hass_comparator": table.word("hass_comparator", COMPARATORS, usual.hass_comparator),
        "hass_table": table.word("hass_table", (*tables, ""), usual.hass_table),
    }
    cite: Cite | None = None
    if table.has("hass"):
        inner = table.inner("hass")
        cite = inner.cite()
        inner.done()
    elif any(value != getattr(usual, name) for name, value in said.items()):
        raise table.refuse("hass", "is missing, expected document and clause of the choice")
    return {**said, "hass_cite": cite}


def read_words(table: Table) -> dict[str, str]:
    """The words of the rule set. Raises RuleFault."""
    for key in table.data:
        if key not in WORDS:
            raise table.refuse(key, f"is not a word to choose, expected one of {', '.join(WORDS)}")
    return {key: table.text(key) for key in list(table.data)}
