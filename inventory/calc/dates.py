"""Dates as certificates state them, and calendar months."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Final, Literal, NoReturn

from dateutil.relativedelta import relativedelta

from .errors import DomainError

Precision = Literal["day", "month", "year"]

LONGEST_TEXT: Final = 40


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date as stated: ``on`` is the day to calculate with.

    Of a month or year that is the last day: a reference date that late gives the highest activity
    on every later day. ``earliest`` is the other end, for a band that needs both.
    """

    text: str
    on: date
    precision: Precision

    @property
    def earliest(self) -> date:
        """The first day that the text may mean."""
        if self.precision == "day":
            return self.on
        return self.on.replace(month=1 if self.precision == "year" else self.on.month, day=1)


_MONTH_NAMES: Final = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_MONTHS: Final = {
    "sept": 9,
    **{name: number for number, name in enumerate(_MONTH_NAMES, start=1)},
    **{name[:3]: number for number, name in enumerate(_MONTH_NAMES, start=1)},
}

_YEAR: Final = r"(?P<year>[0-9]{4})"
_NUMBER: Final = r"(?P<month>[0-9]{1,2})"
_NAME: Final = r"(?P<name>[a-z]+)\.?"
_DAY: Final = r"(?P<day>[0-9]{1,2})"
_FORMS: Final = tuple(
    re.compile(form, re.IGNORECASE)
    for form in (
        _YEAR,
        rf"{_YEAR}[-/.]{_NUMBER}",
        rf"{_YEAR}[-/.]{_NUMBER}[-/.]{_DAY}",
        rf"{_NAME}[ -]{_YEAR}",
        rf"{_DAY}(?:st|nd|rd|th)?[ -]{_NAME},?[ -]{_YEAR}",
        rf"{_NAME} {_DAY}(?:st|nd|rd|th)?,? {_YEAR}",
    )
)
#: Day and month as bare numbers with the year last: nobody can tell which comes first.
_BARE_NUMBERS: Final = re.compile(r"[0-9]{1,2}[-/. ][0-9]{1,2}[-/. ](?:[0-9]{4}|[0-9]{2})")


def _refuse(code: str, text: str, field: str) -> NoReturn:
    # On one line, for the sentence that will hold it.
    shown = " ".join(text[:LONGEST_TEXT].split()) + ("..." if len(text) > LONGEST_TEXT else "")
    raise DomainError(code, {"text": shown}, field=field)


def parse_date(text: str, field: str = "date") -> PartialDate:
    """A date as people write it: ``2019-05-03``, ``2019-05``, ``2019``, ``3 May 2019``.

    Also ``May 2019`` and ``May 3, 2019``: the name of the month settles the order.
    Raises DomainError date_ambiguous for bare numbers such as ``03/04/2005`` and
    date_not_understood for anything else, each with {text}.
    """
    tidy = " ".join(text.split()) if len(text) <= LONGEST_TEXT else ""
    if _BARE_NUMBERS.fullmatch(tidy):
        _refuse("date_ambiguous", text, field)
    for form in _FORMS:
        if found := form.fullmatch(tidy):
            return _date_of(found.groupdict(), text, field)
    _refuse("date_not_understood", text, field)


def _date_of(parts: dict[str, str | None], text: str, field: str) -> PartialDate:
    """The day that the parts name; a day that the calendar does not have is refused."""
    name = (parts.get("name") or "").lower()
    precision: Precision = "day" if parts.get("day") else "month"
    if "month" not in parts and not name:
        precision = "year"
    try:
        year = int(parts["year"] or "")
        month = _MONTHS[name] if name else int(parts.get("month") or 12)
        day = int(parts.get("day") or calendar.monthrange(year, month)[1])
        return PartialDate(text, date(year, month, day), precision)
    except (KeyError, ValueError):  # monthrange raises a ValueError for month 13
        _refuse("date_not_understood", text, field)


@lru_cache(maxsize=100_000)  # a site's tests fall on the same days, and each row asks again
def add_months(day: date, months: int) -> date:
    """``day`` moved by calendar months; the end of a shorter month clips it (31 Jan + 1: 28 Feb).

    Beyond the calendar of 1 to 9999 it is the calendar's last (or first) day.
    """
    counted = day.year * 12 + day.month - 1 + months
    if counted > date.max.year * 12 + 11:
        return date.max
    if counted < date.min.year * 12:
        return date.min
    return day + relativedelta(months=months)
