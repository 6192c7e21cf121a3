"""What the owner of a file decides on its page: answers, corrected cells, rows left out."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from reports.exchange import pending, shown
from reports.exchange.asking import MOVES
from reports.exchange.models import PendingFile
from reports.exchange.understood import Row

#: Longer than any text that a register takes.
LONGEST = 2000
_CELL = re.compile(r"cell:([A-Z]{1,3}[0-9]{1,7})")


class Refused(Exception):
    """What was sent cannot be decided so; the sentence says why."""


def act(request: Any, waiting: PendingFile) -> PendingFile:
    """Carry out one of the page's buttons. Raises Refused."""
    known: dict[str, Callable[[Any, PendingFile], PendingFile]] = {
        "answer": _answer,
        "row": _correct,
        "leave": lambda sent, file: pending.decide(file, pending.left_out(_row(sent, file).key)),
        "take": lambda sent, file: pending.decide(file, pending.taken_back(_row(sent, file).key)),
        "leave-wrong": _leave_wrong,
    }
    doing = known.get(request.POST.get("do", ""))
    if doing is None:
        raise Refused(_("This button is not known here: please load the page anew."))
    if doing is _leave_wrong:
        plan = pending.look(waiting, request.site, request.today)
        return pending.decide(waiting, pending.left_out(*(one.row.key for one in plan.faulty)))
    return doing(request.POST, waiting)


def _leave_wrong(sent: Any, waiting: PendingFile) -> PendingFile:
    raise NotImplementedError


def _answer(sent: Any, waiting: PendingFile) -> PendingFile:
    """The answers of the form; each field names the question it is about."""
    answers: dict[str, str] = {}
    for name, key in sent.items():
        if name.startswith("question-"):
            place = name.removeprefix("question-")
            answers[key] = _one_answer(key, sent.get(f"answer-{place}", ""), sent.get(f"day-{place}", ""))
    return pending.decide(waiting, pending.answered(answers))


def _one_answer(key: str, chosen: str, day: str) -> str:
    """One of the options, or for a move any other day."""
    if key == MOVES and chosen == "another":
        try:
            return date.fromisoformat(day).isoformat()
        except ValueError as error:
            raise Refused(_("“%(text)s” is not a day.") % {"text": day[:40]}) from error
    return chosen


def _row(sent: Any, waiting: PendingFile) -> Row:
    key = sent.get("key", "")
    for row in pending.understood_of(waiting).rows:
        if row.key == key:
            return row
    raise Refused(_("This row is not there any more: please look again."))


def _correct(sent: Any, waiting: PendingFile) -> PendingFile:
    """The cells of one row. What is written as in the file is no correction."""
    row, book = _row(sent, waiting), pending.understood_of(waiting).book
    cells: dict[str, str | None] = {}
    for name, text in sent.items():
        named = _CELL.fullmatch(name)
        if named is None or int(re.sub(r"\D", "", named[1])) != row.line:
            continue
        tidy = text[:LONGEST].strip()
        same = tidy == pending.as_in_the_file(book, row.sheet, named[1]).strip()
        cells[f"{row.sheet}!{named[1]}"] = None if same else tidy
    return pending.decide(waiting, pending.corrected(cells))


__all__ = ["Refused", "act", "shown"]
