"""What loading a file would do: plain data between planning it and writing it."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

from config.accounts.models import Site
from inventory.calc.explain import Step
from inventory.ledger.models import Item, Record
from reports.exchange.understood import (
    CalibrationEntry,
    Question,
    Row,
    Understood,
    WipeEntry,
)

#: What comes of a row: at fault; something new; what the register has is changed; only evidence is
#: added; it differs and that is left; all of it is there already; the same as an earlier row.
Status = Literal["fault", "new", "changes", "adds", "differs", "here", "twice"]


@dataclass(slots=True, eq=False)
class Thing:
    """A place, gauge, monitor or source that the file names. ``item`` None: it will be new."""

    kind: str
    name: str
    row: str  # key of the row that names it first
    item: Item | None = None
    snapshot: dict[str, Any] = field(default_factory=dict)
    inside: Thing | None = None  # the gauge or place that the file states
    received_on: date | None = None
    supplier: str = ""
    #: What is to stay an open point: code -> the text that it is about.
    doubts: dict[str, str] = field(default_factory=dict)
    #: Days on which something happened to it or in it, by which it was here.
    proofs: list[date] = field(default_factory=list)
    #: From which day it is described and where it arrives; worked out for what is new.
    day: date | None = None
    arrives_at: Thing | None = None
    #: A source that came before the gauge it is in now goes in when that arrives.
    installed_on: date | None = None

    @property
    def new(self) -> bool:
        """Whether the register does not have it yet."""
        return self.item is None


@dataclass(frozen=True, slots=True)
class Difference:
    """A fact that the file states otherwise than the register. ``stays``: why it is not written
    (a code); empty: it is written."""

    thing: str
    field: str
    old: str
    new: str
    stays: str = ""


@dataclass(frozen=True, slots=True)
class Describe:
    """A description to be written: a correction of ``replaces``, or a change where that is None."""

    item: Item
    snapshot: Mapping[str, Any]
    on: date
    replaces: Record | None
    row: str


@dataclass(frozen=True, slots=True)
class MoveTo:
    """A thing of the register that is to go where the file says."""

    thing: Thing
    to: Thing
    verb: str
    on: date
    row: str


@dataclass(frozen=True, slots=True)
class Calibrate:
    """A calibration to be added."""

    monitor: Thing
    entry: CalibrationEntry
    row: str


@dataclass(frozen=True, slots=True)
class WipeOf:
    """A wipe to be added, of these sources. ``beside``: another result of that day is there; which
    of the two holds is for the supervisor to say."""

    sources: Sequence[Thing]
    entry: WipeEntry
    counter: Thing | None
    row: str
    beside: bool = False


@dataclass(slots=True)
class Acts:
    """Everything that will be written, in the order in which it will be."""

    things: list[Thing] = field(default_factory=list)
    descriptions: list[Describe] = field(default_factory=list)
    moves: list[MoveTo] = field(default_factory=list)
    calibrations: list[Calibrate] = field(default_factory=list)
    wipes: list[WipeOf] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(
            self.things or self.descriptions or self.moves or self.calibrations or self.wipes
        )


@dataclass(slots=True)
class RowPlan:
    """What comes of one row: the words for its preview."""

    row: Row
    writes: list[Step] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    faults: list[Step] = field(default_factory=list)
    notes: list[Step] = field(default_factory=list)
    open_points: list[Step] = field(default_factory=list)  # of its new sources
    same_as: str = ""  # the key of an earlier row that says the same
    news: bool = False  # a thing that the register does not have

    @property
    def status(self) -> Status:
        """The word for the row."""
        if self.faults:
            return "fault"
        if self.same_as and not self.writes:
            return "twice"
        if self.news:
            return "new"
        if any(not one.stays for one in self.differences):
            return "changes"
        if self.writes:
            return "adds"
        return "differs" if self.differences else "here"


@dataclass(frozen=True, slots=True)
class Missing:
    """A source of the register that the file does not name. It stays as it is."""

    item: Item
    place: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What loading a file would do to a site. ``seen``: the number of the site's last record when
    it was made."""

    site: Site
    understood: Understood
    on: date  # the day that was today when it was made
    seen: int
    rows: Sequence[RowPlan]
    acts: Acts
    questions: Sequence[Question] = ()
    missing: Sequence[Missing] = ()

    @property
    def faulty(self) -> list[RowPlan]:
        """Rows that cannot be loaded as they stand."""
        return [one for one in self.rows if one.faults]

    @property
    def ready(self) -> bool:
        """Whether it can be written, or nothing needs to be."""
        decided = all(question.answer for question in self.questions)
        return decided and not self.understood.open_questions and not self.faulty

    @property
    def changes(self) -> bool:
        """Whether anything would be written at all."""
        return bool(self.acts)

    @property
    def counts(self) -> dict[str, int]:
        """How much of what: for the sentence above the preview and for the record."""
        new = Counter(thing.kind for thing in self.acts.things)
        status = Counter(one.status for one in self.rows)
        return {
            "sources": new["source"],
            "gauges": new["gauge"],
            "places": new["location"],
            "monitors": new["monitor"],
            "calibrations": len(self.acts.calibrations),
            "wipes": len(self.acts.wipes),
            "described": len(self.acts.descriptions),
            "moved": len(self.acts.moves),
            "rows": len(self.rows),
            "here": status["here"],
            "twice": status["twice"],
            "differs": sum(any(d.stays for d in one.differences) for one in self.rows),
            "faults": status["fault"],
            "left_out": len(self.understood.rows) - len(self.understood.wanted),
            "missing": len(self.missing),
        }

    @property
    def fingerprint(self) -> str:
        """Changes whenever something else would be written than was shown."""
        said = [
            (one.row.key, one.status, one.writes, one.differences, one.faults) for one in self.rows
        ]
        asked = [(question.key, question.answer) for question in self.questions]
        told = repr((self.understood.book.sha256, asked, said))
        return hashlib.sha256(told.encode()).hexdigest()
