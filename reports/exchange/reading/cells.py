"""Cells of a source: its activity, its serial, and the units that a list leaves out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.units import Activity, format_activity, parse_activity, parse_result, to_unit
from reports.exchange.reading import numbers
from reports.exchange.reading.asking import CellFault, options
from reports.exchange.reading.columns import ColumnRead, RowReader
from reports.exchange.reading.heads import is_scaled
from reports.exchange.reading.sentences import said
from reports.exchange.reading.texts import UNREADABLE, identity, is_unknown, tidy
from reports.exchange.understood import Cell

UNITS = ("Bq", "kBq", "MBq", "GBq", "TBq", "nCi", "uCi", "mCi", "Ci", "dpm")
#: Units that two hands would write for different things; the key of an answer never holds both.
_APPROXIMATE = re.compile(
    r"^(approx\.?|approximately|about|ca\.?|circa|c\.|~|≈|nominal(ly)?|nom\.?|est\.?|estimated) ?"
    r"(?=[0-9])|[ ,]*\(?(nominal|nom\.?|approx\.?|est\.?|estimated)\)?$",
    re.IGNORECASE,
)
_EACH = re.compile(r"(?<=[A-Za-z]),? (each|ea\.?|per source|apiece)$", re.IGNORECASE)
_PER_AREA = re.compile(r"(bq|ci|dpm) ?/ ?[0-9]{0,3} ?[a-z]", re.IGNORECASE)
_MORE_OR_LESS = re.compile(r"^(>|<|≥|≤|>=|<=|more than|less than|over|under|up to|max\.?) ?", re.I)
_BESIDE = re.compile(r"^(.*[0-9].*?) ?(?:\(([^()]+)\)|=([^=]+))$")
_DATED = re.compile(
    r"^(.*?[A-Za-z]) ?(?:@|\bon\b|\bas of\b|\bat\b|\(|\[) ?([^()\[\]]*[0-9]{2,4})[)\]]?$"
)
_ROUNDED = re.compile(r"[0-9](?:[.,][0-9]+)?E\+[0-9]{2,}", re.IGNORECASE)
_POINT_ZERO = re.compile(r"([0-9]+)[.,]0+")
#: A spreadsheet keeps fifteen figures of a number.
_MOST_FIGURES = 15


@dataclass(frozen=True, slots=True)
class ActivityRead:
    """An activity as understood, whether it is only an estimate, and a date written beside it."""

    activity: Activity | None = None
    estimated: bool = False
    dated: str = ""


def unit_of(row: RowReader, name: str, unit_field: str = "") -> str:
    """The unit of the bare numbers of a column: of the unit column, of the head, or as answered."""
    if unit_field and row.filled(unit_field):
        unit = row.text(unit_field, 20)
        if not is_activity(unit):
            raise CellFault("read_unit_not_understood", text=unit)
        return unit
    column = row.column(name)
    assert column is not None
    if _PER_AREA.search(column.head):
        raise CellFault("read_unit_per_area", text=tidy(column.head)[:60])
    if is_scaled(column.head):
        raise CellFault("read_head_scaled", text=tidy(column.head)[:60])
    return column.unit if is_activity(column.unit) else ask_unit(row, name, column)


def is_activity(unit: str) -> bool:
    """Whether a unit is one of activity, and only one."""
    if not unit:
        return False
    try:
        to_unit(1.0, unit)
    except DomainError:
        return False
    return True


def ask_unit(row: RowReader, name: str, column: ColumnRead) -> str:
    """Ask once for all columns of the file with this head."""
    head = tidy(column.head)[:60]
    question = Step("read_ask_unit", {"text": head})
    labels = options(*UNITS, prefix="read_unit_")
    example = f"{row.where(name)}: {row.cell(name).text[:40]}"
    return row.asking.ask(f"unit:{name}:{head.casefold()}", question, labels, example)


def with_unit(row: RowReader, name: str, text: str, unit_field: str = "") -> Activity:
    """A tidied text as a measured activity; a bare number takes the unit of its column."""
    column = row.column(name)
    assert column is not None
    text = numbers.canonical(text, column.marks, row.asking, row.where(name), row.notes)
    try:
        found = parse_result(text)
    except DomainError as error:
        if error.code != "activity_without_unit":
            raise
    else:
        if is_activity(column.unit):
            row.note("read_own_unit", {"text": text})
        return found
    return parse_result(f"{text} {unit_of(row, name, unit_field)}")


def activity(row: RowReader) -> ActivityRead:
    """The activity of a source. Unknown stays unknown; a bound is none and goes to the remark."""

    def read(cell: Cell) -> tuple[ActivityRead, str]:
        return read_activity(row, cell)

    return row.take("activity", read, ActivityRead())


def read_activity(row: RowReader, cell: Cell) -> tuple[ActivityRead, str]:
    """One cell, for a row that has one source."""
    text = tidy(cell.text)
    if is_unknown(text):
        return ActivityRead(), ""
    if isinstance(cell.content, date):
        raise CellFault("read_number_became_date", text=text)
    if _MORE_OR_LESS.match(text):
        row.note("read_activity_bound", {"text": text})
        row.remarks.append(said("remark_activity", text=text))
        return ActivityRead(), ""
    text, dated = _without_date(_EACH.sub("", text))
    text, beside = _without_beside(text)
    plain = _APPROXIMATE.sub("", text).strip()
    if plain != text:
        row.note("read_approximate", {"text": text})
    found = _activity_of(row, plain)
    if found is not None and beside:
        _compare(row, found, beside)
    read = ActivityRead(found, plain != text, dated)
    return read, activity_text(found)


def _activity_of(row: RowReader, text: str) -> Activity | None:
    found = with_unit(row, "activity", text, "activity_unit")
    if found.exact == 0:
        row.note("read_activity_zero")
        return None
    if re.search(r"[0-9 ]m(illi)?[Bb](q|ecq)", found.text):
        row.note("read_millibecquerel", {"text": found.text})
    return parse_activity(found.text)


def activity_text(found: Activity | None) -> str:
    """As it is recorded, and in becquerel where that is another unit."""
    if found is None:
        return ""
    shown = format_activity(found.bq)
    return found.text if "bq" in found.text.lower() else f"{found.text} = {shown}"


def _without_date(text: str) -> tuple[str, str]:
    """``3.7 GBq (1 Jan 2010)``, ``100 mCi @ 01/2010``: the activity and its day."""
    found = _DATED.fullmatch(text)
    dated = found and re.search(r"(19|20)[0-9]{2}|[-/.]", found[2])
    if found and dated and not re.search(r"[Bb]q|Ci", found[2]):
        return found[1].strip(), found[2].strip()
    return text, ""


def _without_beside(text: str) -> tuple[str, str]:
    """``100 mCi (3.7 GBq)``: the first activity and the one beside it."""
    found = _BESIDE.fullmatch(text)
    second = (found[2] or found[3] or "").strip() if found else ""
    if found and re.search(r"[Bb]q|Ci|curie", second):
        return found[1].strip(), second
    return text, ""


def _compare(row: RowReader, found: Activity, beside: str) -> None:
    """Two activities in one cell must be one; nobody can tell which of two is right."""
    try:
        other = parse_result(beside)
    except DomainError:
        row.note("read_beside_not_used", {"text": beside})
        return
    if abs(other.bq - found.bq) > 0.05 * found.bq:
        raise CellFault("read_two_activities_differ", text=found.text, other=beside)
    row.note("read_beside_not_used", {"text": beside})


# ---------------------------------------------------------------- serials


@dataclass(frozen=True, slots=True)
class SerialRead:
    """A serial, or why it is not known."""

    serial: str = ""
    why: str = ""


def serial(row: RowReader, name: str = "serial") -> SerialRead:
    """The serial as it stands on the plate, as far as the file still knows it."""

    def read(cell: Cell) -> tuple[SerialRead, str]:
        found = read_serial(row, cell)
        return found, found.serial

    return row.take(name, read, SerialRead())


def read_serial(row: RowReader, cell: Cell) -> SerialRead:
    """One cell that holds one serial."""
    if isinstance(cell.content, Decimal):
        return _from_number(row, cell, cell.content)
    if isinstance(cell.content, date):
        row.note("read_serial_became_date", {"text": cell.text})
        return SerialRead("", said("why_became_date", text=cell.text))
    text, changed = identity(cell.text)
    if is_unknown(text):
        why = text if text.strip("-?./ ") else ""
        return SerialRead("", why)
    if UNREADABLE.search(text):
        return SerialRead("", text[:200])
    if _ROUNDED.fullmatch(text):
        row.note("read_serial_rounded", {"text": text})
        return SerialRead("", said("why_rounded", text=text))
    if found := _POINT_ZERO.fullmatch(text):
        row.note("read_serial_was_number", {"text": text})
        row.remarks.append(said("remark_serial_number", text=text))
        text = found[1]
    if changed:
        row.note("read_signs_put_right", {"text": text})
    if len(text) > 100:
        raise CellFault("text_too_long", name="serial", length=100)
    return SerialRead(text)


def _from_number(row: RowReader, cell: Cell, number: Decimal) -> SerialRead:
    """A number may have lost leading zeros; a format that shows them has kept them."""
    if abs(number) >= Decimal(10) ** _MOST_FIGURES:
        row.note("read_serial_rounded", {"text": cell.text})
        return SerialRead("", said("why_rounded", text=cell.text))
    text, _ = identity(cell.text)
    if not text.startswith("0"):
        row.note("read_serial_was_number", {"text": text})
        row.remarks.append(said("remark_serial_number", text=text))
    return SerialRead(text)


# ---------------------------------------------------------------- several in one cell

_PARTS = re.compile(r"\s*(?:\n|;| / | & | and | \+ )\s*|(?<=[A-Za-z0-9]), (?=[A-Za-z0-9])")
_TIGHT = re.compile(r"\s*[/&+]\s*")
_TIMES = re.compile(
    r"^([2-9]|1[0-2]) ?(?:x|×|\*|off|pcs\.?|nos?\.?) ?(?!10 ?(?:\^|\*\*|[⁰¹²³⁴-⁹]))(.+)$",
    re.IGNORECASE,
)


def parts_of(text: str) -> list[str]:
    """The parts of a cell that names several things; one part where it names one. A tight slash
    parts only what has the same shape on both sides: ``A123/A124``, but not ``CS-1/07``."""
    loose = [one.strip() for one in _PARTS.split(text.strip()) if one and one.strip()]
    if len(loose) > 1:
        return loose
    tight = [one.strip() for one in _TIGHT.split(tidy(text)) if one.strip()]
    shapes = {re.sub(r"[0-9]+", "0", re.sub(r"[A-Za-z]+", "a", one)) for one in tight}
    same = len(shapes) == 1 and len({len(one) for one in tight}) == 1
    if len(tight) > 1 and same and all(len(one) >= 3 for one in tight):
        return tight
    return [tidy(text)]


def times(text: str) -> tuple[int, str]:
    """``2 x 3.7 GBq``: how many, and of what; 1 where it is a plain activity."""
    found = _TIMES.match(tidy(text))
    return (int(found[1]), found[2]) if found else (1, text)


def activity_parts(text: str) -> Sequence[str]:
    """Several activities in one cell: ``0.3 GBq / 1.5 GBq``."""
    split = re.split(r"\s*(?:\n|;|/| & | and | \+ )\s*", text.strip())
    parts = [one for one in split if one.strip()]
    if len(parts) > 1 and all(re.match(r"[0-9.,]", one) for one in parts):
        last = re.search(r"[A-Za-zµμ]+$", parts[-1])
        unit = f" {last[0]}" if last else ""
        return [one if re.search(r"[A-Za-zµμ]$", one) else one + unit for one in parts]
    return [text]
