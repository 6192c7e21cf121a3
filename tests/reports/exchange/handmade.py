"""What a file says, built by hand: tests of planning and writing need no spreadsheet."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from config.accounts.models import Site, User
from inventory.calc.dates import parse_date
from inventory.calc.explain import Step
from inventory.calc.units import parse_activity
from inventory.items.actions import SourceText
from reports.exchange.plan import plan
from reports.exchange.planned import Plan
from reports.exchange.understood import (
    Book,
    CalibrationEntry,
    CountsStated,
    Decisions,
    Entry,
    Fault,
    GaugeEntry,
    MonitorEntry,
    Row,
    SourceEntry,
    Understood,
    WipeEntry,
)
from reports.exchange.write import Loaded, write
from surveys.calc.leak import Reported
from surveys.leak.wipe import DeclaredBy, FromLaboratory
from surveys.monitors.in_force import Efficiency
from tests import factories
from tests.pages import NOW, TODAY

CONTENT = b"the file"
WIPED = date(2025, 11, 3)


def text(serial: str = "L-1", **fields: Any) -> SourceText:
    """A source as a row states it."""
    activity = fields.pop("activity", "3.7 GBq")
    reference = fields.pop("reference", "2020-11-01")
    values: dict[str, Any] = {"nuclide": "Cs-137", "maker": "Maker", "model": "M1"}
    if activity:
        read = parse_activity(activity)
        values |= {"activity_text": activity, "activity_bq": read.decimal}
    if reference:
        day = parse_date(reference)
        values |= {"reference_text": reference, "reference_on": day.on}
        values |= {"reference_precision": day.precision}
    return SourceText(serial=serial, **(values | fields))


def reported(less_than: float | None = 5.0, activity: float | None = None, **more: Any) -> Any:
    """A laboratory's result in Bq."""
    if activity is not None:
        figures = Reported(activity_bq=activity, expanded_uncertainty_bq=more.get("u"))
        return FromLaboratory("Laboratory", figures, {"reported": f"{activity:g} Bq"})
    figures = Reported(less_than_bq=less_than)
    return FromLaboratory("Laboratory", figures, {"less_than": f"{less_than:g} Bq"})


def declared(passed: bool = True) -> DeclaredBy:
    return DeclaredBy(passed, "the maker's engineer", "list of sources")


def counted(counter: str = "WC-1", gross: float = 431, on: date = WIPED) -> CountsStated:
    return CountsStated(counter, on, [(gross, 600.0)], [(389.0, 600.0)], "A. Counter")


def wipe(result: Any = None, on: date = WIPED, **fields: Any) -> WipeEntry:
    return WipeEntry(on, result or reported(), **fields)


def source(serial: str = "L-1", **fields: Any) -> SourceEntry:
    """A source in a gauge that arrived in 2021, with a last wipe; ``of`` changes what it is."""
    of = fields.pop("of", {})
    values: dict[str, Any] = {
        "place": "Tank house",
        "gauge": f"LG-{serial}" if serial else "LG-1",
        "received_on": date(2021, 3, 1),
        "wipe": wipe(),
    }
    return SourceEntry(text(serial, **of), **(values | fields))


def gauge(tag: str = "LG-1", place: str = "Tank house", **fields: Any) -> GaugeEntry:
    return GaugeEntry(tag, place, **fields)


def calibration(monitor: str = "WC-1", on: date = date(2025, 9, 1), **fields: Any) -> Any:
    values: dict[str, Any] = {"passed": True, "certificate": "C-1"}
    efficiencies = [Efficiency("Cs-137", 0.31, 0.1)]
    return CalibrationEntry(monitor, on, **({**values, "efficiencies": efficiencies} | fields))


def monitor(tag: str = "WC-1", **fields: Any) -> MonitorEntry:
    values: dict[str, Any] = {"monitor_kind": "wipe_counter", "place": "Counting room"}
    return MonitorEntry(tag, **(values | fields))


def row(*entries: Entry, line: int = 2, sheet: str = "Sheet1", **fields: Any) -> Row:
    kind: Any = fields.pop("kind", "sources")
    return Row(sheet, line, kind, {}, entries, **fields)


def file_of(*rows: Row | Entry, name: str = "list.csv", **decided: Any) -> Understood:
    """A file of these rows; a bare entry is a row of its own, numbered from 2."""
    made = [
        one if isinstance(one, Row) else row(one, line=line) for line, one in enumerate(rows, 2)
    ]
    digest = hashlib.sha256(CONTENT).hexdigest()
    return Understood(Book(name, digest, ()), Decisions(**decided), rows=made)


def faulty(line: int = 2) -> Row:
    return row(line=line, faults=[Fault(Step("activity_without_unit", {"text": "3"}), "activity")])


def with_answers(understood: Understood, answers: Mapping[str, str]) -> Understood:
    return replace(understood, decisions=Decisions(answers=answers))


def planned(site: Site, *rows: Row | Entry, **decided: Any) -> Plan:
    return plan(site, file_of(*rows, **decided), TODAY)


def load(site: Site, *rows: Row | Entry, by: User | None = None, **decided: Any) -> Loaded:
    made = planned(site, *rows, **decided)
    return write(made, CONTENT, by=by or factories.rps_of(site), at=NOW)


def statuses(made: Plan) -> list[str]:
    return [one.status for one in made.rows]


def codes(steps: Iterable[Step]) -> list[str]:
    return [step.code for step in steps]


def sources_of(made: Sequence[SourceEntry]) -> Sequence[Decimal | None]:
    return [one.source.activity_bq for one in made]
