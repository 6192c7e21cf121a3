"""A counting session as a form or a command gives it: what was counted, on what, against what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.calc.explain import Explained
from inventory.ledger.models import Item
from surveys.calc import counting
from surveys.calc.counting import BatchCheck
from surveys.leak.wipe import Count, Counted, Wipe

CHECK_ROLE = "check_source"


@dataclass(frozen=True, slots=True)
class Taken:
    """One wipe of a session; several counts of it pool."""

    sources: Sequence[Item]
    wiped_on: date
    gross: Sequence[Count]
    sampled_by: str = ""
    point_wiped: str = ""
    remark: str = ""


@dataclass(frozen=True, slots=True)
class CheckCount:
    """A count of the counter's check source, background included."""

    source: Item
    counts: Sequence[Count]


@dataclass(frozen=True, slots=True)
class Session:
    """Wipes counted together on one counter against one background."""

    counter: Item
    counted_on: date
    background: Sequence[Count]
    wipes: Sequence[Taken] = ()
    counted_by: str = ""
    check: CheckCount | None = None

    def wipe(self, taken: Taken) -> Wipe:
        """One of its wipes as a wipe that stands alone."""
        return Wipe(
            sources=taken.sources,
            wiped_on=taken.wiped_on,
            point_wiped=taken.point_wiped,
            sampled_by=taken.sampled_by,
            remark=taken.remark,
            result=Counted(
                self.counter, self.counted_on, taken.gross, self.background, self.counted_by
            ),
        )

    def batch(self) -> Explained[BatchCheck] | None:
        """Whether the background suits the wipes; None where it cannot be asked."""
        background = pooled(self.background)
        wipes = [count for taken in self.wipes if (count := pooled(taken.gross)) is not None]
        return counting.batch_check(wipes, background) if background else None


def pooled(counts: Sequence[Count]) -> counting.Count | None:
    """Counts as one; None where there is none, or one of them has no time."""
    timed = [(number, seconds) for number, seconds in counts if seconds]
    if not timed or len(timed) < len(counts):
        return None
    return counting.pooled(counting.Count(number, seconds) for number, seconds in timed)
