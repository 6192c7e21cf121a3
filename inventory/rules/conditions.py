"""Whether the conditions of a row hold: yes, no, or not known.

What is not known neither holds nor fails: ``inventory.calc.due`` lets it tighten and never loosen.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from inventory.calc.explain import Scalar
from inventory.rules.schema import BY_DECAY, Bound, NuclideTable, Row, Wanted

#: Two numbers this close are equal: a level that is met is not yet passed.
RELATIVE_EQUALITY: Final = 1e-9

Answer = bool | None
Ask = Callable[[str, Wanted], Answer]
When = tuple[tuple[str, Wanted], ...]


def holds(row: Row, ask: Ask) -> Answer:
    """Whether every condition of a row holds; one that fails decides, known or not the others."""
    answer: Answer = True
    for name, wanted in row.when:
        one = ask(name, wanted)
        if one is False:
            return False
        if one is None:
            answer = None
    return answer


def compare(number: float, bound: Bound) -> bool:
    """A number against a bound; equal within 1e-9 is equal."""
    equal = math.isclose(number, bound.value, rel_tol=RELATIVE_EQUALITY)
    match bound.comparator:
        case "below":
            return number < bound.value and not equal
        case "at_most":
            return number <= bound.value or equal
        case "above":
            return number > bound.value and not equal
        case _:
            return number >= bound.value or equal


def matches(found: Scalar, wanted: Wanted) -> bool:
    """A trait that is no number against what is wanted. An absent yes-or-no is no."""
    if isinstance(wanted, bool):
        return bool(found) is wanted
    if isinstance(wanted, tuple):
        return found in wanted
    return found == wanted


def by_decay(row: Row) -> bool:
    """Whether a condition of the row can change as activity decays."""
    return any(name in BY_DECAY for name, _wanted in row.when)


def as_text(when: When, tables: Mapping[str, NuclideTable]) -> str:
    """Conditions as a value of a step: JSON, with the title of a table in the place of its name;
    words come at the edge. ``from_text`` reads it."""
    return json.dumps([[name, _plain(wanted, tables)] for name, wanted in when])


def _plain(wanted: Wanted, tables: Mapping[str, NuclideTable]) -> Any:
    if not isinstance(wanted, Bound):
        return wanted
    table = tables.get(wanted.table)
    return {
        "comparator": wanted.comparator,
        "value": wanted.value,
        "table": table.title if table else wanted.table,
    }


def from_text(text: str) -> When:
    """The conditions of a step's value."""
    return tuple(
        (name, Bound(**said) if isinstance(said, dict) else _listed(said))
        for name, said in json.loads(text)
    )


def _listed(said: Any) -> Any:
    return tuple(said) if isinstance(said, list) else said
