"""Which rows of a requirement are weighed against one another: called by ``decide``, and by
``strictness`` to know what a new row would set aside.

A row that *exempts* sets everything aside but rows that *add*; then one that *suspends*, then one
that *replaces*. Of what is left the strictest answer holds. What replaces an interval leaves the
tests at a beginning alone: a label's interval takes no test before first use away. What suspends
leaves the test after damage.
"""

from __future__ import annotations

from collections.abc import Sequence

from inventory.rules.schema import ENTRY, Row

#: The modes in the order in which they set others aside; ``adds`` always stays.
PRECEDENCE = ("exempts", "suspends", "replaces", "default")


def left(holding: Sequence[Row]) -> list[Row]:
    """Of the rows that hold, those that are weighed against one another."""
    if len(holding) < 2:
        return list(holding)
    modes = {row.mode for row in holding}
    leading = next((mode for mode in PRECEDENCE if mode in modes), "default")
    return [row for row in holding if row.mode in (leading, "adds") or _stays(row, leading)]


def _stays(row: Row, leading: str) -> bool:
    """Whether a default row is weighed beside one of a mode that sets defaults aside."""
    if row.result != ENTRY or row.mode != "default":
        return False
    return leading == "replaces" or (leading == "suspends" and row.entry == "happening")
