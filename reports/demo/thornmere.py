"""The demo scenario, invented: Thornmere Board Mill, twelve sources, as a story that begins four
years before the day on which it is loaded. Days are counted back from that day, so that the demo
always shows the same picture. Nothing and nobody in it is real."""

from __future__ import annotations

from dataclasses import dataclass

SLUG = "thornmere"
NAME = "Thornmere Board Mill"
ADDRESS = "Mill Lane, Thornmere"
TIME_ZONE = "Europe/London"
#: The site's history begins so many days before the demo day.
BEGINS = 1500

#: username, first name, last name, role
PEOPLE = (
    ("supervisor", "Rowan", "Ashdown", "rps"),
    ("technician", "Tally", "Brook", "technician"),
    ("manager", "Marlow", "Reed", "manager"),
    ("inspector", "Isla", "Fenwick", "inspector"),
)

#: name, kind of place
PLACES = (
    ("Board machine 2, dry end", "plant_area"),
    ("Board machine 2, wet end", "plant_area"),
    ("Stock preparation", "plant_area"),
    ("Boiler house", "plant_area"),
    ("Source store", "source_store"),
    ("Counting room", "workshop"),
)

#: tag, place, whom to ask before closing its shutter
GAUGES = (
    ("BW-201", "Board machine 2, dry end", "control room, board machine 2"),
    ("BW-202", "Board machine 2, dry end", "control room, board machine 2"),
    ("BW-110", "Board machine 2, wet end", "control room, board machine 2"),
    ("AS-501", "Board machine 2, dry end", "control room, board machine 2"),
    ("DG-301", "Stock preparation", "stock preparation panel"),
    ("DG-302", "Stock preparation", "stock preparation panel"),
    ("LG-401", "Boiler house", "boiler house panel"),
    ("LG-402", "Boiler house", "boiler house panel"),
)


@dataclass(frozen=True, slots=True)
class DemoSource:
    """A source of the demo; ``days_ago`` of its reference date and its arrival."""

    name: str
    nuclide: str
    activity: str
    reference_days_ago: int
    model: str
    serial: str
    to: str
    received_days_ago: int = BEGINS - 20
    reference_precision: str = "day"
    serial_unknown_because: str = ""


SOURCES = (
    DemoSource("kr", "Kr-85", "14.8 GBq", 2300, "disc K", "TBM-0201", "BW-201"),
    DemoSource("sr", "Sr-90", "3.7 GBq", 2600, "disc S", "TBM-0202", "BW-202"),
    DemoSource("pm", "Pm-147", "9.25 GBq", 1700, "disc P", "TBM-0110", "BW-110"),
    DemoSource("am", "Am-241", "1.85 GBq", 3000, "disc A", "TBM-0501", "AS-501"),
    DemoSource("dg1", "Cs-137", "100 mCi", 6100, "capsule C", "TBM-0301", "DG-301"),
    DemoSource("dg2", "Cs-137", "3.7 GBq", 2100, "capsule C", "TBM-0302", "DG-302"),
    DemoSource("lg1", "Cs-137", "18.5 GBq", 2100, "capsule C", "TBM-0401", "LG-401"),
    DemoSource("lg2", "Co-60", "740 MBq", 1900, "rod R", "TBM-0402", "LG-402"),
    DemoSource("lg3", "Co-60", "740 MBq", 1900, "rod R", "TBM-0403", "LG-402"),
    DemoSource("chk1", "Cs-137", "370 kBq", 1800, "check C", "TBM-0901", "Counting room"),
    DemoSource("chk2", "Sr-90", "37 kBq", 1800, "check S", "TBM-0902", "Counting room"),
    DemoSource(
        *("spare", "Cs-137", "1.85 GBq", 7400, "capsule C", "", "Source store"),
        received_days_ago=400,
        reference_precision="year",
        serial_unknown_because="second-hand, plate painted over; housing OH-77",
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

#: tag, kind, days ago of each calibration, efficiencies
MONITORS = (
    ("WC-1", "wipe_counter", (1440, 1080, 725, 340), WELL),
    ("CM-1", "contamination", (1430, 1075, 705), PANCAKE),
    ("CM-2", "contamination", (1430, 1075, 710, 150), PANCAKE),
)


@dataclass(frozen=True, slots=True)
class DemoWipe:
    """A wipe of the demo, counted here: counts and seconds, wipe and background."""

    sources: tuple[str, ...]
    days_ago: int
    gross: int
    background: int
    seconds: float = 600.0
    background_seconds: float = 600.0
    by: str = "technician"
    accepted: bool = True
    remark: str = ""
    counter: str = "WC-1"


_ROUNDS = (1410, 690)
WIPES = (
    # Two rounds over everything that a wipe can tell about.
    *(
        DemoWipe((name,), days, 380 + place * 7, 389)
        for days in _ROUNDS
        for place, name in enumerate(("sr", "pm", "am", "dg1", "dg2", "lg1", "chk1", "chk2"))
    ),
    # One wipe over both rods of the same housing; long ago, so it is late today.
    DemoWipe(("lg2", "lg3"), 770, 402, 389, remark="Housing wiped at the shutter slit."),
    # The last round, in part: one leaks, one could not tell, one waits to be accepted.
    DemoWipe(("dg1",), 25, 412, 391),
    DemoWipe(("lg1",), 24, 96_400, 391, remark="Housing isolated at once, area taped off."),
    DemoWipe(
        ("dg2",), 24, 22, 20, 2.0, 2.0, counter="CM-2", remark="Wipe counter in use elsewhere."
    ),
    DemoWipe(("chk1",), 20, 96, 90, 10.0, 10.0, counter="CM-1"),
    DemoWipe(("am",), 12, 398, 391, accepted=False),
)
#: A result that only says "passed", entered and not accepted.
DECLARED = ("spare", 380, "seller's certificate")
