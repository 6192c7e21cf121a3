"""A row of a list of sources: one source, or several that share a row."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory.calc.dates import PartialDate
from inventory.calc.errors import DomainError
from inventory.items.actions import SourceText
from inventory.sentences import day_text
from reports.exchange.reading import cells, wipes
from reports.exchange.reading.asking import CellFault, Waiting
from reports.exchange.reading.cells import ActivityRead
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.nuclide import read_nuclide
from reports.exchange.reading.sentences import said
from reports.exchange.reading.several import Part, several
from reports.exchange.understood import Cell, Entry, Row, SourceEntry


def read_row(row: RowReader) -> Row:
    """One row of a list of sources."""
    parts = several(row)
    if parts is None:
        parts = [Part(read_nuclide(row), cells.serial(row), cells.activity(row))]
    told = row.waiting or any(fault.field == "nuclide" for fault in row.faults)
    if not told and any(not part.nuclide for part in parts):
        row.fault("read_nuclide_missing", "nuclide")
    entries = _entries(row, parts)
    return row.done(entries)


def _entries(row: RowReader, parts: Sequence[Part]) -> list[Entry]:
    place, gauge = _place(row), row.text("gauge", name_like=True)
    gauge_model = row.text("gauge_model")
    maker, model = row.text("maker"), row.text("model")
    why = row.text("serial_why", 200)
    wipe = wipes.read_wipe(row)
    received = _received(row, wipe.on if wipe else None)
    supplier = row.text("supplier", 200)
    certificate_on = row.partial("certificate_on")
    if text := row.text("certificate", 200, name_like=True):
        row.remarks.append(said("remark_certificate", text=text))
    if text := row.text("housing_serial", 200, name_like=True):
        row.remarks.append(said("remark_housing_serial", text=text))
    remark = row.text("remark", 1000)
    out: list[Entry] = []
    for part in parts:
        reference = _reference(row, part.activity)
        source = SourceText(
            nuclide=part.nuclide,
            maker=maker,
            model=model,
            serial=part.serial.serial,
            serial_unknown_because="" if part.serial.serial else (why or part.serial.why),
            activity_text=part.activity.activity.text if part.activity.activity else "",
            activity_bq=part.activity.activity.decimal if part.activity.activity else None,
            activity_basis="estimated" if part.activity.estimated else "certificate",
            reference_text=reference.text if reference else "",
            reference_on=reference.on if reference else None,
            reference_precision=reference.precision if reference else "",
            remark="; ".join(one for one in (remark, *dict.fromkeys(row.remarks)) if one)[:1000],
        )
        _open_points(row, source)
        out.append(
            SourceEntry(
                source=source,
                place=place,
                gauge=gauge,
                gauge_model=gauge_model,
                received_on=received,
                supplier=supplier,
                certificate_on=certificate_on.on if certificate_on else None,
                wipe=wipe,
            )
        )
    return out


def _open_points(row: RowReader, source: SourceText) -> None:
    """What will be an open point of the source is said beside the row."""
    if row.waiting:
        return
    if not source.serial:
        row.note("read_open_serial")
    if source.activity_bq is None:
        row.note("read_open_activity")
    elif source.reference_on is None:
        row.note("read_open_reference")
    elif source.reference_precision != "day":
        row.note("read_open_reference_precision", {"text": source.reference_text})


def _place(row: RowReader) -> str:
    place = row.joined("place", 200)
    if place or row.waiting:
        return place
    if row.row.title:
        row.note("read_place_from_title", {"text": row.row.title})
        return row.row.title[:200]
    if not row.filled("gauge"):
        row.note("read_place_unknown")
    return ""


def _received(row: RowReader, wiped_on: date | None) -> date | None:
    """The day of arrival. Of a month or year the last day, by which it was here for certain; not
    later than its first wipe."""
    found = row.partial("received")
    if found is None:
        return None
    if found.precision == "day":
        return found.on
    row.note("read_last_day_taken", {"text": found.text})
    row.remarks.append(said("remark_received", text=found.text))
    on = found.on
    return min(on, wiped_on) if wiped_on and wiped_on >= found.earliest else on


def _reference(row: RowReader, activity: ActivityRead) -> PartialDate | None:
    """The day of the activity: of its column, of the cell itself, or of the head above it."""
    found = row.partial("reference")
    column = row.column("activity")
    if found is not None or activity.activity is None or column is None:
        return found
    for text, code in (
        (activity.dated, "read_reference_beside"),
        (column.head_day, "read_reference_in_head"),
    ):
        if text:
            try:
                days = column.days
                stated = days.read(Cell(text, text), row.where("activity"), row.notes)
            except Waiting:
                row.waiting = True
                return None
            except (DomainError, CellFault):
                row.note("read_reference_not_read", {"text": text})
                continue
            row.note(code, {"text": text, "day": day_text(stated.on)})
            return stated
    return None
