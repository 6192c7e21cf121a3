"""Raw counts of a past wipe: taken only whole, with counter, times and background."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from inventory.calc.dates import PartialDate
from inventory.calc.explain import Step
from inventory.fields import CountsField
from reports.exchange.reading import numbers
from reports.exchange.reading.asking import CellFault, Waiting, options
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.heads import RATES, TIME_UNITS, is_scaled, rate_of
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell, CountsStated

_TIMED = re.compile(r"([0-9][0-9.,]*) ?([a-z]+)?\.?", re.IGNORECASE)
_NAMED = re.compile(r" ?(cpm|cps|counts?|cts)\.?$", re.IGNORECASE)
_MOST_SECONDS = 366 * 86_400


def read(row: RowReader, on: PartialDate | None) -> CountsStated | None:
    """The counts of a row; None, and why, where something is missing that nobody can put in."""
    if not row.filled("gross"):
        return None
    gross, background = _number(row, "gross"), _number(row, "background")
    seconds = _seconds(row, "seconds")
    background_seconds = _background_seconds(row, seconds)
    counter = row.text("counter", name_like=True)
    counted_on = row.partial("counted_on")
    counted_by = row.text("counted_by", 200)
    if row.waiting or row.faults or on is None:
        return None
    missing = [
        name
        for name, value in (
            ("background", background),
            ("seconds", seconds),
            ("background_seconds", background_seconds),
            ("counter", counter or None),
        )
        if value is None
    ]
    if missing or gross is None:
        for name in missing:
            row.note("read_counts_incomplete", {"missing": name})
        return None
    assert seconds and background_seconds and background is not None
    day = counted_on.on if counted_on and counted_on.precision == "day" else on.earliest
    return CountsStated(
        counter=counter,
        counted_on=max(day, on.earliest),
        gross=[(_counts(row, "gross", gross, seconds), seconds)],
        background=[
            (_counts(row, "background", background, background_seconds), background_seconds)
        ],
        counted_by=counted_by,
    )


def number_of(row: RowReader, name: str, text: str) -> Decimal:
    """A plain number of a cell, zero or above."""
    column = row.column(name)
    assert column is not None
    text = numbers.canonical(text, column.marks, row.asking, row.where(name), row.notes)
    text = text.replace(" ", "").replace("'", "").replace(",", ".")
    try:
        found = Decimal(text)
    except InvalidOperation:
        raise CellFault("read_number_not_understood", text=text[:40]) from None
    if not found.is_finite() or found < 0:
        raise CellFault("read_number_not_understood", text=text[:40])
    return found


def _number(row: RowReader, name: str) -> Decimal | None:
    """Counts, or counts per time where the head or the cell says so."""

    def read(cell: Cell) -> tuple[Decimal | None, str]:
        text = tidy(cell.text)
        if is_unknown(text):
            return None, ""
        column = row.column(name)
        if column is not None and not _NAMED.search(text) and _is_unclear(column.head):
            raise CellFault("read_counts_of_what", text=tidy(column.head)[:60])
        found = number_of(row, name, _NAMED.sub("", text))
        return found, f"{found} {_rate(row, name)}".strip()

    return row.take(name, read, None)


def _rate(row: RowReader, name: str) -> str:
    column, text = row.column(name), row.cell(name).text.casefold()
    if re.search(r"[0-9] ?(counts?|cts)\.?$", text):
        return ""
    for rate in RATES:
        if rate in text or (column is not None and column.unit.casefold() == rate):
            return rate
    return rate_of(column.head) if column is not None else ""


def _is_unclear(head: str) -> bool:
    """A head that multiplies its numbers, or says *rate* and not per what."""
    return is_scaled(head) or ("rate" in head.casefold() and not rate_of(head))


def _counts(row: RowReader, name: str, number: Decimal, seconds: float) -> float:
    """Counts as they were; a rate times its own counting time gives them back."""
    rate = _rate(row, name)
    if not rate:
        (counts,) = CountsField().clean(str(int(number))) if number == int(number) else (None,)
        if counts is None:
            row.fault("read_counts_not_whole", name, {"text": str(number)})
            return 0.0
        return float(counts)
    per_second = Fraction(number) / (60 if rate == "cpm" else 1)
    row.note("read_counts_from_rate", {"text": row.cell(name).text})
    return float(round(per_second * Fraction(seconds)))


def _seconds(row: RowReader, name: str) -> float | None:
    """A counting time; a bare number has the unit of the head, or is asked about once."""

    def read(cell: Cell) -> tuple[float | None, str]:
        text = tidy(cell.text)
        if is_unknown(text):
            return None, ""
        found = _TIMED.fullmatch(text)
        unit = TIME_UNITS.get((found[2] or "").lower()) if found else None
        if found is None or (found[2] and unit is None):
            raise CellFault("read_time_not_understood", text=text[:40])
        number = number_of(row, name, found[1])
        seconds = float(number * (unit or _unit(row, name)))
        if not 0 < seconds <= _MOST_SECONDS:
            raise CellFault("read_time_not_understood", text=text[:40])
        return seconds, f"{seconds:g} s"

    return row.take(name, read, None)


def _unit(row: RowReader, name: str) -> int:
    column = row.column(name)
    assert column is not None
    if column.unit.lower() in TIME_UNITS:
        return TIME_UNITS[column.unit.lower()]
    head = tidy(column.head)[:60]
    answer = row.asking.ask(
        f"unit:{name}:{head.casefold()}",
        Step("read_ask_time_unit", {"text": head}),
        options("s", "min", prefix="read_unit_"),
        f"{row.where(name)}: {row.cell(name).text[:40]}",
    )
    return TIME_UNITS[answer]


def _background_seconds(row: RowReader, seconds: float | None) -> float | None:
    """A background counted longer than the wipe and read as equally long hides a leak: asked."""
    if row.has("background_seconds"):
        return _seconds(row, "background_seconds")
    if seconds is None or not row.filled("background"):
        return None
    labels = options("same", "unknown", prefix="read_background_time_")
    question = Step("read_ask_background_time")
    try:
        answer = row.asking.ask("background_time", question, labels, row.where("background"))
    except Waiting:
        row.waiting = True
        return None
    return seconds if answer == "same" else None
