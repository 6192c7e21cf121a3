"""A row of a list of sources: one source, or several that share a row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TypeVar

from inventory.calc.dates import PartialDate
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.items.actions import SourceText
from inventory.sentences import day_text
from reports.exchange.reading import cells, wipes
from reports.exchange.reading.asking import CellFault, Waiting, options
from reports.exchange.reading.cells import ActivityRead, SerialRead
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.nuclide import read_nuclide
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell, Entry, Row, SourceEntry, Value

T = TypeVar("T")
EACH, TOGETHER, ONE = "each", "together", "one"
MOST_IN_A_ROW = 12


def read_row(row: RowReader) -> Row:
    """One row of a list of sources."""
    several = _several(row)
    if several is None:
        nuclide = read_nuclide(row)
        parts = [_Part(nuclide, cells.serial(row), cells.activity(row))]
    else:
        parts = several
    said = row.waiting or any(fault.field == "nuclide" for fault in row.faults)
    if not said and any(not part.nuclide for part in parts):
        row.fault("read_nuclide_missing", "nuclide")
    entries = _entries(row, parts)
    return row.done(entries)


@dataclass(frozen=True, slots=True)
class _Part:
    """What differs between the sources of one row."""

    nuclide: str
    serial: SerialRead
    activity: ActivityRead


def _entries(row: RowReader, parts: Sequence[_Part]) -> list[Entry]:
    place, gauge = _place(row), row.text("gauge", name_like=True)
    gauge_model = row.text("gauge_model")
    maker, model = row.text("maker"), row.text("model")
    why = row.text("serial_why", 200)
    wipe = wipes.read_wipe(row)
    received = _received(row, wipe.on if wipe else None)
    supplier = row.text("supplier", 200)
    certificate_on = row.partial("certificate_on")
    for name in ("certificate", "housing_serial"):
        if text := row.text(name, 200, name_like=True):
            row.remarks.append(f"{name.replace('_', ' ')} {text}")
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
    row.remarks.append(f"received: {found.text}")
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


# ---------------------------------------------------------------- several sources in a row


def _several(row: RowReader) -> list[_Part] | None:
    """The sources of a row that names several; None for the plain case."""
    nuclides = _nuclide_parts(row)
    serials = _serial_parts(row)
    written = row.cell("activity")
    words = isinstance(written.content, str)
    count, each = cells.times(written.text) if words else (1, written.text)
    activities = cells.activity_parts(each) if words else [each]
    count = max(count, _quantity(row))
    most = max(len(nuclides), len(serials), len(activities), count)
    if most == 1:
        return None
    if most > MOST_IN_A_ROW:
        row.fault("read_too_many_in_row", "serial", {"n": str(most)})
        return [_Part("", SerialRead(), ActivityRead())]
    certain = len(nuclides) == most or (len(serials) == most == len(activities))
    how = EACH if certain else _ask(row, most, len(activities))
    if row.waiting:
        return [_Part("", SerialRead(), ActivityRead())]
    if how == ONE:
        return [_one(row, written, each)]
    row.note("read_several_in_row", {"n": most})
    return _parts(row, most, how, nuclides, serials, activities)


def _parts(
    row: RowReader,
    most: int,
    how: str,
    nuclides: Sequence[str],
    serials: Sequence[str],
    activities: Sequence[str],
) -> list[_Part]:
    names = _read_each(row, "nuclide", nuclides, row.nuclides.resolve, "")
    known = _read_each(
        row, "serial", serials, lambda text: cells.read_serial(row, Cell(text, text)), SerialRead()
    )
    if len(known) < most:
        only = known[0].serial if known else ""
        shared = len(nuclides) == most and only
        why = f"the list has {only} for {most} sources" if only else ""
        one = known[0] if shared else SerialRead("", why)
        row.note("read_one_serial_for_several", {"text": only, "n": most})
        known = [one] * most
    stated = _activities(row, most, how, nuclides, activities)
    names = names if len(names) == most else [names[0] if names else ""] * most
    return [_Part(*one) for one in zip(names, known, stated, strict=True)]


def _activities(
    row: RowReader, most: int, how: str, nuclides: Sequence[str], activities: Sequence[str]
) -> list[ActivityRead]:
    """The activity of each: as stated for each, or not known where one stands for all."""
    shared = len(activities) < most
    if how == TOGETHER or (shared and len(nuclides) == most):
        text = tidy(row.cell("activity").text)
        if text and not is_unknown(text):
            row.note("read_activity_of_all", {"text": text})
            row.remarks.append(f"activity of all together: {text}")
        return [ActivityRead()] * most
    read = _read_each(
        row,
        "activity",
        activities,
        lambda text: cells.read_activity(row, Cell(text, text))[0],
        ActivityRead(),
    )
    return read if len(read) == most else [read[0] if read else ActivityRead()] * most


def _read_each(
    row: RowReader, name: str, parts: Sequence[str], read: Callable[[str], T], empty: T
) -> list[T]:
    """Each part of one cell; what is understood of them stands together."""
    out: list[T] = []

    def whole(cell: Cell) -> tuple[list[T], str]:
        for part in parts:
            out.append(read(part) if not is_unknown(part) else empty)
        return out, " / ".join(parts)

    nothing: list[T] = []
    row.take(name, whole, nothing)
    return out


def _nuclide_parts(row: RowReader) -> list[str]:
    """Several nuclides in one cell: each is one, and the whole is none (Am-241/Be is one)."""
    text = row.cell("nuclide").text
    if row.nuclides.is_one(text):
        return [tidy(text)]
    for mark in ("\n", ";", " / ", " & ", " and ", "+", ",", "/", "&"):
        parts = [tidy(one) for one in text.split(mark) if one.strip()]
        if len(parts) > 1 and all(map(row.nuclides.is_one, parts)):
            return parts
    return [tidy(text)]


def _serial_parts(row: RowReader) -> list[str]:
    cell = row.cell("serial")
    if not isinstance(cell.content, str) or is_unknown(cell.text):
        return [cell.text]
    return cells.parts_of(cell.text)


def _quantity(row: RowReader) -> int:
    """How many sources a row says that it stands for."""

    def read(cell: Cell) -> tuple[int, str]:
        text = tidy(cell.text)
        if is_unknown(text):
            return 1, ""
        if not text.isdigit() or int(text) < 1:
            raise CellFault("read_number_not_understood", text=text[:40])
        return int(text), text

    return row.take("quantity", read, 1)


def _ask(row: RowReader, most: int, activities: int) -> str:
    """One question a row: only its owner knows what the two serials share."""
    where = f"{row.sheet}!{row.row.number}"
    written = " | ".join(
        tidy(row.cell(name).text) for name in ("nuclide", "serial", "activity", "quantity")
    ).strip(" |")
    for name in ("nuclide", "serial", "activity"):
        column = row.column(name)
        if column is not None and row.cell(name).content is not None:
            at = f"{column.letter}{row.row.number}"
            row.values.setdefault(name, Value(at, row.cell(name).text, ""))
    try:
        return row.asking.ask(
            f"split:{where}",
            Step("read_ask_split", {"text": where, "n": most}),
            options(EACH, TOGETHER, ONE, prefix="read_split_"),
            f"{where}: {written}"[:200],
        )
    except Waiting:
        row.waiting = True
        return ""


def _one(row: RowReader, written: Cell, each: str) -> _Part:
    """One source after all: its serial holds the sign, and its activity is the whole cell's."""
    nuclide = read_nuclide(row)

    def whole(cell: Cell) -> tuple[SerialRead, str]:
        text = tidy(cell.text)
        return SerialRead(text[:100]), text[:100]

    serial = row.take("serial", whole, SerialRead())
    if is_unknown(serial.serial):
        serial = SerialRead()
    if isinstance(written.content, str) and each != written.text:
        row.note("read_activity_bound", {"text": tidy(written.text)})
        row.remarks.append(f"activity: {tidy(written.text)}")
        at = row.column("activity")
        if at is not None:
            row.values["activity"] = Value(f"{at.letter}{row.row.number}", written.text, "")
        return _Part(nuclide, serial, ActivityRead())
    return _Part(nuclide, replace(serial), cells.activity(row))
