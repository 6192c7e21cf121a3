"""What a comma or a point means: settled by the column where one number can be read only one way,
asked once for the file where none can."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.calc.explain import Step
from reports.exchange.reading.asking import Asking, options
from reports.exchange.reading.texts import tidy

COMMA, POINT = "comma", "point"
DECIMAL_MARK = "decimal_mark"
OPTIONS = options(COMMA, POINT, prefix="read_decimal_")

#: The first number of a text; a letter before it makes it part of a name (``Cs-137``).
_NUMBER = re.compile(r"(?<![\w.,])[0-9][0-9.,]*(?<![.,])")
#: May be either: one mark before exactly three digits.
_COMMA_EITHER = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_POINT_EITHER = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
#: Can only be read with the comma, or with the point, as the decimal mark.
_COMMA_ONLY = re.compile(
    r"[0-9]+,[0-9]+|[1-9][0-9]{0,2}(\.[0-9]{3})+,[0-9]+|[1-9][0-9]{0,2}(\.[0-9]{3}){2,}"
)
_POINT_ONLY = re.compile(
    r"[0-9]+\.[0-9]+|[1-9][0-9]{0,2}(,[0-9]{3})+\.[0-9]+|[1-9][0-9]{0,2}(,[0-9]{3}){2,}"
)


@dataclass(frozen=True, slots=True)
class Marks:
    """What a column shows: the mark that is settled (or none), and by which text."""

    settled: str = ""
    shown_by: str = ""
    commas_in_file: bool = False  # somewhere in the file a comma is certainly a decimal mark


def number_in(text: str) -> str:
    """The first number of a tidied text, or nothing."""
    found = _NUMBER.search(text)
    return found[0] if found else ""


def proof(text: str) -> str:
    """The decimal mark that one text proves, or nothing."""
    number = number_in(tidy(text))
    if not ("," in number or "." in number):
        return ""
    if _COMMA_EITHER.fullmatch(number) or _POINT_EITHER.fullmatch(number):
        return ""
    if _COMMA_ONLY.fullmatch(number):
        return COMMA
    return POINT if _POINT_ONLY.fullmatch(number) else ""


def settle(texts: Iterable[str]) -> Marks:
    """What a column of texts shows; two hands that contradict each other settle nothing."""
    shown: dict[str, str] = {}
    for text in texts:
        if mark := proof(text):
            shown.setdefault(mark, text)
    if len(shown) == 1:
        ((mark, text),) = shown.items()
        return Marks(mark, text)
    return Marks()


def canonical(text: str, marks: Marks, asking: Asking, where: str, notes: list[Step]) -> str:
    """The text with its first number written so that it can be read in one way only."""
    number = number_in(text)
    comma, point = _COMMA_EITHER.fullmatch(number), _POINT_EITHER.fullmatch(number)
    if not comma and not (point and (marks.settled == COMMA or marks.commas_in_file)):
        return text
    mark = marks.settled
    if mark:
        values = {"text": number, "one": marks.shown_by}
        notes.append(Step(f"read_decimal_settled_{mark}", values))
    else:
        question = Step("read_ask_decimal_mark")
        mark = asking.ask(DECIMAL_MARK, question, OPTIONS, f"{where}: {text}")
    decimal = (mark == COMMA) == bool(comma)
    plain = number.replace(",", ".") if decimal else number.replace(",", "").replace(".", "")
    return text.replace(number, plain, 1)
