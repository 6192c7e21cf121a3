"""How a sheet is laid out: where its heads are, what it lists, which column holds what."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from typing import Any, get_args

from inventory.calc.explain import Step
from reports.exchange.opening.sheet import column_letter
from reports.exchange.reading.asking import Asking, Waiting, options
from reports.exchange.reading.heads import field_of, is_unit, take_apart
from reports.exchange.reading.texts import tidy
from reports.exchange.reading.vocabulary import NEEDED, UNUSED
from reports.exchange.understood import Cell, Line, Sheet, SheetKind

#: Filled rows above which the heads must stand.
_LOOKED_AT = 40
KINDS: tuple[SheetKind, ...] = get_args(SheetKind)
LISTS = tuple(kind for kind in KINDS if kind != "other")
_NAMES: tuple[tuple[SheetKind, str], ...] = (
    ("calibrations", r"calib"),
    ("monitors", r"monitor|instrument|meter|counter"),
    ("wipes", r"wipe|leak|swab|smear|swipe"),
    ("gauges", r"gauge|housing|device"),
    ("sources", r"source|register|inventory|nuclide"),
)
_PROCESS_NAMES = re.compile(r"^(sheet|tabelle|feuil|hoja|blad)? ?\d*$|^(list|data|table)$", re.I)


@dataclass(frozen=True, slots=True)
class Heads:
    """The heads of a sheet. ``last``: index of the line that ends them; ``texts`` by column."""

    first: int
    last: int
    texts: Sequence[str]


@dataclass(frozen=True, slots=True)
class Place:
    """One column of a sheet: where it is, what stands over it, what it was found to hold."""

    index: int
    head: str
    field: str
    fit: float

    @property
    def letter(self) -> str:
        return column_letter(self.index + 1)


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet as it was recognised."""

    kind: SheetKind
    heads: Heads
    places: Sequence[Place]


# ---------------------------------------------------------------- heads


def find_heads(lines: Sequence[Line]) -> Heads | None:
    """The line, or the two lines, that name most fields; None where nothing looks like heads."""
    best: tuple[float, Heads] | None = None
    for at in range(min(len(lines), _LOOKED_AT)):
        for heads in _candidates(lines, at):
            score = _score(heads.texts)
            if best is None or score > best[0] + 0.4:
                best = score, heads
    return best[1] if best and best[0] >= 2 else None


def _candidates(lines: Sequence[Line], at: int) -> Iterator[Heads]:
    above = lines[at].cells
    if _is_data(above):
        return
    yield Heads(at, at, [tidy(cell.text) for cell in above])
    if at + 1 < len(lines) and lines[at + 1].number == lines[at].number + 1:
        below = lines[at + 1].cells
        if not _is_data(below) and _only_heads(below):
            yield Heads(at, at + 1, _joined(above, below))


def _is_data(cells: Sequence[Cell]) -> bool:
    return any(isinstance(cell.content, Decimal | date | time | bool) for cell in cells)


def _only_heads(cells: Sequence[Cell]) -> bool:
    """A line below heads belongs to them if each of its cells is a head or a unit."""
    texts = [tidy(cell.text) for cell in cells if cell.content is not None]
    named = [text for text in texts if is_unit(text.strip("()[] ")) or _best(text) > 0.9]
    named += [text for text in texts if text.casefold() in ("by", "date", "result", "when", "who")]
    return bool(texts) and len(set(named)) >= 0.6 * len(set(texts))


def _joined(above: Sequence[Cell], below: Sequence[Cell]) -> list[str]:
    """Two lines of heads as one; a head over several columns stands in its first alone."""
    texts, group = [], ""
    for index in range(max(len(above), len(below))):
        upper = tidy(above[index].text) if index < len(above) else ""
        lower = tidy(below[index].text) if index < len(below) else ""
        group = upper or (group if lower else "")
        if upper == lower or not lower:
            texts.append(upper or lower)
        elif is_unit(lower.strip("()[] ")):
            texts.append(f"{group} ({lower.strip('()[] ')})")
        else:
            texts.append(f"{group} {lower}".strip())
    return texts


def _score(texts: Sequence[str]) -> float:
    """How many different fields a line names, the clear ones for more."""
    best: dict[str, float] = {}
    for text in texts:
        if text and len(text) < 80:
            best[text] = _best(text)
    return sum(best.values())


def _best(text: str) -> float:
    return max((field_of(text, kind).fit for kind in LISTS), default=0.0)


# ---------------------------------------------------------------- columns


def places(heads: Heads, kind: SheetKind) -> list[Place]:
    """The field of each column by its words; of two columns that would be one field the better
    fits, except places, which are read together."""
    out: list[Place] = []
    taken: dict[str, int] = {}
    for index, text in enumerate(heads.texts):
        match = field_of(text, kind) if text else None
        name, fit = (match.field, match.fit) if match else ("", 0.0)
        if name and name not in (UNUSED, "place") and name in taken:
            other = out[taken[name]]
            if other.fit >= fit:
                name = ""
            else:
                out[taken[name]] = Place(other.index, other.head, "", 0.0)
        if name and name not in (UNUSED, "place"):
            taken[name] = len(out)
        out.append(Place(index, text, name, fit))
    return out


def kind_of(sheet: Sheet, heads: Heads, asking: Asking) -> SheetKind:
    """What a sheet lists: by its columns, then by its name; asked where both leave it open."""
    if asking.stated(f"kind:{sheet.name}") in KINDS:
        return _ask_kind(sheet, heads, asking)
    fit = [kind for kind in LISTS if _complete(heads, kind)]
    fields = {kind: {one.field for one in places(heads, kind)} for kind in LISTS}
    named = next((kind for kind, pattern in _NAMES if re.search(pattern, sheet.name, re.I)), None)
    described = {"activity"} < fields["sources"] & {"activity", "serial", "reference"}
    if described and not {"sources", "wipes"} & set(fit):
        return "sources"  # its nuclides are found by what stands in the cells
    if "sources" in fit and "wipes" in fit:
        fit.remove("sources" if _lists_wipes(fields, named) else "wipes")
    if "sources" in fit and fields["sources"] & {"activity", "serial", "reference", "quantity"}:
        return "sources"
    if "wipes" in fit and "sources" not in fit:
        return "wipes"
    about = _about(heads)
    if about in fit:
        return about
    if named in fit and named is not None:
        return named
    if len(fit) == 1:
        return fit[0]
    if not fit and len({one for names in fields.values() for one in names} - {"", UNUSED}) < 3:
        return "other"
    return _ask_kind(sheet, heads, asking)


def _ask_kind(sheet: Sheet, heads: Heads, asking: Asking) -> SheetKind:
    question = Step("read_ask_kind", {"text": sheet.name})
    labels = options(*KINDS, prefix="read_kind_")
    example = f"{sheet.name}: {' | '.join(text for text in heads.texts if text)}"[:200]
    try:
        return _as_kind(asking.ask(f"kind:{sheet.name}", question, labels, example))
    except Waiting:
        return "other"


def _as_kind(text: str) -> SheetKind:
    return next(kind for kind in KINDS if kind == text)


def _lists_wipes(fields: Mapping[Any, set[str]], named: SheetKind | None) -> bool:
    """A list with nuclides is one of wipes when nothing in it describes the source."""
    described = {"reference", "received", "supplier", "quantity", "certificate_on"}
    if fields["sources"] & described:
        return False
    one_activity = "activity" in fields["sources"] and "result" in fields["sources"]
    return named == "wipes" or not one_activity


def _complete(heads: Heads, kind: SheetKind) -> bool:
    fields = {one.field for one in places(heads, kind)}
    return all(any(name in fields for name in group) for group in NEEDED[kind])


def _about(heads: Heads) -> SheetKind | None:
    """What the words of the heads are about, where several kinds would fit."""
    words = {word for text in heads.texts for word in take_apart(text).words}
    if words & {"nuclide"} and words & {"activity", "capsule"}:
        return "sources"
    if words & {"instrument", "monitor", "probe", "detector", "counter"} or (
        words & {"calibration"} and not words & {"nuclide", "gauge", "housing"}
    ):
        lists = words & {"location", "probe", "type", "kept", "building", "area", "room", "where"}
        return "monitors" if lists else "calibrations"
    return "gauges" if words & {"gauge", "housing", "shutter"} else None


def place_of_sheet(name: str, sheets: int) -> str:
    """A sheet named after a building is the place of what it lists."""
    if sheets < 2 or _PROCESS_NAMES.match(name):
        return ""
    return "" if any(re.search(pattern, name, re.I) for _, pattern in _NAMES) else name
