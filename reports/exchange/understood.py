"""What is understood of a file: plain data between reading it and writing it.

``opening`` makes a Book of typed cells from bytes, ``reading`` makes an Understood from a Book and
from what its owner has decided, ``plan`` compares it with the site, ``write`` records it. Nothing
here knows a spreadsheet, a page or a database; sentences are codes with values, as everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, Literal

from inventory.calc.explain import Step
from inventory.items.actions import SourceText
from surveys.leak.wipe import DeclaredBy, FromLaboratory
from surveys.monitors.in_force import Efficiency

#: What a sheet can be a list of.
SheetKind = Literal["sources", "gauges", "monitors", "calibrations", "wipes", "other"]
Content = str | Decimal | date | datetime | time | bool | None


# ---------------------------------------------------------------- the file


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as the file has it. ``text``: as its owner sees it, as far as that can be told;
    ``formula``: the content is the stored result of one (None: nothing stored)."""

    content: Content
    text: str = ""
    formula: bool = False
    merged: bool = False  # filled from the first cell of a merged range
    struck: bool = False  # struck through


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a sheet, numbered as its owner sees it."""

    number: int
    cells: Sequence[Cell]
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. A CSV file is one sheet named after the file."""

    name: str
    lines: Sequence[Line]
    hidden: bool = False
    hidden_columns: Sequence[str] = ()  # letters
    from_1904: bool = False  # days are counted from 1904


@dataclass(frozen=True, slots=True)
class Book:
    """A file that was opened safely. ``notes``: what was left alone (macros, links, pictures)."""

    name: str
    sha256: str
    sheets: Sequence[Sheet]
    notes: Sequence[Step] = ()


# ---------------------------------------------------------------- what its owner says


@dataclass(frozen=True, slots=True)
class Decisions:
    """What the owner of a file has decided about it; kept as JSON between two looks.

    ``answers``: key of a question -> value of the option chosen. ``cells``: ``Sheet1!B7`` -> the
    text that stands in its place. ``left_out``: rows that are not to be loaded, ``Sheet1!7``.
    """

    answers: Mapping[str, str] = field(default_factory=dict)
    cells: Mapping[str, str] = field(default_factory=dict)
    left_out: frozenset[str] = frozenset()

    def to_data(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return {
            "answers": dict(self.answers),
            "cells": dict(self.cells),
            "left_out": sorted(self.left_out),
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Decisions:
        """From JSON; what is missing was not decided."""
        return cls(
            dict(data.get("answers", {})),
            dict(data.get("cells", {})),
            frozenset(data.get("left_out", ())),
        )


@dataclass(frozen=True, slots=True)
class Option:
    """One answer to a question; ``value`` is what ``Decisions.answers`` keeps."""

    value: str
    label: Step


@dataclass(frozen=True, slots=True)
class Question:
    """Something that the file alone does not say, asked once: the order of day and month, what
    the comma means, the unit of a bare number, what a sheet is a list of, what a column holds."""

    key: str
    text: Step
    options: Sequence[Option]
    examples: Sequence[str] = ()  # ``Sheet1!B7: 03/04/05``
    answer: str = ""


# ---------------------------------------------------------------- what a row says


@dataclass(frozen=True, slots=True)
class CountsStated:
    """A past wipe with its raw counts, as a sheet states them; the counter by its tag or serial."""

    counter: str
    counted_on: date
    gross: Sequence[tuple[float, float | None]]
    background: Sequence[tuple[float, float | None]]
    counted_by: str = ""


@dataclass(frozen=True, slots=True)
class WipeEntry:
    """A past wipe. ``subjects``: serials; or ``gauge``: every source in it on that day. Inside a
    SourceEntry both are empty: the wipe is that source's. ``claimed``: what the sheet itself says,
    ``passed``, ``failed`` or nothing."""

    on: date
    result: CountsStated | FromLaboratory | DeclaredBy
    subjects: Sequence[str] = ()
    gauge: str = ""
    nuclide: str = ""  # helps to tell two sources with one serial apart
    sampled_by: str = ""
    claimed: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class SourceEntry:
    """A source with its place, perhaps its gauge and its last wipe."""

    source: SourceText
    place: str  # name of a location; empty: not stated
    gauge: str = ""  # tag
    gauge_model: str = ""
    received_on: date | None = None
    supplier: str = ""
    certificate_on: date | None = None  # the maker's leak-test certificate
    wipe: WipeEntry | None = None


@dataclass(frozen=True, slots=True)
class GaugeEntry:
    """A gauge, with or without sources."""

    tag: str
    place: str
    maker: str = ""
    model: str = ""
    housing_serial: str = ""
    whom_to_ask: str = ""
    received_on: date | None = None


@dataclass(frozen=True, slots=True)
class CalibrationEntry:
    """A calibration of a monitor named by its tag or serial."""

    monitor: str
    on: date
    passed: bool
    certificate: str = ""
    laboratory: str = ""
    valid_until: date | None = None
    efficiencies: Sequence[Efficiency] = ()


@dataclass(frozen=True, slots=True)
class MonitorEntry:
    """A monitor, perhaps with its last calibration."""

    tag: str
    monitor_kind: str
    place: str
    maker: str = ""
    model: str = ""
    serial: str = ""
    received_on: date | None = None
    calibration: CalibrationEntry | None = None


Entry = SourceEntry | GaugeEntry | MonitorEntry | CalibrationEntry | WipeEntry


@dataclass(frozen=True, slots=True)
class Value:
    """One cell of a row: where, what is written there, what was understood (as text)."""

    cell: str  # ``B7``
    written: str
    understood: str
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a row cannot be loaded as it stands; ``field`` is a name of ``Row.values`` or empty."""

    text: Step
    field: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a sheet as it is understood. Two sources in one row make two entries.

    ``notes``: how something odd was read, and what will be an open point. With ``faults`` there
    are no entries."""

    sheet: str
    line: int
    kind: SheetKind
    values: Mapping[str, Value]
    entries: Sequence[Entry] = ()
    faults: Sequence[Fault] = ()
    notes: Sequence[Step] = ()

    @property
    def key(self) -> str:
        """As ``Decisions.left_out`` names it."""
        return f"{self.sheet}!{self.line}"


@dataclass(frozen=True, slots=True)
class Skipped:
    """A row that is no row of the list, and why: a title, a total, a repeated head."""

    sheet: str
    line: int
    text: str
    why: Step


@dataclass(frozen=True, slots=True)
class Column:
    """A column as it was recognised; ``field`` empty: not used, and it is said."""

    letter: str
    head: str
    field: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class SheetRead:
    """How a sheet was recognised."""

    name: str
    kind: SheetKind
    head_line: int
    columns: Sequence[Column]


@dataclass(frozen=True, slots=True)
class Understood:
    """Everything that is understood of a file. It can be written once no question is open and no
    row is at fault (or those rows are left out)."""

    book: Book
    decisions: Decisions
    sheets: Sequence[SheetRead] = ()
    rows: Sequence[Row] = ()
    skipped: Sequence[Skipped] = ()
    questions: Sequence[Question] = ()
    notes: Sequence[Step] = ()

    @property
    def open_questions(self) -> list[Question]:
        """Those that nobody has answered yet."""
        return [question for question in self.questions if not question.answer]

    @property
    def wanted(self) -> list[Row]:
        """The rows that are not left out."""
        return [row for row in self.rows if row.key not in self.decisions.left_out]

    @property
    def faulty(self) -> list[Row]:
        """Wanted rows that cannot be loaded as they stand."""
        return [row for row in self.wanted if row.faults]


class LoadFault(Exception):
    """The file cannot be loaded; every sentence names where and what was expected."""

    def __init__(self, faults: Sequence[Step]) -> None:
        super().__init__("; ".join(f"{step.code} {step.values}" for step in faults))
        self.faults = list(faults)
