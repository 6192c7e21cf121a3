"""Uploaded files that wait for their owner: kept, decided about, looked at, forgotten.

Nothing here is evidence. Opening and understanding are done anew for every look; the last few
small files are kept in memory, so that correcting one cell of a thousand rows answers at once.
"""

from __future__ import annotations

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from threading import Lock
from typing import Any, Generic, TypeVar

from django.db import transaction

from config.accounts.models import Site, User
from reports.exchange.models import PendingFile
from reports.exchange.opening import open_book
from reports.exchange.plan import plan
from reports.exchange.planned import Plan
from reports.exchange.reading import understand
from reports.exchange.understood import Book, Decisions, Understood

KEPT_FOR = timedelta(days=7)
#: Files with more rows than this are read again for every look.
SMALL = 5_000
T = TypeVar("T")


class Recent(Generic[T]):
    """The last few things made, by what they were made from. One for each process."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._made: OrderedDict[Any, T] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Any, make: Callable[[], T], keep: Callable[[T], bool]) -> T:
        """What was made from this, made if it is not there any more."""
        with self._lock:
            if key in self._made:
                self._made.move_to_end(key)
                return self._made[key]
        made = make()
        if keep(made):
            with self._lock:
                self._made[key] = made
                while len(self._made) > self._most:
                    self._made.popitem(last=False)
        return made


_books: Recent[Book] = Recent(2)
_understood: Recent[Understood] = Recent(4)


def keep(site: Site, name: str, content: bytes, *, by: User, at: datetime) -> PendingFile:
    """Keep an uploaded file until it is decided about. One that waits already is opened again;
    those that nobody came back to for a week are removed."""
    PendingFile.objects.filter(uploaded_at__lt=at - KEPT_FOR).delete()
    fresh = unkept(name, content)
    waiting = of_site(site).filter(sha256=fresh.sha256).first()
    if waiting is not None:
        return waiting
    fresh.site, fresh.by, fresh.uploaded_at = site, by, at
    fresh.save()
    return fresh


def unkept(name: str, content: bytes) -> PendingFile:
    """A file that nobody has decided anything about and that is not kept yet."""
    digest = hashlib.sha256(content).hexdigest()
    return PendingFile(name=name[:200], sha256=digest, content=content)


def of_site(site: Site) -> Any:
    """The files that wait at a site, without their contents."""
    waiting = PendingFile.objects.filter(site=site).select_related("by").defer("content")
    return waiting.order_by("-uploaded_at", "pk")


def check(name: str, content: bytes) -> None:
    """Raises LoadFault when a file cannot be loaded at all, whatever is decided about it."""
    understood_of(unkept(name, content))


def look(waiting: PendingFile, site: Site, today: date) -> Plan:
    """What is understood of a file, and what loading it would do to the site. May raise
    LoadFault."""
    return plan(site, understood_of(waiting), today)


def understood_of(waiting: PendingFile) -> Understood:
    """What is understood of a file with the decisions made so far."""
    decisions = Decisions.from_data(waiting.decisions)
    key = (waiting.sha256, waiting.name, json.dumps(waiting.decisions, sort_keys=True))
    return _understood.get(
        key,
        lambda: understand(_book_of(waiting), decisions),
        lambda found: is_small(found.book),
    )


def _book_of(waiting: PendingFile) -> Book:
    return _books.get(
        (waiting.sha256, waiting.name),
        lambda: open_book(waiting.name, bytes(waiting.content)),
        is_small,
    )


def is_small(book: Book) -> bool:
    """Whether a file is worth keeping in memory."""
    return sum(len(sheet.lines) for sheet in book.sheets) <= SMALL


def decide(waiting: PendingFile, change: Callable[[Decisions], Decisions]) -> PendingFile:
    """Change what is decided about a file; two browsers at once lose nothing."""
    with transaction.atomic():
        row = PendingFile.objects.select_for_update().defer("content").get(pk=waiting.pk)
        row.decisions = change(Decisions.from_data(row.decisions)).to_data()
        row.save(update_fields=["decisions"])
    return row


def answered(answers: dict[str, str]) -> Callable[[Decisions], Decisions]:
    """Answers to questions; an empty one takes an earlier answer back."""

    def change(old: Decisions) -> Decisions:
        merged = {**old.answers, **answers}
        return replace(old, answers={key: value for key, value in merged.items() if value})

    return change


def corrected(cells: dict[str, str | None]) -> Callable[[Decisions], Decisions]:
    """Texts that stand in the place of cells; None: the cell as the file has it."""

    def change(old: Decisions) -> Decisions:
        merged = {**old.cells, **cells}
        return replace(old, cells={key: text for key, text in merged.items() if text is not None})

    return change


def left_out(*keys: str) -> Callable[[Decisions], Decisions]:
    """Rows that are not to be loaded."""
    return lambda old: replace(old, left_out=old.left_out | set(keys))


def taken_back(*keys: str) -> Callable[[Decisions], Decisions]:
    """Rows that are to be loaded after all."""
    return lambda old: replace(old, left_out=old.left_out - set(keys))


def as_in_the_file(book: Book, sheet: str, cell: str) -> str:
    """What the file has in a cell, as its owner sees it; nothing where there is no such cell."""
    letters = cell.rstrip("0123456789")
    number = int(cell.removeprefix(letters))
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - ord("A") + 1
    for one in book.sheets:
        if one.name == sheet:
            for line in one.lines:
                if line.number == number:
                    return line.cells[column - 1].text if column <= len(line.cells) else ""
    return ""
