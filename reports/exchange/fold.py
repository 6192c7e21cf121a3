"""When two names or serials are the same, and when they only look alike.

Forms of one character, invisible characters, kinds of dash, case and spaces make no difference. A
letter that looks like a digit, a lost zero or a letter of another alphabet does: such a pair is
named, never taken for one.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

#: Letters of other alphabets that print like Latin ones, and letters that print like digits.
_ALPHABETS = str.maketrans("авекмнорстухіѕјαβεικνορτυχ", "abekmhopctyxisjabeikvoptux")
_DIGITS = str.maketrans("oilzsb", "011258")
_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")


@lru_cache(maxsize=100_000)
def fold(text: str) -> str:
    """The text as it is compared: the same for everything that is the same to its reader."""
    out = []
    for char in unicodedata.normalize("NFKC", text):
        category = unicodedata.category(char)
        if category == "Pd" or char == "\u2212":
            out.append("-")
        elif category not in ("Cf", "Cc") or char.isspace():
            out.append(char)
    return " ".join("".join(out).casefold().split())


def without_zeros(text: str) -> str:
    """Folded, without the zeros that a spreadsheet drops when it takes a serial for a number."""
    return _ZEROS.sub("", fold(text))


@lru_cache(maxsize=100_000)
def skeleton(text: str) -> str:
    """What is left when everything that looks alike is one: for warnings, never for taking two
    serials for the same."""
    latin = without_zeros(text).translate(_ALPHABETS).translate(_DIGITS)
    return "".join(char for char in latin if char.isalnum())
