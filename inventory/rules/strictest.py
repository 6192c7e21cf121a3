"""Which rows hold for a subject: called by ``decide`` only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.calc.explain import Scalar
from inventory.rules.schema import Row


@dataclass(frozen=True, slots=True)
class Choice:
    """The row that decides, and the rows looked at that do not."""

    row: Row
    set_aside: tuple[Row, ...]
    not_met: tuple[Row, ...]


def choose(rows: Sequence[Row], traits: Mapping[str, Scalar]) -> Choice:
    """The strictest of the rows that hold.

    A row that *replaces* sets the defaults aside; rows that *add* stand beside. Of what is left a
    number of months beats *undecided*, and that beats *not required*: silence never loosens.
    """
    holding = [row for row in rows if row.applies(traits)]
    if any(row.mode == "replaces" for row in holding):
        left = [row for row in holding if row.mode != "default"]
    else:
        left = holding
    winner = min(left, key=_strictness)
    return Choice(
        row=winner,
        set_aside=tuple(row for row in holding if row is not winner),
        not_met=tuple(row for row in rows if row not in holding),
    )


def _strictness(row: Row) -> tuple[int, int]:
    rank = {"interval": 0, "undecided": 1, "not_required": 2}[row.result]
    return (rank, row.months or 0)
