"""What a list says came of a wipe: a figure, a bound, counts per minute, or a word."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from inventory.calc.units import Activity, format_activity
from reports.exchange.reading.asking import CellFault
from reports.exchange.reading.cells import with_unit
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.heads import rate_of
from reports.exchange.reading.sentences import said
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell

PASSED, FAILED = "passed", "failed"
Sign = Literal["=", "<", "<="]

_GOOD = (
    r"pass(?:ed|es)?|ok|okay|o\.k\.|good|satisfactory|sat|neg(?:ative)?|no leak(?:age)?|"
    r"not leaking|leak[- ]free|clean|clear|acceptable|within limits?|below limit|compliant|tight|"
    r"complies"
)
_BAD = (
    r"fail(?:ed|s|ure)?|leak(?:s|ing|age)?|leaker|pos(?:itive)?|not ok|unsat(?:isfactory)?|"
    r"contaminated|above limit|over limit|not passed|rejected|not acceptable|did not pass"
)
_NOT_DETECTED = (
    r"n\.?d\.?|bdl|b\.d\.l\.|<? ?(?:mda|mdl|lld|lod|dl|mdc)|not detect(?:ed|able)|none detected|"
    r"below (?:the )?(?:detection limit|mda|mdl|lld|lod|dl|detection)|no activity(?: detected)?|"
    r"nothing detected|undetect(?:ed|able)|(?:at |= ?)?(?:background|bkg|bg|bgd)"
)
_WORDS = ((FAILED, _BAD), (PASSED, _GOOD), ("", _NOT_DETECTED))
_PENDING = re.compile(
    r"pending|awaited|awaiting.*|at lab(oratory)?|sent( off| to .*)?|in progress|not (yet )?back|"
    r"not done|not tested|due|overdue|to do|result awaited|never",
    re.IGNORECASE,
)
_SIGNS: dict[str, Sign] = {
    **dict.fromkeys(("<=", "≤", "=<", "max", "max.", "up to", "at most"), "<="),
    **dict.fromkeys(("<", "less than", "below", "under", "lt", "＜"), "<"),
}
_SIGNED = re.compile(r"^(<=|=<|≤|<|less than|below|under|lt|up to|at most|max\.?) ?(.+)$", re.I)
_MORE = re.compile(r"^(>|>=|≥|more than|over|above|greater than) ?[0-9]", re.I)
_APPROXIMATE = re.compile(r"^(approx\.?|about|ca\.?|circa|~|≈) ?(?=[0-9])", re.I)
_PLUS_MINUS = re.compile(r" ?(?:±|\+/-|\+-|\+ ?/ ?-) ?")
_FACTOR = re.compile(r"[ ,;(]*k ?= ?([0-9](?:\.[0-9]+)?)\)?|[ ,;(]*([123]) ?(?:σ|sigma)\)?", re.I)
_RATE = re.compile(r"^<? ?[0-9][0-9.,]* ?(cpm|cps|counts?/min(?:ute)?|c/m|counts?)\b", re.I)


@dataclass(frozen=True, slots=True)
class ResultRead:
    """What the cell says. ``rate``: counts that are no activity, as written; ``word``: what it
    calls the result; ``pending``: there is no result yet."""

    word: str = ""
    not_detected: bool = False
    value: Activity | None = None
    sign: Sign = "="
    uncertainty: Activity | None = None
    factor: float | None = None
    limit: Activity | None = None
    rate: str = ""
    pending: str = ""

    @property
    def text(self) -> str:
        """How it was understood."""
        parts = [self.word] if self.word else []
        if self.value is not None:
            sign = {"=": "", "<": "< ", "<=": "≤ "}[self.sign]
            shown = self.value.text
            if "bq" not in shown.lower():
                shown = f"{shown} = {format_activity(self.value.bq)}"
            parts.append(sign + shown)
        if self.uncertainty is not None:
            parts.append(f"± {self.uncertainty.text}")
        if self.not_detected:
            parts.append(said("said_not_detected"))
        if self.limit is not None:
            parts.append(said("said_detection_limit", text=self.limit.text))
        return ", ".join([*parts, *([self.rate] if self.rate else [])])


def read_result(row: RowReader, cell: Cell) -> tuple[ResultRead, str]:
    """One cell: ``<185``, ``ND``, ``OK (3 Bq)``, ``1.2 ± 0.3 Bq (k=2)``, ``12 cpm``."""
    text = tidy(cell.text)
    if isinstance(cell.content, bool):
        found = ResultRead(word=PASSED if cell.content else FAILED)
        return found, found.text
    if is_unknown(text):
        return ResultRead(), ""
    if _PENDING.fullmatch(text):
        return ResultRead(pending=text), ""
    if len(text) > 120:
        raise CellFault("read_result_not_understood", text=text[:60])
    found = _read(row, text)
    return found, found.text


def _read(row: RowReader, text: str) -> ResultRead:
    word, not_detected, rest = _words(text)
    base = ResultRead(word=word, not_detected=not_detected)
    if not rest:
        return base
    if _rate(row, rest):
        return replace(base, rate=rest)
    if _MORE.match(rest):
        raise CellFault("read_result_more_than", text=rest)
    limit = re.match(r"^(?:mda|mdl|lld|lod|dl|mdc)[ :=]*(.+)$", rest, re.I)
    if not_detected and (limit or not _SIGNED.match(rest)):
        return replace(base, limit=with_unit(row, "result", limit[1] if limit else rest))
    return _figures(row, replace(base, not_detected=False), rest)


def _words(text: str) -> tuple[str, bool, str]:
    """The word that a cell says, whether nothing was detected, and what stands beside it."""
    for word, pattern in _WORDS:
        for shape in (
            rf"^({pattern})[.!]?$",
            rf"^({pattern})\b[\s:,;(\[–-]+(?P<rest>.*[0-9].*?)[)\]]?$",
            rf"^(?P<rest>.*[0-9].*?)[\s:,;(\[–-]+({pattern})[)\].!]?$",
        ):
            found = re.fullmatch(shape, text, re.I)
            if found:
                rest = (found.groupdict().get("rest") or "").strip()
                return word, not word, rest
    return "", False, text


def _rate(row: RowReader, text: str) -> bool:
    """Counts per time: the text says so, or the head of the column does."""
    column = row.column("result")
    said = rate_of(column.head) if column else ""
    if row.filled("result_unit"):
        said = rate_of(row.text("result_unit", 20))
    bare = re.fullmatch(r"[<>≤≥=~ ]*[0-9., ]+", text) is not None
    return _RATE.match(text) is not None or (bare and bool(said))


def _figures(row: RowReader, base: ResultRead, text: str) -> ResultRead:
    sign: Sign = "="
    if found := _SIGNED.match(text):
        sign, text = _SIGNS[found[1].lower()], found[2]
    if (plain := _APPROXIMATE.sub("", text)) != text:
        row.note("read_approximate", {"text": text})
        text = plain
    factor = None
    if found := _FACTOR.search(text):
        factor, text = float(found[1] or found[2]), _FACTOR.sub("", text).strip(" ()")
    parts = _PLUS_MINUS.split(text)
    if len(parts) > 2:
        raise CellFault("read_result_not_understood", text=text)
    if len(parts) == 1:
        return replace(base, sign=sign, value=with_unit(row, "result", text, "result_unit"))
    value, spread = (one.strip(" ()") for one in parts)
    unit = re.search(r"[A-Za-zµμ].*$", spread) or re.search(r"[A-Za-zµμ].*$", value)
    value, spread = (_given(one, unit[0] if unit else "") for one in (value, spread))
    uncertainty = with_unit(row, "result", spread, "result_unit")
    return replace(
        base,
        sign=sign,
        value=with_unit(row, "result", value, "result_unit"),
        uncertainty=uncertainty if uncertainty.exact > 0 else None,
        factor=factor,
    )


def _given(text: str, unit: str) -> str:
    return text if re.search(r"[A-Za-zµμ]", text) else f"{text} {unit}".strip()


# ---------------------------------------------------------------- pass and fail columns

_TICKS = frozenset(("✓", "✔", "☑", "✅", "🗸", "√"))
_CROSSES = frozenset(("x", "✗", "✘", "☒", "❌", "✕", "×"))
_YES = frozenset(("yes", "y", "true", "ja", "oui"))
_NO = frozenset(("no", "n", "false", "nein", "non"))


def read_claim(text: str) -> str:
    """``passed``, ``failed``, ``cross`` where a cross may mean either, or nothing."""
    low = tidy(text).casefold().strip(" .!")
    if is_unknown(text) and low != "x":
        return ""
    if low in _TICKS or low in _YES or re.fullmatch(_GOOD, low) or low == "p":
        return PASSED
    if low in _NO or re.fullmatch(_BAD, low) or low == "f":
        return FAILED
    if low in _CROSSES:
        return "cross"
    if _PENDING.fullmatch(low):
        return ""
    if re.fullmatch(_NOT_DETECTED, low):
        return PASSED
    raise CellFault("read_claim_not_understood", text=tidy(text)[:60])


def read_leaking(text: str) -> str:
    """A column that asks whether it leaks: yes is a failure. An ``OK`` is still good."""
    low = tidy(text).casefold().strip(" .!")
    if low in _YES or low in _TICKS:
        return FAILED
    if low in _NO or low in ("none", "nil"):
        return PASSED
    return read_claim(text)
