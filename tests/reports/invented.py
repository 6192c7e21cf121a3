"""An invented register in memory, of any length."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.formats import date_format

from inventory.calc.asof import AsOf
from inventory.calc.units import format_activity
from reports.registers.base import Cell, Column, ListRows, Note, Register

ON = date(2026, 11, 24)
NUCLIDES = ("Cs-137", "Co-60", "Am-241", "Sr-90/Y-90", "Kr-85", "Am-241/Be", "Ni-63")
PLACES = (
    "Tank house, tank 4, north wall",
    "Rolling mill, stand 2",
    "Source store, shelf B",
    "Pump room, line 11, above the reducer",
    "With the carrier to the sister site",
)
ACTIVITIES = (("370 MBq", 3.7e8), ("1.85 GBq", 1.85e9), ("7.4 kBq", 7.4e3), ("11.1 GBq", 1.11e10))
STATES = (
    ("good", "Good until {due}"),
    ("due_soon", "Due by {due}"),
    ("late", "Late since {late}; booked for 3 Dec 2026"),
    ("failed", "Failed on {last}: out of use, isolated"),
    ("never_done", "Never tested; first test not recorded"),
    ("not_required", "Not required: gas"),
    ("awaited", "Wiped on {last}, result awaited"),
    ("good", "Good until {due}"),
)


def day(of: date) -> Cell:
    return Cell(date_format(of, "j M Y"), raw=of.isoformat())


def row(number: int) -> tuple[Cell, ...]:
    """One invented source as cells."""
    stated, bq = ACTIVITIES[number % len(ACTIVITIES)]
    state, sentence = STATES[number % len(STATES)]
    last, due = ON - timedelta(days=40 + 11 * number % 300), ON + timedelta(days=number * 7 % 150)
    dates = {"last": last, "due": due, "late": ON - timedelta(days=1 + number % 30)}
    dates = {name: date_format(of, "j M Y") for name, of in dates.items()}
    return (
        Cell(str(number + 1)),
        Cell(f"Example Isotopes EX-{number % 9}\nserial EI {4100 + 37 * number}/{number % 7}"),
        Cell(NUCLIDES[number % len(NUCLIDES)]),
        Cell(stated, raw=str(bq)),
        day(date(2009, 1, 1) + timedelta(days=97 * number % 5000)),
        Cell(format_activity(bq * 0.68123456789), raw=repr(bq * 0.68123456789)),
        Cell(PLACES[number % len(PLACES)]),
        Cell(str(3 + number % 3)),
        Cell(f"{dates['last']}, below 5\u00a0Bq", mark="1" if number % 5 == 2 else ""),
        Cell(sentence.format(**dates), state=state, mark="2" if state == "failed" else ""),
        Cell("" if number % 4 else f"Label worn, follow-up {number + 3}"),
    )


HEADS = (
    ("no", "No.", "", "number", 3.4),
    ("source", "Source", "", "text", 13),
    ("nuclide", "Nuclide", "", "text", 7),
    ("stated", "Activity as stated", "", "number", 6.6),
    ("reference", "Reference date", "", "date", 8.4),
    ("activity", "Activity on 24\u00a0Nov\u00a02026", "", "number", 8),
    ("place", "Where", "", "text", 14),
    ("category", "Category", "1 to 5", "number", 6),
    ("tested", "Last leak test", "", "text", 11),
    ("due", "Leak test due", "", "state", 14),
    ("open", "Open points", "", "text", 11),
)
COLUMNS = tuple(
    Column(key, head, (lambda cells, at=at: cells[at]), unit=unit, kind=kind, width=width)
    for at, (key, head, unit, kind, width) in enumerate(HEADS)
)


def register(rows: int | list[tuple[Cell, ...]] = 12, **changes: object) -> Register:
    """A register of so many invented rows, or of these; anything else can be changed."""
    held = [row(number) for number in range(rows)] if isinstance(rows, int) else rows
    whole = Register(
        kind="source",
        title="Register of sealed sources",
        site_name="Alder Quay Works",
        site_address="Example Works Ltd, 1 Quay Road, Alder Quay",
        at=AsOf(ON),
        schedule_line="Draft schedule “Great Britain”, version 2, not yet adopted by this site: "
        "intervals here are proposals.",
        made_at=datetime(2026, 11, 24, 13, 5, tzinfo=UTC),
        made_by="R. Example",
        number="AQ-2026-0017",
        chain_head=hashlib.sha256(b"invented").hexdigest(),
        chain_seq=4213,
        columns=COLUMNS,
        rows=ListRows(held),
        zone=ZoneInfo("Europe/Lisbon"),
        notes=(
            Note("1", "Entered 12 days after the test was done."),
            Note("2", "The wipe carried 212 Bq ± 30 Bq (k = 2); the limit is 185 Bq."),
        ),
        totals=(
            f"{len(held)} sources; 41.2 GBq together on 24 Nov 2026.",
            "1 failed and out of use; 1 leak test late, booked for 3 Dec 2026.",
        ),
        cautions=(
            "2 results rest on counter C-3, whose calibration is in question since 14 Nov 2026.",
        ),
    )
    return replace(whole, **changes)
