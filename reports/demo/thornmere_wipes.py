"""The wipes of Thornmere: rounds counted on its own wipe counter, and two bare statements."""

from __future__ import annotations

from reports.demo.told_wipes import Corrected, Count, Declared, Session, in_batches

_IN_GAUGES = (
    *("TBM-0202", "TBM-0110", "TBM-0111", "TBM-0501"),
    *(f"TBM-030{n}" for n in range(1, 7)),
    *(f"TBM-032{n}" for n in range(1, 5)),
    "TBM-0401",
    *(f"TBM-041{n}" for n in range(3, 9)),
    "TBM-0421",
)
_CHECKS = ("TBM-0901", "TBM-0902", "TBM-0903", "TBM-0904")
_STORED = ("TBM-0188", "TBM-0189")
_EVERYTHING = (*_IN_GAUGES, *_CHECKS, *_STORED)
_AT_FIRST = (*_EVERYTHING, "TBM-0150")
#: What the last rounds left out: it is late today.
_LEFT_OUT = ("TBM-0323", "TBM-0188")
#: The dry end's turn came first, nearly two years ago: due soon.
_SOON = ("TBM-0202", "TBM-0110", "TBM-0111", "TBM-0501", "TBM-0302", "TBM-0421")
_LAST_ROUND = tuple(name for name in _EVERYTHING if name not in (*_LEFT_OUT, *_SOON))

SESSIONS = (
    *in_batches(1412, "WC-1", _AT_FIRST, background=392),
    *in_batches(1052, "WC-1", _AT_FIRST, background=381),
    # One wipe over both rods of the same housing; long ago, so it is late today.
    Session(
        770,
        "WC-1",
        (Count(("TBM-0402", "TBM-0403"), 402, remark="Housing wiped at the shutter slit."),),
    ),
    *in_batches(692, "WC-1", _SOON, background=390),
    *in_batches(508, "WC-1", _LAST_ROUND, background=384),
    # A lift truck had struck the housing two days before.
    Session(
        198,
        "WC-1",
        (Count(("TBM-0305",), 391, remark="After the blow: seam and shutter slit wiped."),),
    ),
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

DECLARED = (
    Declared(("second-hand",), 390, "the seller", "seller's certificate"),
    # Accepted with a reason: a shutdown when the counter was away.
    Declared(
        ("TBM-0323",),
        1050,
        "visiting service engineer",
        "service report 118",
        because="Engineer's wipe kit seen by me on the day; the counter was at calibration.",
    ),
)

CORRECTED = (
    Corrected(
        "TBM-0302",
        692,
        419,
        "Counts of two vials were exchanged on the sheet; read again from the printout.",
        688,
    ),
)
