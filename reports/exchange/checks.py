"""What no record can hold: said of the row before anything is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any

from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.nuclides import NuclideData, resolve
from inventory.ledger import canonical
from reports.exchange.understood import (
    CalibrationEntry,
    CountsStated,
    Entry,
    GaugeEntry,
    MonitorEntry,
    SourceEntry,
    WipeEntry,
)
from surveys.calc.leak import check_factor

#: The longest that a column of the register takes; labels are made of a name and a serial.
LONGEST = {
    **dict.fromkeys(("maker", "model", "serial", "tag", "gauge", "gauge_model"), 100),
    **dict.fromkeys(("housing_serial", "certificate"), 100),
    **dict.fromkeys(("place", "supplier", "laboratory", "sampled_by"), 200),
}


def faults_of(entry: Entry, today: date, nuclides: dict[str, NuclideData]) -> Iterator[Step]:
    """Everything about an entry that would be refused when it is written."""
    yield from _texts(entry)
    if isinstance(entry, SourceEntry):
        yield from _past(entry.received_on, today)
        yield from _past(entry.certificate_on, today)
        if entry.source.nuclide not in nuclides:
            yield from _refused(lambda: resolve(entry.source.nuclide, nuclides))
        if entry.wipe is not None:
            yield from _wipe(entry.wipe, today)
    elif isinstance(entry, WipeEntry):
        yield from _wipe(entry, today)
    elif isinstance(entry, CalibrationEntry):
        yield from _calibration(entry, today, nuclides)
    elif isinstance(entry, GaugeEntry | MonitorEntry):
        yield from _past(entry.received_on, today)
        if isinstance(entry, MonitorEntry) and entry.calibration is not None:
            yield from _calibration(entry.calibration, today, nuclides)


def _texts(entry: Any) -> Iterator[Step]:
    for one in fields(entry):
        value = getattr(entry, one.name)
        if isinstance(value, str):
            if len(value) > LONGEST.get(one.name, 10_000):
                longest = LONGEST.get(one.name, 10_000)
                yield Step("text_too_long", {"name": one.name, "length": longest})
            yield from _refused(lambda text=value: canonical.plain(text))
        elif is_dataclass(value) and not isinstance(value, type):
            yield from _texts(value)


def _past(on: date | None, today: date) -> Iterator[Step]:
    if on is not None and on > today:
        yield Step("effective_in_future", {"on": on})


def _wipe(entry: WipeEntry, today: date) -> Iterator[Step]:
    if entry.on > today:
        yield Step("wiped_in_future", {"wiped_on": entry.on})
    if isinstance(entry.result, CountsStated):
        if entry.result.counted_on > today:
            yield Step("counted_in_future", {"counted_on": entry.result.counted_on})
        if entry.result.counted_on < entry.on:
            yield Step("counted_before_wiped", {"wiped_on": entry.on})


def _calibration(
    entry: CalibrationEntry, today: date, nuclides: dict[str, NuclideData]
) -> Iterator[Step]:
    yield from _past(entry.on, today)
    if entry.valid_until is not None and entry.valid_until < entry.on:
        yield Step("valid_until_before_calibration")
    seen = set()
    for one in entry.efficiencies:
        try:
            nuclide = resolve(one.nuclide, nuclides)
            check_factor(one.factor(), nuclide.most_counts_per_decay)
        except DomainError as error:
            yield Step(error.code, error.values)
            continue
        if nuclide.name in seen:
            yield Step("efficiency_twice", {"nuclide": nuclide.name})
        seen.add(nuclide.name)


def _refused(act: Any) -> Iterator[Step]:
    try:
        act()
    except DomainError as error:
        yield Step(error.code, error.values)
