"""Columns that their heads alone do not settle: by what stands in them, by an answer, by asking."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from inventory.calc.explain import Step
from reports.exchange.reading.asking import Asking, Waiting
from reports.exchange.reading.dates import settle as settle_order
from reports.exchange.reading.layout import Place
from reports.exchange.reading.texts import is_unknown
from reports.exchange.reading.vocabulary import NEEDED, PHRASES, UNUSED
from reports.exchange.understood import Cell, Option, Sheet, SheetKind

#: The answer for a column that holds nothing of use.
NOT_USED = "none"
_DATED = re.compile(r"(19|20)[0-9]{2}|[0-9]{1,2}[-/. ][0-9A-Za-z]+[-/. ][0-9]{2}")


def complete(
    sheet: Sheet,
    kind: SheetKind,
    found: Sequence[Place],
    samples: Callable[[int], Sequence[Cell]],
    is_nuclide: Callable[[str], bool],
    asking: Asking,
) -> tuple[list[Place], list[Step], bool]:
    """Columns that words alone do not settle: by what stands in them, by an answer, by a question.
    Gives the columns, notes, and whether an answer is waited for."""
    notes: list[Step] = []
    out = list(found)
    for at, one in enumerate(found):
        if asking.stated(f"column:{sheet.name}!{one.letter}"):
            out[at] = _stated(sheet, kind, out, at, samples, asking)
    out = _by_content(out, kind, samples, is_nuclide, notes)
    waiting = False
    for group in NEEDED[kind]:
        if any(one.field in group for one in out):
            continue
        for at, one in enumerate(out):
            if one.field or asking.stated(f"column:{sheet.name}!{one.letter}"):
                continue
            if any(cell.content is not None for cell in samples(one.index)):
                try:
                    _ask_column(sheet, kind, out, at, samples, asking)
                except Waiting:
                    waiting = True
    return out, notes, waiting


def _stated(
    sheet: Sheet,
    kind: SheetKind,
    out: Sequence[Place],
    at: int,
    samples: Callable[[int], Sequence[Cell]],
    asking: Asking,
) -> Place:
    """A column whose field its owner has named; it can be named anew, so it stays a question."""
    one = out[at]
    try:
        name = _ask_column(sheet, kind, out, at, samples, asking)
    except Waiting:
        return one
    return Place(one.index, one.head, UNUSED if name == NOT_USED else name, 1.0)


def _by_content(
    out: list[Place],
    kind: SheetKind,
    samples: Callable[[int], Sequence[Cell]],
    is_nuclide: Callable[[str], bool],
    notes: list[Step],
) -> list[Place]:
    fields = {one.field for one in out}
    for at, one in enumerate(out):
        texts = [cell.text for cell in samples(one.index) if not is_unknown(cell.text)]
        if not texts or one.field == UNUSED:
            continue
        open_to = kind in ("sources", "wipes") and "nuclide" not in fields
        if open_to and one.field in ("", "model", "serial", "gauge"):
            named = sum(map(is_nuclide, texts)) / len(texts)
            if named >= 0.6:
                out[at] = Place(one.index, one.head, "nuclide", 1.0)
                fields.add("nuclide")
                notes.append(Step("read_column_by_content", {"text": one.head or one.letter}))
        if one.field == "wiped_on" and "result" not in fields and not any(map(_dated, texts)):
            out[at] = Place(one.index, one.head, "result", one.fit)
            fields.add("result")
    return out


def _dated(text: str) -> bool:
    return _DATED.search(text[:60]) is not None or bool(settle_order([text[:60]]).settled)


def _ask_column(
    sheet: Sheet,
    kind: SheetKind,
    out: Sequence[Place],
    at: int,
    samples: Callable[[int], Sequence[Cell]],
    asking: Asking,
) -> str:
    """The field of a column as answered. Raises Waiting."""
    one = out[at]
    taken = {place.field for place in out if place is not one}
    free = [name for name in PHRASES[kind] if name != UNUSED and name not in taken]
    labels = [Option(name, Step(f"read_field_{name}")) for name in free]
    labels.append(Option(NOT_USED, Step("read_field_none")))
    seen = [cell.text[:30] for cell in samples(one.index) if cell.content is not None][:3]
    values = {"sheet": sheet.name, "column": one.letter, "text": one.head}
    return asking.ask(
        f"column:{sheet.name}!{one.letter}",
        Step("read_ask_column", values),
        labels,
        f"{one.letter}: {', '.join(seen)}",
    )
