"""What stands over a column: its field, its unit, and a day or a nuclide named there."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from inventory.calc.errors import DomainError
from inventory.calc.nuclides import normalise
from inventory.calc.units import to_unit
from reports.exchange.reading.vocabulary import (
    EVIDENCE,
    NOT_YET,
    PHRASES,
    TEMPLATE,
    UNUSED,
    plain_words,
)

#: Units of a time, as written (small letters), in seconds.
TIME_UNITS: Mapping[str, int] = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1),
    **dict.fromkeys(("min", "mins", "minute", "minutes"), 60),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), 3600),
}
RATES = ("cpm", "cps")
#: Counts per time in a head or a cell, in whatever words.
_PER_MINUTE = re.compile(r"\bcpm\b|\bc(oun)?ts?/ ?m|\bc/ ?m|/ ?min|\bper ?min", re.I)
_PER_SECOND = re.compile(
    r"\bcps\b|\bc(oun)?ts?/ ?s(ec\w*)?\b|\bc/ ?s(ec\w*)?\b|\bper ?(s|sec\w*)\b", re.I
)
_SCALED = re.compile(r"\b10 ?(?:\^|\*\*|E|[⁰¹²³⁴-⁹⁺⁻-])|\b[x×*] ?[0-9]|\b10{3,} ", re.I)
_BRACKETS = re.compile(r"[\[(]([^\[\]()]*)[\])]")
_NUMBER_OF = re.compile(
    r"(?:no\.?|number|#)\s*of\s+(?:the\s+)?(?:sealed\s+)?(?:sources|capsules)", re.I
)
_NUCLIDE = re.compile(r"\b([A-Z][a-z]?[ -]?\d{1,3}m?|\d{1,3}m?[ -]?[A-Z][a-z]?)\b")
_DAY = re.compile(
    r"\d{4}-\d{2}-\d{2}|\d{1,2}(?:st|nd|rd|th)?[ -][A-Za-z]{3,9}[ -]\d{4}|"
    r"\d{1,2}[./]\d{1,2}[./]\d{4}"
)
_EFFICIENCY = {"efficiency", "response"}
#: Words that name a field only where no other word stands beside them.
_ALONE = frozenset(
    {
        *("date", "no", "unit", "type", "time", "tag", "by", "test", "sample", "use", "state"),
        *("item", "line", "where", "position", "u", "description", "information"),
    }
)
#: The field of a column over which only a unit of activity stands.
_UNIT_ALONE = {"sources": "activity", "wipes": "result"}
#: How well the words must fit: all of the phrase, and not many beside it.
_LEAST = 0.5
_LONGEST = 120


@dataclass(frozen=True, slots=True)
class Head:
    """A head taken apart. ``unit``: as its letters stand there; ``day``: as written."""

    text: str
    words: frozenset[str]
    unit: str = ""
    nuclide: str = ""
    day: str = ""
    basis: str = ""


@dataclass(frozen=True, slots=True)
class Match:
    """The field that a head names, and how well (0 to 1)."""

    field: str
    fit: float


@lru_cache(maxsize=4096)
def take_apart(text: str) -> Head:
    """A head as it is written: ``Act. [mCi]``, ``Last leak test / date``, ``Eff. Cs-137 (%)``."""
    tidy = " ".join(unicodedata.normalize("NFKC", text[:_LONGEST]).split())
    if TEMPLATE.get(tidy.lower()):
        return Head(tidy, frozenset({tidy.lower()}))
    unit, rest = _unit(tidy)
    day = _DAY.search(rest)
    if day:
        rest = rest.replace(day[0], " ")
    words = plain_words(rest)
    nuclide, basis = "", ""
    if words & _EFFICIENCY:
        found = _NUCLIDE.search(rest)
        nuclide = normalise(found[1]) if found else ""
        basis = _basis(tidy)
    return Head(tidy, words, unit, nuclide, day[0] if day else "", basis)


def _unit(text: str) -> tuple[str, str]:
    """The unit that a head names, in brackets or as its last word, and the head without it."""
    for inside in _BRACKETS.findall(text):
        if is_unit(inside.strip()):
            rate = inside.strip().lower() in RATES  # a word of the head as well
            return inside.strip(), text if rate else text.replace(inside, " ").strip()
    parts = re.split(r"[\s,;:/]+(?=\S+$)", text)
    if len(parts) == 2 and is_unit(parts[1]) and parts[1].lower() not in ("h", "s"):
        return parts[1], text if parts[1].lower() in RATES else parts[0]
    return (text, text) if is_unit(text) else ("", text)


def is_unit(text: str) -> bool:
    """Whether a text is the name of a unit that a list can have, and nothing else."""
    if text.lower() in TIME_UNITS or text.lower() in RATES or text == "%":
        return True
    try:
        to_unit(1.0, text)
    except DomainError as error:
        return error.code == "activity_ambiguous"
    return True


def _basis(text: str) -> str:
    """What an efficiency is counted per, where the head says so."""
    low = text.lower().replace(" ", "")
    if re.search(r"4(pi|π)|perdecay|cps/bq|cpm/dpm|c/d", low):
        return "per_decay"
    if re.search(r"2(pi|π)|peremission|surfaceemission", low):
        return "per_2pi_emission"
    if re.search(r"bq/?cm|bq\.cm|bqcm", low):
        return "surface_response"
    return ""


def rate_of(text: str) -> str:
    """The rate that a head or a cell is in: ``cpm``, ``cps`` or none."""
    if _PER_MINUTE.search(text):
        return "cpm"
    return "cps" if _PER_SECOND.search(text) else ""


def is_scaled(text: str) -> bool:
    """Whether a head says that its numbers are to be multiplied: ``Result 10^3 Bq``."""
    return _SCALED.search(text) is not None


@lru_cache(maxsize=8192)
def field_of(text: str, kind: str) -> Match:
    """The field of a kind of list that a head names; an empty one where no words fit."""
    head = take_apart(text)
    if (template := TEMPLATE.get(head.text.lower())) and kind == "sources":
        return Match(template, 1.0)
    if kind == "sources" and _NUMBER_OF.match(head.text):
        return Match("quantity", 1.0)
    if head.unit and head.unit == head.text and kind in _UNIT_ALONE and not _is_time(head.unit):
        return Match(_UNIT_ALONE[kind], 1.0)
    if head.nuclide and kind in ("monitors", "calibrations"):
        return Match(f"efficiency:{head.nuclide}", 1.0)
    best = Match("", 0.0)
    for field, phrases in PHRASES[kind].items():
        fit = max(_fit(phrase, head.words) for phrase in phrases)
        if fit > best.fit or (fit == best.fit and best.field == UNUSED):
            best = Match(field, fit)
    if best.fit < _LEAST:
        return Match("", 0.0)
    return Match(UNUSED, best.fit) if _of_another_time(best.field, kind, head.words) else best


def _of_another_time(field: str, kind: str, words: frozenset[str]) -> bool:
    """Whether a head speaks of what is still to be done, or of its limit: a due date that was
    taken for the day of a wipe would make an overdue source look tested."""
    if field not in EVIDENCE or not words & NOT_YET:
        return False
    return not any(phrase <= words and phrase & NOT_YET for phrase in PHRASES[kind][field])


def _is_time(unit: str) -> bool:
    return unit.lower() in TIME_UNITS or unit.lower() in RATES or unit == "%"


def _fit(phrase: frozenset[str], words: frozenset[str]) -> float:
    """1 where the words are the phrase; less for each word beside it; 0 where one is missing."""
    if not phrase or not phrase <= words or (phrase != words and phrase <= _ALONE):
        return 0.0
    return len(phrase) / len(words)
