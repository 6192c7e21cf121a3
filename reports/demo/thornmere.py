"""Thornmere Board Mill, invented: what was planned there, what is done about what failed, and
everything of the site together."""

from __future__ import annotations

from reports.demo import thornmere_checks as checks
from reports.demo import thornmere_things as things
from reports.demo import thornmere_wipes as wipes
from reports.demo.story import DemoSite
from reports.demo.told_plans import Booked, NotDone, Shutdown, Steps
from reports.demo.told_things import Document

SHUTDOWNS = (
    Shutdown("Boiler stop", things.BOILERS, 8, 11, 60, "Two rods of LG-402 are wiped then."),
    Shutdown("Summer stop", "", 160, 174, 60),
)

BOOKED = (
    *(
        Booked(
            *(rod, "leak_test", 9, "service engineer", "WO 4711", 6),
            note="With the boiler stop; scaffold is ordered.",
        )
        for rod in ("TBM-0402", "TBM-0403")
    ),
    Booked("CM-1", "calibration", 14, "calibration laboratory", "PO 2088", 15),
)

NOT_DONE = (
    NotDone(
        *("TBM-0323", "leak_test", 33),
        "Recovery line running hot, housing not reachable.",
        "Area checked with CM-2 from the platform: nothing above background.",
    ),
)

_NOT_IN_DRAWER = checks.ROUNDS[6].days_ago
STEPS = (
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
    Steps(
        "TBM-0904",
        _NOT_IN_DRAWER,
        (
            (
                "Look through the counting room and ask the night shift",
                "T Brook",
                _NOT_IN_DRAWER - 1,
            ),
        ),
        closed=_NOT_IN_DRAWER - 2,
        reason="Lay in the castle of the wipe counter since the function check; put back.",
    ),
)

DOCUMENTS = (
    Document(
        "TBM-0401",
        "Source certificate",
        "certificate-TBM-0401.txt",
        "Invented certificate of a sealed source.\nSerial TBM-0401, Cs-137, 18.5 GBq.\n",
        1478,
    ),
)

SITE = DemoSite(
    slug="thornmere",
    name="Thornmere Board Mill",
    address="Mill Lane, Thornmere",
    time_zone="Europe/London",
    rules=checks.BEGUN,
    places=things.PLACES,
    gauges=things.GAUGES,
    sources=things.SOURCES,
    monitors=things.MONITORS,
    permits=things.PERMITS,
    persons=things.PERSONS,
    moved=things.MOVED,
    documents=DOCUMENTS,
    sessions=wipes.SESSIONS,
    declared=wipes.DECLARED,
    corrected=wipes.CORRECTED,
    adopted=checks.ADOPTED,
    settings=checks.SETTINGS,
    rounds=checks.ROUNDS,
    done=checks.DONE,
    happened=checks.HAPPENED,
    shutdowns=SHUTDOWNS,
    booked=BOOKED,
    not_done=NOT_DONE,
    steps=STEPS,
)
