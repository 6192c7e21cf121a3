"""Text as people type it: one kind of space, dash and letter, and the many words for unknown."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

#: Signs that nobody sees: zero-width, soft hyphen, direction marks, byte order mark.
_UNSEEN = re.compile("[\u200b-\u200f\u202a-\u202e\u2060-\u2064\u00ad\ufeff]")
_DASHES = str.maketrans(
    dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe58\uff0d", "-")
)
_QUOTES = str.maketrans({"\u2019": "'", "\u2018": "'", "\u201c": '"', "\u201d": '"'})
#: Letters of other alphabets that look like Latin ones.
_LOOKALIKES = str.maketrans(
    "АВСЕНІЈКМОРЅТХаеорсухіј" + "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ",
    "ABCEHIJKMOPSTXaeopcyxij" + "ABEZHIKMNOPTYX",
)
#: A raised power of ten, before it would become plain digits.
_RAISED = re.compile("(?<=10)[⁺⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_PLAIN = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")

UNKNOWN = frozenset(
    {
        *("", "-", "--", "---", "?", "??", "???", "n/a", "na", "n.a.", "n.a", "none", "unknown"),
        *("not known", "unk", "unk.", "u/k", "tbc", "tbd", "t.b.c.", "t.b.d.", "not available"),
        *("not stated", "not recorded", "no record", "no data", "nil", ".", "/", "x", "xx", "xxx"),
        *("unbekannt", "not applicable", "missing", "blank", "?/?", "n/k", "nk", "to be confirmed"),
    }
)
#: A serial that somebody looked for and could not read.
UNREADABLE = re.compile(
    r"illegible|unreadable|not readable|not legible|cannot be read|can't be read|worn|painted over|"
    r"corroded|no label|no plate|no serial|no s/n|not visible|inaccessible|see remark|"
    r"label missing",
    re.IGNORECASE,
)
DITTO = frozenset(
    {
        *('"', '""', "''", "〃", '-"-', "do", "do.", "ditto", "dto", "dto.", "id."),
        *("as above", "same", "same as above"),
    }
)


@lru_cache(maxsize=20_000)
def tidy(text: str) -> str:
    """One line with single spaces; full-width letters, dashes and quotes in their plain form."""
    if text.isascii():
        return " ".join(text.split())
    text = _RAISED.sub(lambda run: "^" + run[0].translate(_PLAIN), text)
    seen = unicodedata.normalize("NFKC", _UNSEEN.sub("", text))
    return " ".join(seen.translate(_DASHES).translate(_QUOTES).split())


def identity(text: str) -> tuple[str, bool]:
    """A serial or tag as it is compared, and whether it was written with other signs."""
    plain = tidy(text)
    if not plain.isascii():
        latin = plain.translate(_LOOKALIKES)
        if latin.isascii():
            plain = latin
    return plain, plain != " ".join(text.split())


def is_unknown(text: str) -> bool:
    """Whether a text only says that nobody knows."""
    if len(text) > 60:
        return False
    return tidy(text).strip(" ()[].").casefold() in UNKNOWN or text.strip().casefold() in UNKNOWN


def is_ditto(text: str) -> bool:
    """Whether a text only repeats the cell above."""
    return text.strip().casefold() in DITTO


def has_control(text: str) -> bool:
    """Whether a text holds a sign that no keyboard types."""
    return _CONTROL.search(text) is not None
