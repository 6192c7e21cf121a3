"""What a spreadsheet shows of a number: its owner reads the format, not the stored value."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation

from reports.exchange.understood import Content

_QUOTED = re.compile(r'"([^"]*)"|\\(.)')
_HIDDEN = re.compile(r'\[[^\]]*\]|_.|\*.|"[^"]*"|\\.')
_ZEROS = re.compile(r"0{2,}")
#: Numbers of a spreadsheet hold fifteen figures; the rest is an echo of the binary fraction.
_FIGURES = 15


def number_of(text: str) -> Decimal | None:
    """The number that a cell stores, as its owner sees it in full."""
    try:
        number = Decimal(f"{float(text):.{_FIGURES}g}")
    except (ValueError, InvalidOperation):
        return None
    if not number.is_finite():
        return None
    return number


def plain(number: Decimal) -> str:
    """A number without a power of ten as long as people would write it so."""
    if number == number.to_integral_value() and abs(number) < Decimal(10) ** _FIGURES:
        return str(int(number))
    if Decimal("1e-6") < abs(number) < Decimal(10) ** _FIGURES:
        return f"{number.normalize():f}"
    return f"{number.normalize():E}"


def shown(number: Decimal, number_format: str) -> str:
    """The number in its format: leading zeros, per cent, and words such as a unit around it.

    Every figure is kept, also those that the format rounds away.
    """
    if number_format == "General" or not number_format:
        return plain(number)
    first = number_format.split(";")[0]
    bare = _HIDDEN.sub("", first).strip()
    if "%" in bare:
        return f"{plain(number * 100)} %"
    text = plain(number)
    if _ZEROS.fullmatch(bare) and number == int(number) and number >= 0:
        text = text.zfill(len(bare))
    before, after = _words(first)
    return f"{before}{text}{after}".strip()


def _words(number_format: str) -> tuple[str, str]:
    """What stands before and after the digits, if it holds a letter or a sign of its own."""
    digits = re.search(r"[0#?]", _QUOTED.sub(lambda one: "\0" * len(one[0]), number_format))
    at = digits.start() if digits else len(number_format)
    sides = []
    for side in (number_format[:at], number_format[at:]):
        said = "".join(one[0] or one[1] for one in _QUOTED.findall(side))
        sides.append(said if re.search(r"[^\s.,'’-]", said) else "")
    return sides[0], sides[1]


def moment(number: Decimal, epoch: datetime, *, span: bool) -> Content:
    """The day or time that a number stands for; None where the calendar ends."""
    from openpyxl.utils.datetime import from_excel

    try:
        found = from_excel(float(number), epoch, timedelta=span)
    except (ValueError, OverflowError):
        return None
    if isinstance(found, timedelta):
        return Decimal(str(found.total_seconds()))
    if isinstance(found, datetime) and found.time() == time():
        return found.date()
    return found


def moment_text(found: Content) -> str:
    """A day or time as no country misreads it."""
    if isinstance(found, datetime):
        return found.isoformat(" ", "minutes")
    if isinstance(found, date | time):
        return found.isoformat()
    return str(found)
