"""The wipes and calibrations of a file: of what they are, and which of them the register lacks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.calc.explain import Step
from reports.exchange.planned import Calibrate, RowPlan, Thing, WipeOf
from reports.exchange.recorded import (
    Said,
    calibration_recorded,
    calibration_said,
    known_calibration,
    said_by_entry,
    said_by_record,
    wipe_words,
)
from reports.exchange.register_now import RegisterNow
from reports.exchange.stated import StatedSources
from reports.exchange.subjects import Subjects
from reports.exchange.things import Things
from reports.exchange.understood import (
    CalibrationEntry,
    CountsStated,
    Entry,
    MonitorEntry,
    SourceEntry,
    WipeEntry,
)
from surveys.leak.models import LEAK_TEST_KIND
from surveys.leak.wipe import DeclaredBy
from surveys.monitors.models import CALIBRATION_KIND


@dataclass(slots=True, eq=False)
class _Wipe:
    entry: WipeEntry
    row: RowPlan
    sources: list[Thing]
    counter: Thing | None = None


class Evidence:
    """Collects the wipes and calibrations of all rows, then says which are to be added."""

    def __init__(self, register: RegisterNow, things: Things, stated: StatedSources) -> None:
        self.register, self.things, self.stated = register, things, stated
        self._calibrations: list[Calibrate] = []
        self._rows: dict[int, RowPlan] = {}
        self._wipes: list[_Wipe] = []

    def add(self, entry: Entry, row: RowPlan) -> None:
        """What an entry holds of evidence, if anything."""
        if isinstance(entry, CalibrationEntry):
            self._calibration(entry, self.things.monitor_called(entry.monitor, row), row)
        elif isinstance(entry, MonitorEntry) and entry.calibration is not None:
            self._calibration(entry.calibration, self.things.monitor(entry, row), row)
        elif isinstance(entry, WipeEntry):
            self._wipes.append(_Wipe(entry, row, []))
        elif isinstance(entry, SourceEntry) and entry.wipe is not None:
            self._of_source(entry.wipe, self.stated.of_entry[id(entry)].thing, row)

    def settle(self) -> None:
        """Find the sources and the counter of every wipe; what happened to a thing proves that it
        was here."""
        self._find_subjects()
        for wipe in self._wipes:
            result = wipe.entry.result
            if isinstance(result, CountsStated):
                wipe.counter = self.things.monitor_called(result.counter, wipe.row)
                if wipe.counter is not None:
                    wipe.counter.proofs.append(result.counted_on)
            for source in wipe.sources:
                source.proofs.append(wipe.entry.on)

    def to_add(self) -> tuple[list[Calibrate], list[WipeOf]]:
        """What the register does not have, each with its words for the preview."""
        return self._new_calibrations(), self._new_wipes()

    # ------------------------------------------------------------ collecting

    def _calibration(self, entry: CalibrationEntry, monitor: Thing | None, row: RowPlan) -> None:
        if monitor is not None:
            monitor.proofs.append(entry.on)
            one = Calibrate(monitor, entry, row.row.key)
            self._calibrations.append(one)
            self._rows[id(one)] = row

    def _of_source(self, entry: WipeEntry, source: Thing, row: RowPlan) -> None:
        """Two sources of one row with the same wipe were wiped together."""
        for wipe in reversed(self._wipes):
            if wipe.row is not row:
                break
            if wipe.entry == entry:
                wipe.sources.append(source)
                return
        self._wipes.append(_Wipe(entry, row, [source]))

    def _find_subjects(self) -> None:
        alone = [wipe for wipe in self._wipes if not wipe.sources]
        if not alone:
            return
        gauges = {wipe.entry.gauge for wipe in alone if wipe.entry.gauge}
        subjects = Subjects(self.register, self.things, self.stated, gauges)
        for wipe in alone:
            wipe.sources = subjects.of(wipe.entry, wipe.row)

    # ------------------------------------------------------------ what is new

    def _new_calibrations(self) -> list[Calibrate]:
        pairs = {
            (one.monitor.item.pk, one.entry.on)
            for one in self._calibrations
            if one.monitor.item is not None
        }
        recorded = self.register.evidence(CALIBRATION_KIND, pairs, calibration_recorded)
        earlier: dict[tuple[int, date], list[tuple[bool, str]]] = defaultdict(list)
        out = []
        for one in self._calibrations:
            entry, item = one.entry, one.monitor.item
            known = [
                *(recorded[item.pk, entry.on] if item is not None else ()),
                *earlier[id(one.monitor), entry.on],
            ]
            if known_calibration(entry, known):
                continue
            earlier[id(one.monitor), entry.on].append(calibration_said(entry))
            out.append(one)
            self._rows[id(one)].writes.append(_calibration_words(one))
        return out

    def _new_wipes(self) -> list[WipeOf]:
        pairs = {
            (source.item.pk, wipe.entry.on)
            for wipe in self._wipes
            for source in wipe.sources
            if source.item is not None
        }
        recorded = self.register.evidence(LEAK_TEST_KIND, pairs, said_by_record)
        earlier: dict[tuple[int, date], list[Said]] = defaultdict(list)
        out = []
        for wipe in self._wipes:
            said = said_by_entry(wipe.entry, _code(wipe.counter))
            left, other = [], False
            for source in wipe.sources:
                on = wipe.entry.on
                known = [
                    *(recorded[source.item.pk, on] if source.item is not None else ()),
                    *earlier[id(source), on],
                ]
                if any(said.same_as(one) for one in known):
                    continue
                earlier[id(source), on].append(said)
                left.append(source)
                other = other or bool(known)
            if left and not wipe.row.faults:
                key = wipe.row.row.key
                out.append(WipeOf(left, wipe.entry, wipe.counter, key, beside=other))
                _tell(wipe, left, other)
        return out


def _calibration_words(one: Calibrate) -> Step:
    entry = one.entry
    return Step(
        "plan_calibration" if entry.passed else "plan_calibration_failed",
        {"item": one.monitor.name, "on": entry.on, "text": entry.certificate},
    )


def _code(counter: Thing | None) -> str:
    if counter is None:
        return ""
    return counter.item.code if counter.item is not None else f"new {id(counter)}"


def _tell(wipe: _Wipe, sources: Sequence[Thing], another: bool) -> None:
    """The words for the preview, and what its reader should know of the result."""
    row, entry = wipe.row, wipe.entry
    row.writes.append(wipe_words(entry))
    if another:
        row.notes.append(Step("plan_wipe_another_result", {"on": entry.on}))
    if isinstance(entry.result, DeclaredBy):
        if entry.result.passed:
            row.notes.append(Step("plan_wipe_waits"))
    elif entry.claimed:
        row.notes.append(Step("plan_wipe_claimed", {"result": entry.claimed}))
