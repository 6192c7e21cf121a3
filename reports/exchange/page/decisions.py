"""What the owner of a file decides on its page: answers, corrected cells, rows left out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from reports.exchange import pending
from reports.exchange.asking import MOVES
from reports.exchange.models import PendingFile
from reports.exchange.reading.settling import NOT_USED
from reports.exchange.understood import Row

#: Longer than any text that a register takes.
LONGEST = 2000
#: Signs that no text of a record may hold.
_UNKEPT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_CELL = re.compile(r"cell:([A-Z]{1,3})([0-9]{1,7})")


class Refused(Exception):
    """What was sent cannot be decided so; the sentence says why."""


def act(request: Any, waiting: PendingFile) -> PendingFile:
    """Carry out one of the page's buttons. Raises Refused, or LoadFault."""
    doing = _BUTTONS.get(request.POST.get("do", ""))
    if doing is None:
        raise Refused(_("This button is not known here: please load the page anew."))
    if any(_UNKEPT.search(text) for pair in request.POST.items() for text in pair):
        raise Refused(_("What was sent holds signs that cannot be seen: please write it anew."))
    return doing(request, waiting)


def _answer(request: Any, waiting: PendingFile) -> PendingFile:
    """The answers of the form; each ``question-N`` names the question that ``answer-N`` is for."""
    sent, answers = request.POST, {}
    for name, key in sent.items():
        if name.startswith("question-"):
            place = name.removeprefix("question-")
            chosen, day = sent.get(f"answer-{place}", ""), sent.get(f"day-{place}", "")
            answers[key] = _one_answer(key, chosen, day)
    return pending.decide(waiting, pending.answered(answers))


def _one_answer(key: str, chosen: str, day: str) -> str:
    """One of the options, or for a move any other day."""
    if key != MOVES or chosen != "another":
        return chosen
    try:
        return date.fromisoformat(day).isoformat()
    except ValueError as error:
        raise Refused(_("“%(text)s” is not a day.") % {"text": day[:40]}) from error


def _columns(request: Any, waiting: PendingFile) -> PendingFile:
    """What a sheet is a list of and what its columns hold; what stays as it was recognised is no
    decision."""
    sent, sheet = request.POST, request.POST.get("sheet", "")
    read = next((one for one in pending.understood_of(waiting).sheets if one.name == sheet), None)
    if read is None:
        raise Refused(_("This sheet is not there any more: please look again."))
    answers = {}
    if sent.get("kind", read.kind) != read.kind:
        answers[f"kind:{sheet}"] = sent["kind"]
    for column in read.columns:
        chosen = sent.get(f"column:{column.letter}")
        if chosen and chosen != (column.field or NOT_USED):
            answers[f"column:{sheet}!{column.letter}"] = chosen
    return pending.decide(waiting, pending.answered(answers))


def _row(request: Any, waiting: PendingFile) -> Row:
    key = request.POST.get("key", "")
    for row in pending.understood_of(waiting).rows:
        if row.key == key:
            return row
    raise Refused(_("This row is not there any more: please look again."))


def _correct(request: Any, waiting: PendingFile) -> PendingFile:
    """The cells of one row. What is written as in the file is no correction."""
    row, book = _row(request, waiting), pending.understood_of(waiting).book
    cells: dict[str, str | None] = {}
    for name, text in request.POST.items():
        named = _CELL.fullmatch(name)
        if named is not None and int(named[2]) == row.line:
            cell, tidy = named[1] + named[2], text[:LONGEST].strip()
            same = tidy == pending.as_in_the_file(book, row.sheet, cell).strip()
            cells[f"{row.sheet}!{cell}"] = None if same else tidy
    return pending.decide(waiting, pending.corrected(cells))


def _leave(request: Any, waiting: PendingFile) -> PendingFile:
    return pending.decide(waiting, pending.left_out(_row(request, waiting).key))


def _take(request: Any, waiting: PendingFile) -> PendingFile:
    return pending.decide(waiting, pending.taken_back(_row(request, waiting).key))


def _leave_wrong(request: Any, waiting: PendingFile) -> PendingFile:
    """Every row that is wrong as it stands."""
    plan = pending.look(waiting, request.site, request.today)
    return pending.decide(waiting, pending.left_out(*(one.row.key for one in plan.faulty)))


_BUTTONS: Mapping[str, Callable[[Any, PendingFile], PendingFile]] = {
    "answer": _answer,
    "columns": _columns,
    "row": _correct,
    "leave": _leave,
    "take": _take,
    "leave-wrong": _leave_wrong,
}
