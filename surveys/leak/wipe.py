"""A wipe as a form, an import row or a command gives it: what was wiped, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any

from inventory.ledger.files import Upload
from inventory.ledger.models import Item
from surveys.calc import leak
from surveys.leak.models import Way

Count = tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class Counted:
    """Counts of a wipe on one counter; all of them pool."""

    counter: Item
    counted_on: date
    gross: Sequence[Count]
    background: Sequence[Count]
    counted_by: str = ""

    way = Way.COUNTS

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {
            "counted_on": self.counted_on,
            "counted_by": self.counted_by,
            "gross": [list(one) for one in self.gross],
            "background": [list(one) for one in self.background],
        }


@dataclass(frozen=True, slots=True)
class FromLaboratory:
    """A laboratory's report; ``figures`` are in Bq, ``stated`` is what the report says."""

    laboratory: str
    figures: leak.Reported
    stated: dict[str, str] = field(default_factory=dict)
    reported_on: date | None = None
    report: str = ""

    way = Way.REPORTED

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {"stated": self.stated, "reported_on": self.reported_on, "report": self.report}


@dataclass(frozen=True, slots=True)
class DeclaredBy:
    """Somebody says that it passed or failed, without figures."""

    passed: bool
    declared_by: str
    document: str = ""
    reported_on: date | None = None

    way = Way.DECLARED

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {
            "passed": self.passed,
            "declared_by": self.declared_by,
            "document": self.document,
            "reported_on": self.reported_on,
        }


@dataclass(frozen=True, slots=True)
class Wipe:
    """A wipe and its result, as a form, an import row or a command gives it."""

    sources: Sequence[Item]
    wiped_on: date
    result: Counted | FromLaboratory | DeclaredBy
    wiped_time: time | None = None
    why: str = "routine"
    method: str = ""
    point_wiped: str = ""
    sampled_by: str = ""
    remark: str = ""
    attachments: Sequence[Upload] = ()
    laboratory: Item | None = None  # where it is one that the site describes
    #: Of an old list: a day before everything that is known is an open point, not a slip.
    from_list: bool = False

    @property
    def counter(self) -> Item | None:
        """The counter, when it was counted here."""
        return self.result.counter if isinstance(self.result, Counted) else None

    @property
    def laboratory_day(self) -> date:
        """The day on which its laboratory must have been authorised: that of the report, or of the
        wipe where the report has none."""
        reported = None if isinstance(self.result, Counted) else self.result.reported_on
        return reported or self.wiped_on
