"""Days as lists write them, made into the one text that ``inventory.calc.dates`` reads."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal

from inventory.calc.dates import PartialDate, parse_date
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.sentences import day_text
from reports.exchange.opening import formats
from reports.exchange.reading.asking import Asking, CellFault, options
from reports.exchange.reading.texts import tidy
from reports.exchange.understood import Cell

DATE_ORDER = "date_order"
DMY, MDY, YMD = "dmy", "mdy", "ymd"
#: Two-digit years: 50 to 99 are of the last century. Sources are kept for decades.
PIVOT = 50
#: Days that a spreadsheet counts (1900: 1950 to 2079), where a number stands for a day.
FIRST_SERIAL, LAST_SERIAL = 18264, 65746
FIRST_YEAR, LAST_YEAR = 1930, 2079

_TRIPLE = re.compile(r"([0-9]{1,2})[-/. ]+([0-9]{1,2})[-/. ]+([0-9]{4}|[0-9]{2})\.?")
_DAY_MONTH_YEAR = re.compile(
    r"([0-9]{1,2})(?:st|nd|rd|th|\.)?[-/. ]*([a-z]{3,9})\.?,?[-/. ']*([0-9]{4}|[0-9]{2})", re.I
)
_MONTH_DAY_YEAR = re.compile(r"([a-z]{3,9})\.?[- ]([0-9]{1,2})(?:st|nd|rd|th)?, *([0-9]{4})", re.I)
_MONTH_YEAR = re.compile(r"([a-z]{3,9})\.?[-/. ']*([0-9]{4}|[0-9]{2})", re.I)
_NUMBER_YEAR = re.compile(r"([0-9]{1,2})[-/.]([0-9]{4})")
_COMPACT = re.compile(r"((?:19|20)[0-9]{2})([01][0-9])([0-3][0-9])")
_WEEKDAY = re.compile(r"^(mon|tues?|wed(nes)?|thu(rs)?|fri|sat(ur)?|sun)(day)?[,.]? ", re.I)
_TIME = re.compile(r"[T ]+[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?( ?[ap]m)?( ?Z| ?UTC)?$", re.I)
_LEAD = re.compile(
    r"^(approx\.?|about|circa|ca\.?|c\.|~|est\.?|since|on|dated) ?(?=[0-9a-z])", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Order:
    """What a column shows of the order of day and month."""

    settled: str = ""
    shown_by: str = ""


def settle(texts: Iterable[str]) -> Order:
    """The order that a column shows: by one date that can be read in one order only."""
    shown: dict[str, str] = {}
    for text in texts:
        orders = _orders(text)
        if len(orders) == 1:
            shown.setdefault(orders[0], tidy(text))
    if len(shown) == 1:
        ((order, text),) = shown.items()
        return Order(order, text)
    return Order()


def _orders(text: str) -> list[str]:
    """The orders in which three bare numbers are a day of the calendar. Of a year of two digits
    nobody knows whether it stands first or last."""
    found = _TRIPLE.fullmatch(_bare(text))
    if not found:
        return []
    first, second, last = found.groups()
    orders = [
        order
        for order, day, month in ((DMY, first, second), (MDY, second, first))
        if 1 <= int(month) <= 12 and 1 <= int(day) <= 31
    ]
    if len(last) == 2 and 1 <= int(second) <= 12 and 1 <= int(last) <= 31:
        orders.append(YMD)
    return orders


def _bare(text: str) -> str:
    """Without the time of day and the words that people set before a date."""
    plain = _WEEKDAY.sub("", _TIME.sub("", tidy(text)))
    return _LEAD.sub("", plain).strip()


def _year(text: str, notes: list[Step]) -> str:
    if len(text) != 2:
        return text
    century = 19 if int(text) >= PIVOT else 20
    year = f"{century}{text}"
    notes.append(Step("read_year_of_two_digits", {"text": text, "year": year}))
    return year


@dataclass(frozen=True, slots=True)
class Days:
    """Reads the days of one column."""

    order: Order
    from_1904: bool
    asking: Asking
    #: Days that were put in words already: making them takes longer than reading them.
    known: dict[date, str] = field(default_factory=dict)

    def shown(self, found: PartialDate) -> str:
        """A day as people read it; a month or year as it stands there."""
        if found.precision != "day":
            return found.text
        if found.on not in self.known:
            self.known[found.on] = day_text(found.on)
        return self.known[found.on]

    def read(self, cell: Cell, where: str, notes: list[Step]) -> PartialDate:
        """The day, month or year. Raises CellFault, DomainError or Waiting."""
        found = parse_date(self._canonical(cell, where, notes))
        if not FIRST_YEAR <= found.on.year <= LAST_YEAR:
            raise CellFault("read_day_out_of_range", text=cell.text[:40])
        return found

    def _canonical(self, cell: Cell, where: str, notes: list[Step]) -> str:
        content = cell.content
        if isinstance(content, datetime):
            return content.date().isoformat()
        if isinstance(content, date):
            return content.isoformat()
        if isinstance(content, bool | time):
            raise DomainError("date_not_understood", {"text": cell.text})
        if isinstance(content, Decimal):
            return self._number(content, notes)
        return self._text(_bare(cell.text), where, notes)

    def _number(self, number: Decimal, notes: list[Step]) -> str:
        """A day that lost its format, a year, or 20190503."""
        if number == number.to_integral_value() and FIRST_YEAR <= number <= LAST_YEAR:
            return str(int(number))
        if number == number.to_integral_value() and _COMPACT.fullmatch(str(int(number))):
            return self._compact(str(int(number)))
        shift = 1462 if self.from_1904 else 0
        if FIRST_SERIAL <= number + shift <= LAST_SERIAL:
            day = _of_serial(number + shift)
            notes.append(Step("read_day_from_number", {"text": str(number), "day_on": day}))
            return day.isoformat()
        raise DomainError("date_not_understood", {"text": str(number)})

    def _compact(self, text: str) -> str:
        return f"{text[:4]}-{text[4:6]}-{text[6:]}"

    def _text(self, text: str, where: str, notes: list[Step]) -> str:
        if found := _TRIPLE.fullmatch(text):
            return self._triple(text, found, where, notes)
        if _COMPACT.fullmatch(text):
            return self._compact(text)
        if re.fullmatch(r"[0-9]{5}(\.[0-9]+)?", text):
            return self._number(Decimal(text), notes)
        if found := _MONTH_DAY_YEAR.fullmatch(text):
            return text
        if found := _DAY_MONTH_YEAR.fullmatch(text):
            return f"{int(found[1])} {_month(found[2])} {_year(found[3], notes)}"
        if found := _MONTH_YEAR.fullmatch(text):
            return f"{_month(found[1])} {_year(found[2], notes)}"
        if found := _NUMBER_YEAR.fullmatch(text):
            return f"{found[2]}-{int(found[1]):02d}"
        return text

    def _triple(self, text: str, found: re.Match[str], where: str, notes: list[Step]) -> str:
        first, second, last = found.groups()
        orders = _orders(text)
        if not orders:
            raise DomainError("date_not_understood", {"text": text})
        order = orders[0]
        several = {int(first), int(second), *([int(last)] if YMD in orders else [])}
        if len(orders) > 1 and len(several) > 1:
            order = self._order(text, last, where, notes)
        if order == YMD:
            return f"{_year(first.zfill(2), notes)}-{int(second):02d}-{int(last):02d}"
        day, month = (first, second) if order == DMY else (second, first)
        return f"{_year(last, notes)}-{int(month):02d}-{int(day):02d}"

    def _order(self, text: str, last: str, where: str, notes: list[Step]) -> str:
        if self.order.settled:
            values = {"text": text, "one": self.order.shown_by}
            notes.append(Step(f"read_order_settled_{self.order.settled}", values))
            return self.order.settled
        values_ = options(DMY, MDY, YMD, prefix="read_order_")
        question = Step("read_ask_date_order")
        answer = self.asking.ask(DATE_ORDER, question, values_, f"{where}: {text}")
        # A year of four digits stands where it stands, whatever was answered.
        if answer == YMD and len(last) == 4:
            raise DomainError("date_ambiguous", {"text": text})
        return answer


def _month(name: str) -> str:
    """Three letters of a month; anything else is left for the parser to refuse."""
    return name[:3] if len(name) <= 4 else name


def _of_serial(number: Decimal) -> date:
    from openpyxl.utils.datetime import WINDOWS_EPOCH

    found = formats.moment(Decimal(int(number)), WINDOWS_EPOCH, span=False)
    if isinstance(found, datetime):
        return found.date()
    if isinstance(found, date):
        return found
    raise DomainError("date_not_understood", {"text": str(number)})
