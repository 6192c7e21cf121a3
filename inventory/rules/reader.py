"""One table of a rule file, read field by field. A fault names file, row, field and what was
expected, in one line: whoever wrote the file has nothing else to go by."""

from __future__ import annotations

import math
import re
import reprlib
from collections.abc import Collection, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from inventory.calc.explain import KNOWN_BY, Cite

#: How a type is called in a fault.
WORDS: dict[type, str] = {
    **{int: "a whole number", float: "a number", str: "a text", bool: "true or false"},
    **{date: "a date", dict: "a table", list: "a list"},
}
#: What no record can keep, so no rule may say: control characters but line ends, half surrogates.
_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\ud800-\udfff]")
#: Longer whole numbers are no numbers of a rule, and some are too long for a float.
_LONGEST = 10**15
_WHOLE = re.compile(r"-?\d{1,15}")
#: What identifies a row: an address, an explanation and a record name it.
_NAME = re.compile(r"[A-Za-z0-9_.:-]{1,100}")

_SHORT = reprlib.Repr()
_SHORT.maxstring = _SHORT.maxother = 60


class RuleFault(ValueError):
    """A rule file says something that cannot be; the message is the sentence."""


def spelt(name: object) -> str:
    """A name as the file spells it, on one line whatever stands in it."""
    return name if isinstance(name, str) and _NAME.fullmatch(name) else _found(name)


def _found(value: object) -> str:
    """A value, cut short; Python refuses to print a whole number of thousands of digits."""
    try:
        return _SHORT.repr(value)
    except ValueError:
        return "a number of too many digits"


class Table:
    """A table of a file, or of a record (``from_text``: numbers and dates may be text there, and
    null says that there is none).

    What is taken is gone; ``done`` refuses what is left.
    """

    def __init__(self, where: str, data: Any, *, from_text: bool = False) -> None:
        if not isinstance(data, Mapping):
            raise RuleFault(f"{where}: expected a table, found {_found(data)}")
        self.where = where
        self.data = {name: value for name, value in data.items() if value is not None}
        self.from_text = from_text

    def fault(self, field: str, expected: str, found: Any) -> RuleFault:
        """The fault of a field."""
        return RuleFault(f"{self.where}.{spelt(field)}: expected {expected}, found {_found(found)}")

    def refuse(self, field: str, why: str) -> RuleFault:
        """A fault of a field that is not about the kind of its value."""
        return RuleFault(f"{self.where}.{spelt(field)}: {why}")

    def has(self, field: str) -> bool:
        """Whether the field is there and not taken yet."""
        return field in self.data

    def take(self, field: str, kind: type, default: Any = None, *, required: bool = True) -> Any:
        """A field of a type, or its default; anything else is a fault."""
        value = self.data.pop(field, None)
        if value is None:
            if required:
                raise self.refuse(field, f"is missing, expected {WORDS[kind]}")
            return default
        read = self._read(value, kind)
        # A yes is not a 1, and a moment is not a day.
        wrong = {bool: (), date: (datetime,)}.get(kind, (bool,))
        if not isinstance(read, kind) or isinstance(read, wrong):
            raise self.fault(field, WORDS[kind], value)
        return read

    def _read(self, value: Any, kind: type) -> Any:
        """A value as its kind where that is plain; else as it is."""
        if self.from_text and isinstance(value, str | Decimal):
            value = _from_text(str(value), kind)
        if kind is float and isinstance(value, int) and not isinstance(value, bool):
            return float(value) if abs(value) <= _LONGEST else value
        return value

    def text(self, field: str, default: str | None = None) -> str:
        """A text; without a default it must be there and say something."""
        value: str = self.take(field, str, default, required=default is None)
        if default is None and not value.strip():
            raise self.refuse(field, "is empty, expected a text")
        if _CONTROL.search(value):
            raise self.refuse(field, "has a control character in it, expected plain text")
        return value

    def name(self, field: str) -> str:
        """A text that identifies something: letters, digits and ``_ . : -``."""
        value = self.text(field)
        if not _NAME.fullmatch(value):
            raise self.fault(field, "letters, digits and _ . : - only", value)
        return value

    def word(self, field: str, allowed: Collection[str], default: str | None = None) -> str:
        """A word from a closed list."""
        value: str = self.take(field, str, default, required=default is None)
        if value not in allowed:
            raise self.fault(field, f"one of {', '.join(allowed)}", value)
        return value

    def whole(self, field: str, least: int, most: int, default: int | None = None) -> int:
        """A whole number between two bounds, both allowed."""
        value: int = self.take(field, int, default, required=default is None)
        if not least <= value <= most:
            raise self.fault(field, f"a whole number from {least} to {most}", value)
        return value

    def maybe_whole(self, field: str, least: int, most: int) -> int | None:
        """A whole number between two bounds, or none."""
        return self.whole(field, least, most) if self.has(field) else None

    def number(self, field: str, *, up_to: float = math.inf, zero: bool = False) -> float:
        """A finite number above 0 (or 0 where that is allowed) up to a bound."""
        value: float = self.take(field, float)
        enough = value >= 0 if zero else value > 0
        if not (math.isfinite(value) and enough and value <= up_to):
            least = "of 0 or more" if zero else "above 0"
            most = f" and up to {up_to:g}" if up_to < math.inf else ""
            raise self.fault(field, f"a number {least}{most}", value)
        return value

    def maybe_number(self, field: str, *, up_to: float = math.inf) -> float | None:
        """A finite number above 0, or none."""
        return self.number(field, up_to=up_to) if self.has(field) else None

    def texts(self, field: str, allowed: Collection[str] | None = None) -> tuple[str, ...]:
        """A list of texts, from a closed list where there is one; empty when it is not there."""
        if not self.has(field):
            return ()
        listed: list[Any] = self.take(field, list)
        if not listed:
            raise self.refuse(field, "is an empty list, expected at least one text")
        for place, value in enumerate(listed, 1):
            one = Table(f"{self.where}.{field}", {str(place): value})
            one.text(str(place)) if allowed is None else one.word(str(place), allowed)
        return tuple(listed)

    def inner(self, field: str) -> Table:
        """A table inside; empty when it is not there."""
        data = self.take(field, dict, {}, required=False)
        return Table(f"{self.where}.{spelt(field)}", data, from_text=self.from_text)

    def cite(self) -> Cite:
        """Document and clause that a row rests on, and how they came to us."""
        return Cite(
            document=self.text("document"),
            clause=self.text("clause"),
            edition=self.text("edition", ""),
            known_by=self.word("known_by", KNOWN_BY),
            checked_on=self.take("checked_on", date, required=False),
        )

    def done(self) -> None:
        """Nothing may be left over: a misspelt field must not be a silent default."""
        if self.data:
            raise self.refuse(min(self.data, key=str), "is not a field of this table")


def _from_text(value: str, kind: type) -> Any:
    """A number or a date that a record keeps as text."""
    try:
        if kind is int and _WHOLE.fullmatch(value):
            return int(value)
        if kind is float:
            return float(value)
        if kind is date:
            return date.fromisoformat(value)
    except ValueError:
        return value
    return value
