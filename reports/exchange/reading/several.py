"""Several sources that share one row of a list: two serials in a cell, two nuclides, a number."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from inventory.calc.explain import Step
from reports.exchange.reading import cells
from reports.exchange.reading.asking import CellFault, Waiting, options
from reports.exchange.reading.cells import ActivityRead, SerialRead
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.nuclide import read_nuclide
from reports.exchange.reading.sentences import said
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell, Value

T = TypeVar("T")
EACH, TOGETHER, ONE = "each", "together", "one"
MOST_IN_A_ROW = 12


@dataclass(frozen=True, slots=True)
class Part:
    """What differs between the sources of one row."""

    nuclide: str
    serial: SerialRead
    activity: ActivityRead


def several(row: RowReader) -> list[Part] | None:
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
        return [Part("", SerialRead(), ActivityRead())]
    certain = len(nuclides) == most or (len(serials) == most == len(activities))
    how = EACH if certain else _ask(row, most, len(activities))
    if row.waiting:
        return [Part("", SerialRead(), ActivityRead())]
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
) -> list[Part]:
    names = _read_each(row, "nuclide", nuclides, row.nuclides.resolve, "")
    known = _read_each(
        row, "serial", serials, lambda text: cells.read_serial(row, Cell(text, text)), SerialRead()
    )
    if len(known) < most:
        only = known[0].serial if known else ""
        shared = len(nuclides) == most and only
        why = said("why_shared", text=only, n=most) if only else ""
        one = known[0] if shared else SerialRead("", why)
        row.note("read_one_serial_for_several", {"text": only, "n": most})
        known = [one] * most
    stated = _activities(row, most, how, nuclides, activities)
    names = names if len(names) == most else [names[0] if names else ""] * most
    return [Part(*one) for one in zip(names, known, stated, strict=True)]


def _activities(
    row: RowReader, most: int, how: str, nuclides: Sequence[str], activities: Sequence[str]
) -> list[ActivityRead]:
    """The activity of each: as stated for each, or not known where one stands for all."""
    shared = len(activities) < most
    if how == TOGETHER or (shared and len(nuclides) == most):
        text = tidy(row.cell("activity").text)
        if text and not is_unknown(text):
            row.note("read_activity_of_all", {"text": text})
            row.remarks.append(said("remark_activity_of_all", text=text))
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


def _one(row: RowReader, written: Cell, each: str) -> Part:
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
        row.remarks.append(said("remark_activity", text=tidy(written.text)))
        at = row.column("activity")
        if at is not None:
            row.values["activity"] = Value(f"{at.letter}{row.row.number}", written.text, "")
        return Part(nuclide, serial, ActivityRead())
    return Part(nuclide, replace(serial), cells.activity(row))
