"""What a counter could do on a day: the calibration in force, and whether it was fit."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from inventory import knowledge
from inventory.calc import due
from inventory.ledger.models import Item, Record
from inventory.rules.schema import CALIBRATION
from surveys.calc.leak import Factor
from surveys.monitors.models import CALIBRATION_KIND, CalibrationEfficiency


@dataclass(frozen=True, slots=True)
class Efficiency:
    """A counter's efficiency for one nuclide, as its certificate states it."""

    nuclide: str
    efficiency: float
    u_rel: float | None = None
    basis: str = "per_decay"
    source_efficiency: float | None = None
    window_cm2: float | None = None

    def factor(self) -> Factor:
        """As the verdict uses it."""
        return Factor(
            efficiency=self.efficiency,
            u_rel=self.u_rel,
            basis=self.basis,
            source_efficiency=self.source_efficiency,
            window_cm2=self.window_cm2,
        )


@dataclass(frozen=True, slots=True)
class InForce:
    """The counter's calibration on a day: figures of the last good one, and whether it was fit."""

    record: Record | None
    efficiencies: dict[str, Efficiency]
    unfit_because: str


def in_force(monitor: Item, on: date) -> InForce:
    """What the counter could do on a day. Out of calibration is *unfit*, and why; its last known
    efficiencies are used all the same: bad evidence never clears, but it accuses."""
    return CountersOnDays([monitor])(monitor, on)


class CountersOnDays:
    """The same for many counters and days, read in a fixed number of queries; with ``known`` as it
    was known at that moment."""

    def __init__(self, monitors: Collection[Item], known: datetime | None = None) -> None:
        keys = {monitor.pk for monitor in monitors}
        self._known = knowledge.load(keys, known) if keys else {}
        calibrations = {
            event.record
            for one in self._known.values()
            for event in one.events
            if event.kind == CALIBRATION_KIND
        }
        self._records = Record.objects.in_bulk(calibrations)
        self._efficiencies = _efficiencies(calibrations)
        self._made: dict[tuple[int, date], InForce] = {}

    def __call__(self, monitor: Item, on: date) -> InForce:
        key = (monitor.pk, on)
        if key not in self._made:
            self._made[key] = self._on(self._known[monitor.pk], on)
        return self._made[key]

    def _on(self, known: knowledge.Known, on: date) -> InForce:
        state = knowledge.decide_on(known, CALIBRATION, on).value.state_on(on)
        unfit = "" if state in (due.GOOD, due.DUE_SOON) else f"counter_calibration_{state}"
        last = _last_good(known.events, on)
        if last is None:
            return InForce(None, {}, unfit)
        return InForce(self._records[last.record], self._efficiencies.get(last.record, {}), unfit)


def _last_good(events: Sequence[due.Event], on: date) -> due.Event | None:
    good = [event for event in events if event.kind == CALIBRATION_KIND and event.clears_on(on)]
    return max(good, key=lambda event: event.order, default=None)


def _efficiencies(calibrations: Collection[int]) -> Mapping[int, dict[str, Efficiency]]:
    """What each calibration states, by nuclide, in the order of its certificate."""
    out: dict[int, dict[str, Efficiency]] = {}
    rows = CalibrationEfficiency.objects.filter(record__in=calibrations)
    for row in rows.order_by("record", "position"):
        out.setdefault(row.record_id, {})[row.nuclide] = Efficiency(
            row.nuclide,
            row.efficiency,
            row.u_rel,
            row.basis,
            row.source_efficiency,
            row.window_cm2,
        )
    return out
