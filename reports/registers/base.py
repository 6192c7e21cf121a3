"""The one register mechanism: what a register is, apart from how it is drawn.

A register file (one per kind) builds a ``Register``; page, PDF, CSV and JSON only render it. What
is printed as a note, a total or a caution is worked out there, never by a renderer.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, Protocol
from zoneinfo import ZoneInfo

from inventory.calc.asof import AsOf

CHUNK = 500

#: A heading stands once over the rows that share it; programs get it in every row.
Kind = Literal["text", "number", "date", "state", "heading"]
#: Paper and page say in one cell what a file keeps apart: such a column is for one of them only.
Readers = Literal["people", "programs"]

#: What a wipe or calibration came to; the others are states of requirements.
OUTCOMES = ("pass", "fail", "inconclusive", "not_evaluable", "not_relied_on")

#: The shape before a state's sentence, so that no state is told by its colour alone. Each of them
#: is a glyph of the bundled font; a state that is not named here has no shape.
STATE_MARKS: Mapping[str, str] = {
    "failed": "×",
    "late": "▲",
    "never_done": "○",
    "undecided": "□",
    "awaited": "◆",
    "due_soon": "△",
    "on_hold": "▽",
    "not_required": "–",
    "good": "✓",
    "falls_short": "◄",
    "reached": "✓",
    "take_along": "►",
    "pass": "✓",
    "fail": "×",
    "inconclusive": "◊",
    "not_evaluable": "□",
    "not_relied_on": "◌",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """One field of one row.

    ``text`` is what people read; ``state`` a code of ``STATE_MARKS`` or nothing; ``mark`` the mark
    of a footnote; ``raw`` the value for machines in full precision (None: the text itself).
    """

    text: str
    state: str = ""
    mark: str = ""
    raw: str | None = None

    @property
    def value(self) -> str:
        """What a program gets."""
        return self.text if self.raw is None else self.raw

    @property
    def shape(self) -> str:
        """The shape of the state, or nothing."""
        return STATE_MARKS.get(self.state, "")

    @property
    def css(self) -> str:
        """The classes with which a page draws the state."""
        kind = "outcome" if self.state in OUTCOMES else "state"
        return f"{kind} {kind}-{self.state}" if self.state else ""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: ``get`` takes a row and gives its cell; ``width`` is a share, not a length."""

    key: str
    head: str
    get: Callable[[Any], Cell]
    unit: str = ""
    kind: Kind = "text"
    width: float = 1.0
    raw_unit: str = ""  # of the value for machines, where the text carries its own unit
    only: Readers | None = None

    @property
    def full_head(self) -> str:
        """The head with its unit, as a spreadsheet needs it."""
        unit = self.unit or self.raw_unit
        return f"{self.head} ({unit})" if unit else self.head


@dataclass(frozen=True, slots=True)
class Note:
    """A footnote: the mark that stands in the cells, and what it says."""

    mark: str
    text: str


class Rows(Protocol):
    """The rows of a register, never all of them at once unless somebody asks for them.

    The number of queries per chunk is fixed, whatever the size of the chunk.
    """

    def __len__(self) -> int: ...

    def __getitem__(self, part: slice, /) -> Sequence[Any]: ...

    def chunks(self, size: int = CHUNK) -> Iterator[Sequence[Any]]: ...


class _Chunked:
    """Chunks made from slices."""

    def __len__(self) -> int:
        raise NotImplementedError

    def __getitem__(self, part: slice, /) -> Sequence[Any]:
        raise NotImplementedError

    def chunks(self, size: int = CHUNK) -> Iterator[Sequence[Any]]:
        """The rows in order, ``size`` at a time."""
        for start in range(0, len(self), size):
            yield self[start : start + size]


class ListRows(_Chunked):
    """Rows that are in memory already."""

    def __init__(self, rows: Sequence[Any]) -> None:
        self._rows = rows

    def __len__(self) -> int:
        return len(self._rows)

    def __getitem__(self, part: slice, /) -> Sequence[Any]:
        return self._rows[part]


class ChunkedRows(_Chunked):
    """Rows known by their primary keys and loaded a slice at a time.

    ``keys`` in the order of the register; ``load`` takes some of them and gives one row for each,
    in that order, with the same number of queries whatever their number.
    """

    def __init__(
        self, keys: Sequence[Hashable], load: Callable[[Sequence[Any]], Sequence[Any]]
    ) -> None:
        self._keys = keys
        self._load = load

    def __len__(self) -> int:
        return len(self._keys)

    def __getitem__(self, part: slice, /) -> Sequence[Any]:
        keys = self._keys[part]
        if not keys:
            return []
        rows = self._load(keys)
        # A row that has gone missing in a register would not be missed by its reader.
        if len(rows) != len(keys):
            raise LookupError(f"{len(keys)} rows asked for, {len(rows)} loaded")
        return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """One register of one site as of one day, complete: nothing is worked out after this.

    ``chain_head`` and ``chain_seq``: the SHA-256 of the site's newest record and its number, when
    the register was made. ``made_at`` is an aware moment, shown in ``zone``.
    """

    kind: str
    title: str
    site_name: str
    site_address: str
    at: AsOf
    schedule_line: str
    made_at: datetime
    made_by: str
    number: str
    chain_head: str
    chain_seq: int
    columns: tuple[Column, ...]
    rows: Rows
    zone: ZoneInfo
    notes: tuple[Note, ...] = ()
    totals: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    from_on: date | None = None  # what happened before is not asked about
    landscape: bool = True

    def __post_init__(self) -> None:
        """Refuse what would print a wrong day or lose a column in the JSON."""
        if self.made_at.tzinfo is None:
            raise ValueError("made_at needs a time zone")
        if len({column.key for column in self.columns}) != len(self.columns):
            raise ValueError("two columns have the same key")

    def columns_for(self, readers: Readers) -> list[Column]:
        """The columns that people read, or that programs get."""
        return [column for column in self.columns if column.only in (None, readers)]

    def cells_for(self, readers: Readers, row: Sequence[Cell]) -> list[Cell]:
        """Their cells, out of a whole row."""
        drawn = zip(self.columns, row, strict=True)
        return [cell for column, cell in drawn if column.only in (None, readers)]


#: The cells of rows, if somebody has them already.
Drawn = Iterable[Sequence[Cell]]


def cells(register: Register) -> Iterator[list[Cell]]:
    """The cells of every row in order; rows are loaded a chunk at a time."""
    for chunk in register.rows.chunks():
        for row in chunk:
            yield [column.get(row) for column in register.columns]
