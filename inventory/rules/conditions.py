"""Whether the conditions of a row hold: yes, no, or not known.

What is not known neither holds nor fails: ``inventory.calc.due`` lets it tighten and never loosen.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from inventory.calc.explain import Scalar
from inventory.calc.units import format_activity
from inventory.rules.schema import BY_DECAY, Bound, Row, Wanted

#: Two numbers this close are equal: a level that is met is not yet passed.
RELATIVE_EQUALITY: Final = 1e-9

Answer = bool | None
Ask = Callable[[str, Wanted], Answer]


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


def in_words(row: Row) -> str:
    """The conditions as data people can read; words come at the edge."""
    return ", ".join(f"{_named(name)} {_wanted(name, wanted)}" for name, wanted in row.when)


def _named(name: str) -> str:
    return name.removesuffix("_bq").replace("_", " ")


def _wanted(name: str, wanted: Wanted) -> str:
    if isinstance(wanted, Bound):
        table = f" ({wanted.table})" if wanted.table else ""
        number = format_activity(wanted.value) if name.endswith("_bq") else f"{wanted.value:g}"
        return f"{wanted.comparator.replace('_', ' ')} {number}{table}"
    if isinstance(wanted, tuple):
        return "= " + " or ".join(wanted)
    if isinstance(wanted, bool):
        return "= " + ("yes" if wanted else "no")
    return f"= {wanted}"
