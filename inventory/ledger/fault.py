"""One thing that is not as it was written."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

TEXT_CHANGED = "text_changed"
COLUMN_CHANGED = "column_changed"
ENTRY_MISSING = "entry_missing"
HASH_BROKEN = "hash_broken"
ATTACHMENT_MISSING = "attachment_missing"
ATTACHMENT_CHANGED = "attachment_changed"
TRIGGER_MISSING = "trigger_missing"
DERIVED_DIFFERS = "derived_differs"

NO_ROW = "no such row"


@dataclass(frozen=True, slots=True)
class Fault:
    """``seq`` and ``record`` say which record, where it concerns one; "" is no value.

    ``text_changed``: the text is not what its hash was made over, so this text was changed, or the
    one before it together with its hash.
    """

    chain: str
    seq: int | None
    record: int | None
    table: str
    column: str
    fault: str
    expected: str
    found: str


def guarded(
    part: Callable[[], Iterator[Fault]], table: str, fault: str, chain: str = ""
) -> Iterator[Fault]:
    """The faults of one part of the check. A database that was tampered with can hold anything:
    whatever stops the part is one fault more, and the other parts still run."""
    try:
        yield from part()
    except Exception as error:
        yield Fault(chain, None, None, table, "", fault, "rows that can be compared", repr(error))
