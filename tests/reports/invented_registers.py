"""Every kind of register with invented rows, of any length and with texts of any length: its own
columns, nothing in the database."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import Any

from inventory.calc.due import URGENCY
from reports.registers import due, leak, leak_row, monitor, source
from reports.registers.base import Register
from reports.registers.late import marked

from .invented import NUCLIDES, ON, PLACES
from .invented import register as invented_register

WORDS = "a remark that somebody made about it at some length, with µ, ≥ and ² in it "
OUTCOMES = ("pass", "fail", "inconclusive", "not_evaluable", "not_relied_on", "awaited")
VERDICTS = (
    "Passes: not detected, detection limit 517 mBq; the activity is below 364 mBq, the limit is "
    "200 Bq.",
    "Fails: 316 Bq, and even the lower bound 256 Bq is at or over the limit of 200 Bq. Act as on "
    "a leak.",
    "Inconclusive: the test is not sensitive enough, detection limit 259 Bq where 200 Bq is "
    "required. Count longer or use a better counter.",
)


def _said(number: int, long: bool) -> str:
    """Now and then something longer than its column; one long word without a break, too."""
    if not long or number % 3:
        return ""
    return WORDS * (1 + number % 4) if number % 2 else "X9" * 60


def _source(number: int, long: bool) -> source.Row:
    return source.Row(
        code=f"{number:08d}",
        order="",
        source=f"EI {4100 + number}\nExample Isotopes EX-{number % 9} {_said(number, long)}",
        nuclide=NUCLIDES[number % len(NUCLIDES)],
        stated="3.7\u00a0GBq" if number % 5 else "estimated by the maker from a reading in 1987",
        reference_on=None if number % 11 == 0 else ON - timedelta(100 * number % 9000),
        reference_text="early in 2019, says the plate" if number % 4 == 1 else "",
        activity_bq=None if number % 11 == 0 else 3.7e9 / (number + 1),
        category=str(3 + number % 3),
        where=PLACES[number % len(PLACES)] + _said(number, long),
        last_wipe="5 Nov 2026: not relied on: the counter's calibration was late (record\u00a096)",
        state=URGENCY[number % len(URGENCY)],
        sentence="340 days late",
        remarks=(f"Record {number} was entered late. {_said(number, long)}",) * (number % 7 == 0),
    )


def _leak(number: int, long: bool) -> leak_row.Row:
    return leak_row.Row(
        record=100 + number,
        wiped_on=ON - timedelta(1200 - number),
        code=f"{number:08d}",
        source=f"Cs-137 EI {4100 + number}",
        where=PLACES[number % len(PLACES)] + _said(number, long),
        nuclide="Cs-137",
        way="reported by a laboratory" if number % 4 == 1 else "counted here",
        stated=("Less than, as reported: < 5 Bq",) if number % 4 == 1 else (),
        activity_bq=None if number % 4 == 1 else 0.0125 * number,
        standard_uncertainty_bq=None if number % 4 == 1 else 0.152,
        decision_threshold_bq=0.247,
        detection_limit_bq=0.517,
        upper_bound_bq=0.364,
        limit_bq=None if number % 13 == 5 else 200.0,
        comparator="reaching the limit fails",
        outcome="passes",
        state=OUTCOMES[number % len(OUTCOMES)],
        sentence=VERDICTS[number % len(VERDICTS)],
        relied="no: the counter's calibration was late" if number % 5 == 3 else "yes",
        accepted_by="R. Example" if number % 3 else "",
        accepted_on=ON - timedelta(1190 - number),
        sampled_by=f"T. Example {_said(number, long)}",
        counted_by="T. Example",
        counted_on=ON - timedelta(1200 - number),
        laboratory="Invented Laboratory for Wipes and Waters" if number % 4 == 1 else "",
        report=f"R-{number}" if number % 4 == 1 else "",
        counter="" if number % 4 == 1 else "WC-1",
        calibration=None if number % 8 == 0 else 62,
        calibrated_on=ON - timedelta(1300),
        certificate=f"WC-1/{number} {_said(number, long)}",
        entered_by="R. Example",
        entered_on=ON - timedelta(1190 - number),
        remarks=(f"Record {number} corrects another. {_said(number, long)}",) * (number % 7 == 0),
    )


def _monitor(number: int, long: bool) -> monitor.Row:
    efficiency = "Cs-137: 0.31 counts per decay ±\u00a08\u00a0% (k\u00a0=\u00a01)"
    return monitor.Row(
        code=f"{number:08d}",
        monitor=f"CM-{number}",
        maker="Example Instruments",
        model=f"X-{number % 5} {_said(number, long)}",
        serial=f"EI {number}",
        kind="contamination monitor",
        where=PLACES[number % len(PLACES)],
        last="20 Dec 2024: passes (record\u00a079)",
        calibrated_on=ON,
        outcome="passes",
        record=79,
        certificate=f"CM-{number}/3",
        laboratory=f"Invented Calibration Laboratory {_said(number, long)}",
        valid_until=None if number % 2 else ON + timedelta(300),
        in_force=None if number % 9 == 4 else 79 - number % 2,
        efficiencies="\n".join([efficiency] * (1 + number % 6)),
        state=URGENCY[number % len(URGENCY)],
        sentence="good until 28 Jun 2027",
        due_on=ON,
        remarks=(_said(number, long) or "Known later.",) * (number % 7 == 0),
    )


def _due(number: int, long: bool) -> due.Row:
    part = due.PARTS[number % len(due.PARTS)]
    return due.Row(
        part=part,
        code=f"{number:08d}",
        subject=f"Cs-137 EI {4100 + number} {_said(number, long)}",
        subject_kind="source",
        where=PLACES[number % len(PLACES)],
        what=("leak test", "follow-up", "open point")[number % 3],
        state="" if part == due.OPEN_POINT else URGENCY[number % len(URGENCY)],
        sentence="interval not decided",
        due_on=ON if number % 2 else None,
        why="The serial is not known: plate painted over. " + _said(number, long),
        clause_short="reg 28(3): where appropriate, at suitable intervals",
        clause_full="An invented rule, read on a secondary page",
        last="5 Nov 2026: not relied on: the counter's calibration was late (record\u00a096)",
        remarks=("Known later.",) * (number % 7 == 0),
    )


MAKERS: Mapping[str, tuple[Callable[..., Any], Any]] = {
    source.KIND: (_source, source),
    leak.KIND: (_leak, leak),
    monitor.KIND: (_monitor, monitor),
    due.KIND: (_due, due),
}


def register_of(kind: str, rows: int, *, long: bool = False, **changes: Any) -> Register:
    """A register of this kind with so many invented rows."""
    make, module = MAKERS[kind]
    found, notes = marked([make(number, long) for number in range(rows)], ["A note on none."])
    whole = {
        **{"kind": kind, "title": f"Register {kind}", "columns": module.layout()},
        **{"notes": notes, "landscape": kind != due.KIND},
    }
    return invented_register(found, **(whole | changes))
