"""The sheets of the messy sample before anything is wrong with them: an invented third site.

Quillon Ferry Cement keeps its sources in one workbook with a sheet per building, gets results from
a contractor as CSV, and has an old list of portable gauges made on another computer.
"""

from __future__ import annotations

from datetime import date
from typing import Any

SOURCES, CONTRACTOR, PORTABLES, EXPORT = (
    "sources-as-kept.xlsx",
    "contractor-results.csv",
    "portables-1904.xlsx",
    "wipes-export.txt",
)
REFERENCE, WIPED, RECEIVED = date(2010, 6, 1), date(2025, 3, 4), date(2011, 2, 14)

#: Two lines of heads below a title; no column for the place.
KILN_HEADS = (
    (
        "Gauge",
        "Isotope",
        "Activity",
        "Ref. date",
        "S/N",
        "Mfr",
        "Last leak test",
        None,
        None,
        "Remarks",
    ),
    (None, None, "(mCi)", None, None, None, "Date", "Result (Bq)", "By", None),
)
KILN_FIRST, KILN_ROWS = 6, 70
MILL_HEADS = (
    *("No.", "Building", "Room", "Radionuclide", "Original activity", "Unit", "Assay date"),
    *("Serial No.", "Model/type", "Device tag", "Qty", "Date received", "Leak test date"),
    *("Pass/Fail", "Next due", "Current activity (MBq)", "Status", "Cert. No."),
)
MILL_FIRST, MILL_ROWS = 2, 16
STORE_HEADS = ("Source", "Capsule no.", "Act.", "Ref date", "Location")
STORE_FIRST, STORE_ROWS = 2, 9
MONITOR_HEADS = (
    *("Instrument", "Serial no.", "Type", "Probe", "Where kept", "Cal. date", "Result", "Cal due"),
    *("Certificate no.", "Calibrated by", "Efficiency Cs-137 (%)", "Eff. Sr-90 4π"),
)
HISTORY_HEADS = ("Instrument", "Calibration date", "Certificate", "Lab", "Pass/Fail", "Expiry")
LEAK_HEADS = (
    *(
        "Date",
        "Source S/N",
        "Isotope",
        "Gross counts",
        "Count time",
        "Bkg counts",
        "Bkg time (min)",
    ),
    *("Counter", "Result", "MDA (Bq)", "Pass?", "Wiped by"),
)
LEAK_FIRST, LEAK_ROWS = 2, 12


def kiln() -> list[list[Any]]:
    """Rows of the sheet *Kiln*, from row 6."""
    return [
        [
            f"LG-{n}",
            "Cs-137",
            100,
            REFERENCE,
            f"QF-{n}",
            "Invented Sources",
            WIPED,
            "< 5",
            "Quillon counting lab",
            None,
        ]
        for n in range(KILN_FIRST, KILN_FIRST + KILN_ROWS)
    ]


def mill() -> list[list[Any]]:
    """Rows of the sheet *Raw mill*, from row 2."""
    return [
        [
            *(n - 1, "Raw mill", f"Level {n}", "Co-60", "50", "mCi", "2009-05-12", f"RM-{n}"),
            *("rod R", f"DG-{n}", 1, RECEIVED, WIPED, "pass", date(2026, 3, 4), 900.5),
            *("in use", f"C-{n}"),
        ]
        for n in range(MILL_FIRST, MILL_FIRST + MILL_ROWS)
    ]


def store() -> list[list[Any]]:
    """Rows of the hidden sheet *Old store*, from row 2."""
    return [
        ["Am-241", f"OS-{n}", "37", "1998-07-01", "Source store"]
        for n in range(STORE_FIRST, STORE_FIRST + STORE_ROWS)
    ]


def monitors() -> list[list[Any]]:
    """Rows of the sheet *Instruments*, from row 2."""
    made = date(2025, 1, 20)
    row = ["Calibration house", 22, 0.31]
    return [
        ["WC-1", "N-1", "wipe counter", "P-1", "Laboratory", made, "pass", made, "K-1", *row],
        ["CM-2", "N-2", "contamination monitor", "", "Workshop", made, "pass", made, "K-2", *row],
        ["DR-3", "N-3", "dose rate meter", "", "Gate", made, "pass", made, "K-3", *row],
        ["XX-4", "N-4", "model 12", "", "Gate", made, "pass", made, "K-4", *row],
    ]


def history() -> list[list[Any]]:
    """Rows of the sheet *Cal history*, from row 2."""
    return [
        ["WC-1", date(2023, 1, 18), "H-1", "Calibration house", "pass", None],
        ["WC-1", date(2024, 1, 22), "H-2", "Calibration house", "pass", None],
    ]


def leak() -> list[list[Any]]:
    """Rows of the sheet *Leak tests 2024*, from row 2."""
    return [
        [
            *(date(2024, 3, 5), f"QF-{n + 4}", "Cs-137", 431, 10, 400, 10, "WC-1"),
            *(None, None, None, "the technician"),
        ]
        for n in range(LEAK_FIRST, LEAK_FIRST + LEAK_ROWS)
    ]


CONTRACTOR_LINES = (
    ("Prüfbericht der Prüfstelle für Quillon Ferry", "", "", "", "", ""),
    ("Sampling date", "Source No.", "Nuclide", "Activity (Bq)", "Uncertainty", "Remarks"),
    *(("17.03.2024", f"QF-{n}", "Cs-137", "1,5", "0,4", "") for n in range(20, 28)),
)
PORTABLE_HEADS = ("Device", "Isotope", "Activity (MBq)", "Reference date", "S/N", "Kept in")
PORTABLE_ROWS = (
    ("PG-1", "Cs-137", 300, 40000, "PC-1", "Portable store"),
    ("PG-1", "Am-241/Be", 1500, 40000, "PA-1", "Portable store"),
)
EXPORT_LINES = (
    ("Source", "Wiped on", "Result", "Lab"),
    *((f"RM-{n}", "2024-06-11", "< 4 Bq", "Testing body") for n in range(2, 6)),
)
