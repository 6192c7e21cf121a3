"""Thornmere Board Mill, invented: basis-weight gauges, density and level gauges, an ash sensor, a
source store and a counting room of its own."""

from __future__ import annotations

from reports.demo.told_things import Gauge, Monitor, Moved, Permit, Person, Place, Source

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
_WEIGHT, _DENSITY, _LEVEL = "basis-weight gauge", "density gauge", "level gauge"
GAUGES = (
    Gauge("BW-201", DRY, _MACHINE, "scanner K", _WEIGHT),
    Gauge("BW-202", DRY, _MACHINE, "scanner S", _WEIGHT),
    Gauge("BW-203", DRY, _MACHINE, "scanner K", _WEIGHT),
    Gauge("BW-110", WET, _MACHINE, "scanner P", _WEIGHT),
    Gauge("BW-111", WET, _MACHINE, "scanner P", _WEIGHT),
    Gauge("BW-188", DRY, _MACHINE, "scanner S, scrapped", _WEIGHT),
    Gauge("AS-501", DRY, _MACHINE, "ash sensor A", "ash sensor"),
    *(
        Gauge(f"DG-30{n}", STOCK, "stock preparation panel", "density D", _DENSITY)
        for n in range(1, 7)
    ),
    *(Gauge(f"DG-32{n}", RECOVERY, "recovery panel", "density D", _DENSITY) for n in range(1, 5)),
    *(Gauge(f"LG-40{n}", BOILERS, "boiler house panel", "level L", _LEVEL) for n in range(1, 9)),
    Gauge("LG-421", RECOVERY, "recovery panel", "level L", _LEVEL),
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
    Source("Cs-137", "370 kBq", "check C", "TBM-0901", COUNTING, 1800, use="check_source"),
    Source("Sr-90", "37 kBq", "check S", "TBM-0902", COUNTING, 1800, use="check_source"),
    Source("Am-241", "3.7 kBq", "check A", "TBM-0903", COUNTING, 1800, use="check_source"),
    Source("Co-60", "37 kBq", "check R", "TBM-0904", COUNTING, 1800, use="check_source"),
    # In the store as spares; one went to another mill years ago.
    Source("Sr-90", "3.7 GBq", "disc S", "TBM-0189", STORE, 3900, keeping="stored"),
    Source("Pm-147", "9.25 GBq", "disc P", "TBM-0150", STORE, 2000, keeping="stored"),
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
        keeping="standby",
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

PERMITS = (
    # Ends within half a year: due soon.
    Permit(
        "Permit TBM-2 (invented)",
        "Invented environmental regulator",
        1660,
        140,
        "Up to 40 sealed sources; sources not in use are returned within two years.",
    ),
)

PERSONS = (
    Person("Rowan Ashdown", "radiation protection supervisor", 1490, 205, (1490, 420)),
    # Trained longer ago than the site's own interval: late.
    Person("Tally Brook", "technician, wipes and shutters", 1120, 330, (1115,)),
    Person("Dale Upton", "deputy radiation protection supervisor", 640, 60, (640,)),
)

MOVED = (
    Moved("TBM-0188", "removed", 1300, to=STORE, keeping="stored"),
    Moved("BW-188", "disposed", 1290, away_to="scrap dealer, housing empty", document="WO 1188"),
    Moved(
        "TBM-0150",
        "transferred",
        905,
        away_to="Invented Paper Mill, Lower Works",
        authorisation="Permit of the receiving mill, copy kept",
        document="transfer note 12",
    ),
    Moved("TBM-0203", "removed", 46, to=STORE, keeping="stored"),
    # Nobody has said yet that it arrived.
    Moved(
        "TBM-0203",
        "sent_away",
        40,
        away_to="Invented Sources, returns desk",
        back_in=-26,
        purpose="exchange of a spent source",
        document="consignment 2207",
    ),
)
