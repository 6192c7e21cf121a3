"""A seeded generator of sites as they are: gauges, sources, four years of wipes from counts, yearly
calibrations, and what is never quite right in a list. The same seed makes the same history.

Everything is invented. Shares and sizes are common practice, no source. Counts are drawn around a
background of about 0.65 a second, as a small well counter has it.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.items.actions import SourceText
from reports.exchange.understood import (
    Book,
    CalibrationEntry,
    CountsStated,
    Decisions,
    Entry,
    GaugeEntry,
    MonitorEntry,
    Row,
    SheetKind,
    SourceEntry,
    Understood,
    WipeEntry,
)
from surveys.calc.leak import Reported
from surveys.leak.wipe import DeclaredBy, FromLaboratory
from surveys.monitors.in_force import Efficiency

YEARS = 4
#: nuclide, weight, activities (GBq), model, counts per decay of the well counter (None: unseen)
NUCLIDES = (
    ("Cs-137", 52, (0.37, 1.85, 3.7, 18.5), "capsule C", 0.31),
    ("Co-60", 12, (0.185, 0.74, 3.7), "rod R", 0.27),
    ("Am-241", 9, (1.11, 1.85, 11.1), "disc A", 0.24),
    ("Sr-90", 8, (0.74, 3.7), "disc S", 0.52),
    ("Kr-85", 9, (9.25, 14.8), "disc K", None),
    ("Pm-147", 5, (9.25, 18.5), "disc P", 0.18),
    ("Am-241/Be", 3, (1.48, 1.85), "capsule N", 0.24),
    ("Ni-63", 2, (0.37, 0.555), "foil F", None),
)
AREAS = ("Stock preparation", "Boiler house", "Mill", "Tank farm", "Belt line", "Drying", "Packing")
BACKGROUND_PER_S = 0.65
SECONDS = 600.0
ROUND_MONTHS = (6, 18, 30, 42)  # months before today in which a round was walked


@dataclass(frozen=True, slots=True)
class Size:
    """How much of everything belongs to so many sources."""

    sources: int

    @property
    def places(self) -> int:
        """An area for about forty sources."""
        return max(2, self.sources // 40)

    @property
    def counters(self) -> int:
        """A wipe counter for about two hundred and fifty."""
        return max(1, self.sources // 250)


def history(seed: int, sources: int, today: date) -> Understood:
    """The list of one site with so many sources, as it would be understood."""
    return _Site(random.Random(seed), Size(sources), today).understood(f"site-{seed}")


def content_of(understood: Understood) -> bytes:
    """Bytes that stand for the file: what is kept with the record of loading it."""
    return f"{understood.book.name} {understood.book.sha256}".encode()


class _Site:
    def __init__(self, rng: random.Random, size: Size, today: date) -> None:
        self.rng, self.size, self.today = rng, size, today
        self.places = [f"{AREAS[n % len(AREAS)]} {n // len(AREAS) + 1}" for n in range(size.places)]
        self.counters = [f"WC-{n + 1}" for n in range(size.counters)]
        self.lines: dict[str, int] = {}

    def understood(self, name: str) -> Understood:
        rows = [*self._monitors(), *self._sources()]
        digest = hashlib.sha256(repr(rows).encode()).hexdigest()
        return Understood(Book(f"{name}.xlsx", digest, ()), Decisions(), rows=rows)

    def _row(self, kind: SheetKind, *entries: Entry) -> Row:
        line = self.lines[kind] = self.lines.get(kind, 1) + 1
        return Row(kind, line, kind, {}, entries)

    def _day(self, days_ago: int) -> date:
        return self.today - timedelta(days=days_ago)

    # ------------------------------------------------------------ monitors

    def _monitors(self) -> Iterator[Row]:
        begins = self._day(365 * YEARS + 60)
        for tag in self.counters:
            yield self._row(
                "monitors",
                MonitorEntry(
                    tag,
                    "wipe_counter",
                    "Counting room",
                    maker="Invented Instruments",
                    serial=f"IN-{self.rng.randrange(10**5):05}",
                    received_on=begins,
                ),
            )
            for year in range(YEARS + 1):
                late = self.rng.choice((0, 0, 0, 25))
                days_ago = 365 * (YEARS - year) + 40 - late
                yield self._row("calibrations", self._calibration(tag, max(days_ago, 5)))

    def _calibration(self, tag: str, days_ago: int) -> CalibrationEntry:
        on = self._day(days_ago)
        seen = [(name, eff) for name, _, _, _, eff in NUCLIDES if eff is not None]
        return CalibrationEntry(
            tag,
            on,
            passed=True,
            certificate=f"{tag}/{on.year}",
            laboratory="Invented Calibration Laboratory",
            efficiencies=[
                Efficiency(name, round(eff * self.rng.uniform(0.97, 1.03), 3), 0.08)
                for name, eff in seen
            ],
        )

    # ------------------------------------------------------------ sources

    def _sources(self) -> Iterator[Row]:
        left, number = self.size.sources, 0
        while left:
            number += 1
            inside = min(left, self.rng.choices((1, 2), (9, 1))[0])
            left -= inside
            place = self.rng.choice(self.places)
            tag = f"G-{number:04}" if self.rng.random() < 0.9 else ""
            entries = [self._source(number, n, tag, place) for n in range(inside)]
            if tag:
                yield self._row("gauges", GaugeEntry(tag, place, maker="Invented Gauges"))
            for entry in entries:
                yield self._row("sources", entry)
            wiped = [one for one in entries if one.source.nuclide != "Kr-85"]
            yield from self._wipes(wiped, tag)

    def _source(self, number: int, place: int, tag: str, area: str) -> SourceEntry:
        rng = self.rng
        name, _, activities, model, _ = rng.choices(NUCLIDES, [one[1] for one in NUCLIDES])[0]
        known = rng.random() > 0.02
        gbq = Decimal(str(rng.choice(activities)))
        received = self._day(rng.randrange(365 * YEARS + 100, 365 * 25))
        reference = received - timedelta(days=rng.randrange(20, 200))
        month_only = rng.random() < 0.1
        if month_only:
            reference = (reference.replace(day=1) + timedelta(days=32)).replace(day=1)
            reference -= timedelta(days=1)
        text = SourceText(
            nuclide=name,
            maker="Invented Sources",
            model=model,
            serial=f"{name[:2].upper()}-{number:05}{'AB'[place]}" if known else "",
            serial_unknown_because="" if known else f"plate of G-{number:04} unreadable",
            activity_text=f"{gbq} GBq",
            activity_bq=gbq * 10**9,
            reference_text=f"{reference:%Y-%m}" if month_only else reference.isoformat(),
            reference_on=reference,
            reference_precision="month" if month_only else "day",
        )
        arrived = received if rng.random() > 0.05 else None
        return SourceEntry(text, area, gauge=tag, received_on=arrived, supplier="Invented Sources")

    # ------------------------------------------------------------ wipes

    def _wipes(self, sources: list[SourceEntry], tag: str) -> Iterator[Row]:
        """A round every year; some wiped late, some not at all."""
        serials = [one.source.serial for one in sources if one.source.serial]
        if not serials:
            return
        nuclide = sources[0].source.nuclide
        for months in ROUND_MONTHS:
            if self.rng.random() < 0.04:
                continue
            on = self._day(months * 30 + self.rng.randrange(25))
            yield self._row("wipes", self._wipe(on, serials, nuclide))

    def _wipe(self, on: date, serials: list[str], nuclide: str) -> WipeEntry:
        chance = self.rng.random()
        if chance < 0.02:
            by = DeclaredBy(True, "the maker's engineer", "service report")
            return WipeEntry(on, by, serials, sampled_by="the maker's engineer")
        if chance < 0.10:
            figures = Reported(less_than_bq=5.0)
            stated = FromLaboratory("Invented Laboratory", figures, {"less_than": "5 Bq"})
            return WipeEntry(on, stated, serials, sampled_by="B. Sampler")
        leaks = self.rng.random() < 0.003
        rate = BACKGROUND_PER_S + (self.rng.uniform(80, 900) if leaks else 0.0)
        counts = CountsStated(
            self.rng.choice(self.counters),
            on + timedelta(days=self.rng.choice((0, 0, 1))),
            [(self._counts(rate), SECONDS)],
            [(self._counts(BACKGROUND_PER_S), SECONDS)],
            "A. Counter",
        )
        return WipeEntry(on, counts, serials, sampled_by="B. Sampler")

    def _counts(self, rate: float) -> float:
        """Poisson, by its normal approximation: hundreds of counts."""
        mean = rate * SECONDS
        return float(max(0, round(self.rng.gauss(mean, mean**0.5))))
