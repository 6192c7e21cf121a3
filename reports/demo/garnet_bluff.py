"""Garnet Bluff Potash, invented: slurry density gauges, belt weighers, bin level gauges, two
portable moisture-density gauges. It has no wipe counter: its wipes go to a laboratory."""

from __future__ import annotations

from reports.demo.story import (
    Booked,
    Declared,
    DemoSite,
    Gauge,
    Laboratory,
    Monitor,
    Moved,
    Place,
    Sent,
    Source,
)

MILL, THICKENER = "Wet mill", "Thickener floor"
CONVEYORS, BINS, REAGENT = "Conveyor gallery", "Product bins", "Reagent house"
LOCKER, STORE, OFFICE = "Portable gauge locker", "Source store", "Instrument workshop"

PLACES = (
    Place(MILL),
    Place(THICKENER, within=MILL),
    Place(CONVEYORS),
    Place(BINS),
    Place(REAGENT),
    Place(LOCKER, "source_store"),
    Place(STORE, "source_store"),
    Place(OFFICE, "workshop"),
)

GAUGES = (
    *(Gauge(f"SD-10{n}", MILL, "mill control", "slurry S") for n in range(1, 5)),
    *(Gauge(f"SD-12{n}", THICKENER, "mill control", "slurry S") for n in range(1, 4)),
    *(Gauge(f"BWG-20{n}", CONVEYORS, "conveyor dispatcher", "weigher W") for n in range(1, 6)),
    *(Gauge(f"BL-30{n}", BINS, "loadout control", "bin level B") for n in range(1, 9)),
    # The flammable-gas area: paper instead of a phone, only instruments certified for it.
    Gauge("BL-311", REAGENT, "reagent operator, gas test first", "bin level B"),
    Gauge("PMD-1", LOCKER, "gauge custodian", "portable M"),
    Gauge("PMD-2", LOCKER, "gauge custodian", "portable M"),
)

SOURCES = (
    *(
        Source("Cs-137", "7.4 GBq", "capsule G", f"GBP-10{n}", f"SD-10{n}", 2800 + n)
        for n in range(1, 5)
    ),
    *(
        Source("Cs-137", "3.7 GBq", "capsule G", f"GBP-12{n}", f"SD-12{n}", 3300 + n)
        for n in range(1, 4)
    ),
    *(
        Source("Cs-137", "1.11 GBq", "strip W", f"GBP-20{n}", f"BWG-20{n}", 2600 + n)
        for n in range(1, 6)
    ),
    *(
        Source("Cs-137", "18.5 GBq", "capsule G", f"GBP-30{n}", f"BL-30{n}", 2200 + n)
        for n in range(1, 6)
    ),
    Source("Co-60", "1.85 GBq", "rod G", "GBP-306", "BL-306", 1950),
    Source("Co-60", "1.85 GBq", "rod G", "GBP-307", "BL-307", 1950),
    Source("Co-60", "1.85 GBq", "rod G", "GBP-308", "BL-308", 1950),
    Source("Cs-137", "3.7 GBq", "capsule G", "GBP-311", "BL-311", 2450),
    *(
        Source(nuclide, activity, model, f"{prefix}-{n}", f"PMD-{n}", 3600 + n)
        for n in (1, 2)
        for nuclide, activity, model, prefix in (
            ("Cs-137", "370 MBq", "capsule M", "GBP-C"),
            ("Am-241/Be", "1.85 GBq", "neutron M", "GBP-N"),
        )
    ),
    Source("Cs-137", "370 kBq", "check C", "GBP-901", OFFICE, 1700),
    Source("Co-60", "37 kBq", "check R", "GBP-902", OFFICE, 1700),
    Source("Cs-137", "3.7 GBq", "capsule G", "GBP-095", STORE, 8800),
)

MONITORS = (
    Monitor("DR-11", "dose_rate", OFFICE, (1430, 1090, 720, 350)),
    Monitor("DR-12", "dose_rate", OFFICE, (1430, 1090, 720, 320)),
    Monitor("CM-11", "contamination", OFFICE, (1430, 1090, 720, 310)),
)

LABORATORY = "Invented Wipe Laboratory"
_FIXED = (
    *(f"GBP-10{n}" for n in range(1, 5)),
    *(f"GBP-12{n}" for n in range(1, 4)),
    *(f"GBP-20{n}" for n in range(1, 6)),
    *(f"GBP-30{n}" for n in range(1, 9)),
    "GBP-311",
)
_PORTABLE = ("GBP-C-1", "GBP-N-1", "GBP-C-2", "GBP-N-2")
_SOON = ("GBP-103", "GBP-201", "GBP-306", "GBP-311")
_BENCH = ("GBP-901", "GBP-902", "GBP-095")


def _clean(days_ago: int, sources: tuple[str, ...], took: int = 21) -> Sent:
    """A batch whose report found nothing."""
    results = tuple((name, "< 5 Bq") for name in sources)
    return Sent(days_ago, LABORATORY, sources, reported=days_ago - took, results=results)


SENT = (
    _clean(1405, (*_FIXED, *_PORTABLE, *_BENCH)),
    _clean(1040, _FIXED),
    _clean(1035, (*_PORTABLE, *_BENCH)),
    # Two years ago; what it left out is late today.
    _clean(755, ("GBP-121", "GBP-204")),
    _clean(680, _SOON),
    _clean(455, tuple(name for name in _FIXED if name not in ("GBP-121", "GBP-204", *_SOON))),
    _clean(395, (*_PORTABLE, *_BENCH)),
    Sent(
        *(60, LABORATORY, ("GBP-101", "GBP-102")),
        reported=38,
        results=(("GBP-101", "< 5 Bq"), ("GBP-102", "14 ± 4 Bq")),
    ),
    # Away: the report should have come.
    Sent(35, LABORATORY, ("GBP-103", "GBP-104", "GBP-122", "GBP-204"), chase_after=28),
    Sent(9, LABORATORY, ("GBP-C-1", "GBP-N-1", "GBP-C-2", "GBP-N-2")),
)

SITE = DemoSite(
    slug="garnet-bluff",
    name="Garnet Bluff Potash",
    address="Section Road 9, Garnet Bluff. Uses the British rules until there are Canadian ones.",
    time_zone="America/Regina",
    rules=("gb", 1),
    places=PLACES,
    gauges=GAUGES,
    sources=SOURCES,
    monitors=MONITORS,
    laboratories=(
        Laboratory(
            LABORATORY,
            "Accreditation 0417, invented",
            (("Cs-137", "5 Bq"), ("Co-60", "5 Bq"), ("Am-241/Be", "2 Bq")),
        ),
    ),
    sent=SENT,
    declared=(Declared(("GBP-201",), 18, "belt contractor", "job sheet 77", entered_after=3),),
    moved=(
        Moved("PMD-1", "out", 203, away_to="Tailings dam lift 7", back_in=-199),
        Moved("PMD-1", "back", 200),
        Moved("PMD-2", "out", 3, away_to="Haul road 4, section C", back_in=2),
    ),
    booked=(Booked("GBP-121", "leak_test", 21, "own staff", "MWO 300412", 4),),
    method="dry filter paper, tongs",
)
