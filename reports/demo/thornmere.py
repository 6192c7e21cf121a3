"""Thornmere Board Mill, invented: basis-weight gauges, density and level gauges, an ash sensor, a
source store and a counting room of its own."""

from __future__ import annotations

from reports.demo.story import (
    Booked,
    Corrected,
    Count,
    Declared,
    DemoSite,
    Document,
    Gauge,
    Monitor,
    Moved,
    NotDone,
    Place,
    Session,
    Source,
    Steps,
    in_batches,
)

DRY, WET = "Board machine 2, dry end", "Board machine 2, wet end"
STOCK, BOILERS = "Stock preparation", "Boiler house"
RECOVERY, STORE, COUNTING = "Chemical recovery", "Source store", "Counting room"

PLACES = (
    Place("Board machine 2"),
    Place(DRY, within="Board machine 2"),
    Place(WET, within="Board machine 2"),
    Place(STOCK),
    Place(BOILERS),
    Place(RECOVERY),
    Place(STORE, "source_store"),
    Place(COUNTING, "workshop"),
)

_MACHINE = "control room, board machine 2"
GAUGES = (
    Gauge("BW-201", DRY, _MACHINE, "scanner K"),
    Gauge("BW-202", DRY, _MACHINE, "scanner S"),
    Gauge("BW-203", DRY, _MACHINE, "scanner K"),
    Gauge("BW-110", WET, _MACHINE, "scanner P"),
    Gauge("BW-111", WET, _MACHINE, "scanner P"),
    Gauge("BW-188", DRY, _MACHINE, "scanner S, scrapped"),
    Gauge("AS-501", DRY, _MACHINE, "ash sensor A"),
    *(Gauge(f"DG-30{n}", STOCK, "stock preparation panel", "density D") for n in range(1, 7)),
    *(Gauge(f"DG-32{n}", RECOVERY, "recovery panel", "density D") for n in range(1, 5)),
    *(Gauge(f"LG-40{n}", BOILERS, "boiler house panel", "level L") for n in range(1, 9)),
    Gauge("LG-421", RECOVERY, "recovery panel", "level L"),
)

SOURCES = (
    Source("Kr-85", "14.8 GBq", "disc K", "TBM-0201", "BW-201", 2300),
    Source("Sr-90", "3.7 GBq", "disc S", "TBM-0202", "BW-202", 2600),
    Source("Kr-85", "11.1 GBq", "disc K", "TBM-0203", "BW-203", 3100),
    Source("Pm-147", "9.25 GBq", "disc P", "TBM-0110", "BW-110", 1700),
    Source("Pm-147", "9.25 GBq", "disc P", "TBM-0111", "BW-111", 1700),
    Source("Am-241", "1.85 GBq", "disc A", "TBM-0501", "AS-501", 3000),
    Source("Cs-137", "100 mCi", "capsule C", "TBM-0301", "DG-301", 6100),
    *(
        Source("Cs-137", "3.7 GBq", "capsule C", f"TBM-030{n}", f"DG-30{n}", 2100 + n)
        for n in range(2, 7)
    ),
    *(
        Source("Cs-137", "1.85 GBq", "capsule C", f"TBM-032{n}", f"DG-32{n}", 2900 + n)
        for n in range(1, 5)
    ),
    Source("Cs-137", "18.5 GBq", "capsule C", "TBM-0401", "LG-401", 2100),
    # Two rods in one housing: one wipe covers both.
    Source("Co-60", "740 MBq", "rod R", "TBM-0402", "LG-402", 1900),
    Source("Co-60", "740 MBq", "rod R", "TBM-0403", "LG-402", 1900),
    *(
        Source("Cs-137", "7.4 GBq", "capsule C", f"TBM-041{n}", f"LG-40{n}", 2400 + n)
        for n in range(3, 9)
    ),
    Source("Co-60", "370 MBq", "rod R", "TBM-0421", "LG-421", 2050),
    Source("Cs-137", "370 kBq", "check C", "TBM-0901", COUNTING, 1800),
    Source("Sr-90", "37 kBq", "check S", "TBM-0902", COUNTING, 1800),
    Source("Am-241", "3.7 kBq", "check A", "TBM-0903", COUNTING, 1800),
    Source("Co-60", "37 kBq", "check R", "TBM-0904", COUNTING, 1800),
    # Out of its scanner and in the store since the scanner was scrapped.
    Source("Sr-90", "3.7 GBq", "disc S", "TBM-0188", "BW-188", 4900),
    Source(
        "Cs-137",
        "1.85 GBq",
        "capsule C",
        "",
        STORE,
        7400,
        received=400,
        precision="year",
        serial_unknown_because="second-hand, plate painted over; housing OH-77",
        name="second-hand",
    ),
)

#: What a certificate states, invented, of a usual size: nuclide, efficiency, relative uncertainty
#: (k = 1), basis, source efficiency, window in cm2.
WELL = (
    ("Cs-137", 0.31, 0.08),
    ("Co-60", 0.27, 0.08),
    ("Am-241", 0.24, 0.10),
    ("Sr-90", 0.52, 0.08),
    ("Pm-147", 0.18, 0.15),
)
PANCAKE = (("Cs-137", 6.0, 0.3, "surface_response", None, 100.0),)

MONITORS = (
    Monitor("WC-1", "wipe_counter", COUNTING, (1440, 1080, 725, 340), WELL),
    Monitor("CM-1", "contamination", COUNTING, (1430, 1075, 705), PANCAKE),
    Monitor("CM-2", "contamination", COUNTING, (1430, 1075, 710, 150), PANCAKE),
    Monitor("DR-1", "dose_rate", COUNTING, (1420, 1060, 700, 335)),
    # Came back from calibration out of tolerance as found.
    Monitor("DR-2", "dose_rate", COUNTING, (1420, 1060, 700), failed=(28,)),
)

_IN_GAUGES = (
    *("TBM-0202", "TBM-0110", "TBM-0111", "TBM-0501"),
    *(f"TBM-030{n}" for n in range(1, 7)),
    *(f"TBM-032{n}" for n in range(1, 5)),
    "TBM-0401",
    *(f"TBM-041{n}" for n in range(3, 9)),
    "TBM-0421",
)
_CHECKS = ("TBM-0901", "TBM-0902", "TBM-0903", "TBM-0904")
_EVERYTHING = (*_IN_GAUGES, *_CHECKS, "TBM-0188")
#: What the last rounds left out: it is late today.
_LEFT_OUT = ("TBM-0323", "TBM-0188")
#: The dry end's turn came first, nearly two years ago: due soon.
_SOON = ("TBM-0202", "TBM-0110", "TBM-0111", "TBM-0501", "TBM-0302", "TBM-0421")
_LAST_ROUND = tuple(name for name in _EVERYTHING if name not in (*_LEFT_OUT, *_SOON))

SESSIONS = (
    *in_batches(1412, "WC-1", _EVERYTHING, background=392),
    *in_batches(1052, "WC-1", _EVERYTHING, background=381),
    # One wipe over both rods of the same housing; long ago, so it is late today.
    Session(
        770,
        "WC-1",
        (Count(("TBM-0402", "TBM-0403"), 402, remark="Housing wiped at the shutter slit."),),
    ),
    *in_batches(692, "WC-1", _SOON, background=390),
    *in_batches(508, "WC-1", _LAST_ROUND, background=384),
    # The last round, in part: one leaks, one could not tell, one waits to be accepted.
    Session(
        25,
        "WC-1",
        (
            Count(("TBM-0301",), 412),
            Count(("TBM-0303",), 398),
            Count(("TBM-0304",), 377),
            Count(("TBM-0305",), 401),
            Count(("TBM-0306",), 385),
            Count(("TBM-0401",), 96_400, remark="Housing isolated at once, area taped off."),
            Count(("TBM-0413",), 408),
            Count(("TBM-0414",), 394),
        ),
        background=391,
        check_source=("TBM-0901", 61_200, 600.0),
    ),
    Session(
        24,
        "CM-2",
        (Count(("TBM-0302",), 22, 2.0, remark="Wipe counter in use elsewhere."),),
        20,
        2.0,
    ),
    # Counted on a monitor whose calibration had run out: not relied on.
    Session(20, "CM-1", (Count(("TBM-0901",), 96, 10.0),), 90, 10.0),
    Session(12, "WC-1", (Count(("TBM-0501",), 398),), 391, accepted=False),
)

SITE = DemoSite(
    slug="thornmere",
    name="Thornmere Board Mill",
    address="Mill Lane, Thornmere",
    time_zone="Europe/London",
    rules=("gb", 1),
    places=PLACES,
    gauges=GAUGES,
    sources=SOURCES,
    monitors=MONITORS,
    sessions=SESSIONS,
    declared=(
        Declared(("second-hand",), 390, "the seller", "seller's certificate"),
        # Accepted with a reason: a shutdown when the counter was away.
        Declared(
            ("TBM-0323",),
            1050,
            "visiting service engineer",
            "service report 118",
            because="Engineer's wipe kit seen by me on the day; the counter was at calibration.",
        ),
    ),
    corrected=(
        Corrected(
            "TBM-0302",
            692,
            419,
            "Counts of two vials were exchanged on the sheet; read again from the printout.",
            688,
        ),
    ),
    moved=(Moved("TBM-0188", "removed", 1300, to=STORE),),
    booked=(
        *(
            Booked(
                *(rod, "leak_test", 9, "service engineer", "WO 4711", 6),
                note="With the boiler stop; scaffold is ordered.",
            )
            for rod in ("TBM-0402", "TBM-0403")
        ),
        Booked("CM-1", "calibration", 14, "calibration laboratory", "PO 2088", 15),
    ),
    not_done=(
        NotDone(
            *("TBM-0323", "leak_test", 33),
            "Recovery line running hot, housing not reachable.",
            "Area checked with CM-2 from the platform: nothing above background.",
        ),
    ),
    steps=(
        Steps(
            "TBM-0401",
            25,
            (
                ("Isolate the gauge, close and lock its shutter, tape the area off", "T Brook", 25),
                ("Tell the persons named in the local rules", "R Ashdown", 25),
                ("Ask the adviser now: is this reportable?", "R Ashdown", 24),
                ("Contamination survey of platform and tools", "T Brook", 22),
                ("Second wipe of housing and flange, counted on WC-1", "T Brook", None),
                ("Decide on return to the maker or repair", "R Ashdown", None),
            ),
        ),
    ),
    documents=(
        Document(
            "TBM-0401",
            "Source certificate",
            "certificate-TBM-0401.txt",
            "Invented certificate of a sealed source.\nSerial TBM-0401, Cs-137, 18.5 GBq.\n",
            1478,
        ),
    ),
)
