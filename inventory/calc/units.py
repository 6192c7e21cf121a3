"""Units of activity: what people write, kept exactly, and what people read.

1 Ci = 3.7e10 Bq exactly and 1 Bq = 60 dpm (10 CFR 35.67(c),(e) pairs 0.005 uCi with 185 Bq).
Activities are kept in becquerel and converted on output only.
"""

from __future__ import annotations

import decimal
import math
import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, NoReturn

from .errors import DomainError

#: Longest text that is read as a quantity, and how far from 1 Bq its value may lie:
#: a slip of the keyboard must not become a number with a thousand million digits.
LONGEST_TEXT: Final = 60
LARGEST_POWER: Final = 30

NO_BREAK_SPACE: Final = "\N{NO-BREAK SPACE}"
MINUS: Final = "\N{MINUS SIGN}"

_POWERS: Final = {"n": -9, "u": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9, "T": 12, "P": 15}
_PREFIX_WORDS: Final = {
    "nano": -9,
    "micro": -6,
    "milli": -3,
    "": 0,
    "kilo": 3,
    "mega": 6,
    "giga": 9,
    "tera": 12,
    "peta": 15,
}
_BASES: Final = {"Bq": Fraction(1), "Ci": Fraction(37 * 10**9)}
_BASE_WORDS: Final = {"becquerel": "Bq", "becquerels": "Bq", "curie": "Ci", "curies": "Ci"}


def _units() -> dict[str, Fraction]:
    """Every unit as it is properly written, with its size in Bq."""
    powers = {**_POWERS, "p": -12}
    table = {
        p + b: size * Fraction(10) ** n for b, size in _BASES.items() for p, n in powers.items()
    }
    for word, base in _BASE_WORDS.items():
        for prefix, power in _PREFIX_WORDS.items():
            table[prefix + word] = _BASES[base] * Fraction(10) ** power
    table["dpm"] = Fraction(1, 60)
    return table


#: Size of each unit in Bq. The micro sign is written ``u`` here.
UNITS: Final = _units()

#: Size of each unit of surface activity in Bq/cm2: 1,000 dpm/100 cm2 = 1/6 Bq/cm2.
SURFACE_UNITS: Final = {
    "Bq/cm2": Fraction(1),
    "kBq/m2": Fraction(1, 10),
    "dpm/100cm2": Fraction(1, 6000),
}


@dataclass(frozen=True, slots=True)
class Activity:
    """An activity as stated (``text``) and its ``exact`` value in Bq."""

    text: str
    exact: Fraction

    @property
    def bq(self) -> float:
        """The value in Bq as the nearest float."""
        return float(self.exact)

    @property
    def decimal(self) -> Decimal:
        """The value in Bq: every digit where the decimal fraction ends, else 28 digits."""
        top, bottom = Decimal(self.exact.numerator), Decimal(self.exact.denominator)
        try:
            # 200 digits hold every value that parse_activity lets through.
            return decimal.Context(prec=200, traps=[decimal.Inexact]).divide(top, bottom)
        except decimal.Inexact:
            return decimal.Context(prec=28).divide(top, bottom)


def parse_activity(text: str, field: str = "activity") -> Activity:
    """An activity as people write it: ``100 mCi``, ``0,37 MBq``, ``1.11x10^10 Bq``, ``3 700 kBq``.

    Gives the text as stated and its exact value, above zero. A single point is the decimal point;
    a single comma before three digits is refused, since it may be either. Units may be written in
    any case unless two would be meant: ``mBq`` and ``MBq`` are read, ``mbq`` is refused.
    Raises DomainError: activity_not_a_number, activity_without_unit, activity_unit_unknown,
    activity_ambiguous, activity_not_positive.
    """
    activity = parse_result(text, field)
    if activity.exact <= 0:
        _refuse("activity_not_positive", text, field)
    return activity


def parse_result(text: str, field: str = "activity") -> Activity:
    """The activity of a measurement, which may be zero or negative; else as ``parse_activity``."""
    number, unit = _split(text, field)
    value = number * _unit_size(unit, text, field)
    limit = Fraction(10) ** LARGEST_POWER
    if value and not 1 / limit <= abs(value) <= limit:
        _refuse("activity_not_a_number", text, field)
    return Activity(text, value)


def _refuse(code: str, text: str, field: str, **more: str) -> NoReturn:
    # On one line, for the sentence that will hold it.
    shown = " ".join(text[:LONGEST_TEXT].split()) + ("..." if len(text) > LONGEST_TEXT else "")
    raise DomainError(code, {"text": shown, **more}, field=field)


_SUPERSCRIPTS: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")
_RAISED: Final = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻]+")
_QUANTITY: Final = re.compile(
    r"(?P<sign>[+-]?) ?(?P<mantissa>[0-9.,](?:[0-9.,' ]*[0-9.,])?)"
    r"(?: ?[eE](?P<e>[+-]?[0-9]+)| ?[xX×*·] ?10 ?(?:\^|\*\*) ?(?P<power>[+-]?[0-9]+))?"
    r" ?(?P<unit>[^0-9.,].*)?"
)


def _tidy(text: str) -> str:
    """One kind of space, minus, apostrophe and micro sign; raised digits as ``^``."""
    # Raised digits first: NFKC would turn ten to the tenth into 1010.
    text = _RAISED.sub(lambda run: "^" + run[0].translate(_SUPERSCRIPTS), text)
    text = unicodedata.normalize("NFKC", text).replace(MINUS, "-").replace("’", "'")
    text = " ".join(text.replace("\N{GREEK SMALL LETTER MU}", "u").split())
    return "1x" + text if text.startswith("10^") else text


def _split(text: str, field: str) -> tuple[Fraction, str]:
    """The number and the unit of a text."""
    if len(text) > LONGEST_TEXT:
        _refuse("activity_not_a_number", text, field)
    found = _QUANTITY.fullmatch(_tidy(text))
    power = (found["e"] or found["power"] or "0") if found else ""
    if found is None or len(power.lstrip("+-0")) > 2:
        _refuse("activity_not_a_number", text, field)
    digits = _plain_digits(found["mantissa"], text, field)
    if not found["unit"]:
        _refuse("activity_without_unit", text, field)
    number = Fraction(digits) * Fraction(10) ** int(power)
    return (-number if found["sign"] == "-" else number), found["unit"]


_PLAIN: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[0-9]+\.|\.[0-9]+")
_EITHER: Final = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_GROUPED: Final = (
    # A space or an apostrophe can only part thousands. A comma or point does so for certain when
    # it stands twice, or when the other one follows as the decimal sign.
    re.compile(r"[1-9][0-9]{0,2}(?P<by>[ '])[0-9]{3}(?:(?P=by)[0-9]{3})*(?P<tail>[.,][0-9]+)?"),
    re.compile(r"[1-9][0-9]{0,2}(?P<by>,)[0-9]{3}(?:,[0-9]{3})*(?P<tail>\.[0-9]+)"),
    re.compile(r"[1-9][0-9]{0,2}(?P<by>\.)[0-9]{3}(?:\.[0-9]{3})*(?P<tail>,[0-9]+)"),
    re.compile(r"[1-9][0-9]{0,2}(?P<by>[.,])[0-9]{3}(?:(?P=by)[0-9]{3})+(?P<tail>)"),
)


def _plain_digits(mantissa: str, text: str, field: str) -> str:
    """The digits with a point as the decimal sign and nothing between thousands."""
    if _EITHER.fullmatch(mantissa):
        _ambiguous(text, field, mantissa, mantissa.replace(",", ""), mantissa.replace(",", "."))
    if _PLAIN.fullmatch(mantissa):
        return mantissa.replace(",", ".")
    for pattern in _GROUPED:
        if found := pattern.fullmatch(mantissa):
            tail = found["tail"] or ""
            whole = mantissa[: len(mantissa) - len(tail)].replace(found["by"], "")
            return whole + tail.replace(",", ".")
    _refuse("activity_not_a_number", text, field)


def _unit_size(unit: str, text: str, field: str) -> Fraction:
    """Size of a unit in Bq; the case of its letters counts only where two units would fit."""
    if unit in UNITS:
        return UNITS[unit]
    # The table spells micro with a u, so that a Greek capital mu, which looks like mega and folds
    # to the micro sign, fits nothing.
    fits = [name for name in UNITS if name.lower() == unit.lower()]
    if not fits:
        _refuse("activity_unit_unknown", text, field, unit=unit)
    if len(fits) > 1:
        _ambiguous(text, field, unit, *fits)
    return UNITS[fits[0]]


def _ambiguous(text: str, field: str, part: str, one: str, other: str) -> NoReturn:
    tidy = _tidy(text)
    values = {"one": tidy.replace(part, one), "other": tidy.replace(part, other)}
    _refuse("activity_ambiguous", text, field, **values)


def to_unit(bq: float, unit: str) -> float:
    """An activity in Bq as a number of ``unit`` (``uCi``, ``kBq``, ``dpm`` ...).

    Raises DomainError activity_unit_unknown or activity_ambiguous.
    """
    return float(Fraction(bq) / _unit_size(_tidy(unit), unit, "unit"))


def surface_to_bq_per_cm2(value: float, unit: str) -> float:
    """A surface activity in ``unit`` (a key of SURFACE_UNITS) as Bq/cm2.

    Raises DomainError activity_unit_unknown.
    """
    name = _tidy(unit).replace(" ", "").replace("^2", "2")
    if name not in SURFACE_UNITS:
        _refuse("activity_unit_unknown", unit, "unit", unit=unit)
    return float(Fraction(value) * SURFACE_UNITS[name])


def format_activity(bq: float, digits: int = 3) -> str:
    """An activity in Bq as people read it: ``3.70 GBq``, ``185 Bq``, ``0 Bq``.

    ``digits`` significant figures with the prefix that leaves one to three before the point, and a
    no-break space; a power of ten outside nBq to PBq. ``bq`` must be finite (else ValueError).
    """
    if not math.isfinite(bq):
        raise ValueError("an activity to print must be finite")
    if bq == 0:
        return f"0{NO_BREAK_SPACE}Bq"
    # Round first: 999.6 Bq is 1.00 kBq, not 1000 Bq.
    figures, _, power = f"{abs(bq):.{digits - 1}e}".partition("e")
    number, unit = _prefixed(Decimal(figures), int(power), digits)
    return f"{MINUS if bq < 0 else ''}{number}{NO_BREAK_SPACE}{unit}"


def _prefixed(figures: Decimal, power: int, digits: int) -> tuple[str, str]:
    """Number and unit for ``figures`` times ten to ``power`` Bq, 1 <= figures < 10."""
    step = power // 3 * 3
    prefix = next((name for name, size in _POWERS.items() if size == step), None)
    if prefix is None:
        raised = str(power).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))
        return f"{figures}×10{raised}", "Bq"
    places = max(0, digits - 1 - (power - step))
    micro = prefix.replace("u", "\N{MICRO SIGN}")
    return f"{figures.scaleb(power - step):.{places}f}", f"{micro}Bq"
