"""Columns of the usual kinds, each made from the name of a field of the row."""

from __future__ import annotations

from datetime import date
from operator import attrgetter
from typing import Any

from inventory.calc.units import format_activity
from inventory.sentences import day_text
from reports.registers.base import Cell, Column, Readers


def text(
    key: str, head: str, width: float = 1.0, *, joined: str = ", ", only: Readers | None = None
) -> Column:
    """Words; for programs the lines of a cell become one, and no space is of a kind of its own."""
    of = attrgetter(key)

    def get(row: Any) -> Cell:
        said = of(row)
        return Cell(said, raw=said.replace("\n", joined).replace("\u00a0", " "))

    return Column(key, head, get, width=width, only=only)


def number(key: str, head: str, width: float = 1.0, *, only: Readers | None = None) -> Column:
    """A plain number, such as that of a record."""
    of = attrgetter(key)

    def get(row: Any) -> Cell:
        value = of(row)
        return Cell("" if value is None else str(value))

    return Column(key, head, get, kind="number", width=width, only=only)


def activity(
    key: str, head: str, width: float = 1.0, *, unknown: str = "", only: Readers | None = None
) -> Column:
    """An activity in Bq: three figures for people, everything for programs."""
    of = attrgetter(key)

    def get(row: Any) -> Cell:
        value = of(row)
        if value is None:
            return Cell(unknown, raw="")
        return Cell(format_activity(value), raw=repr(value))

    return Column(key, head, get, raw_unit="Bq", kind="number", width=width, only=only)


def day(key: str, head: str, width: float = 1.0, *, only: Readers | None = None) -> Column:
    """A day, or nothing."""
    of = attrgetter(key)

    def get(row: Any) -> Cell:
        value: date | None = of(row)
        return Cell(day_text(value), raw=value.isoformat()) if value else Cell("")

    return Column(key, head, get, kind="date", width=width, only=only)


def code(key: str, head: str, width: float = 1.0) -> Column:
    """The code of an item with the mark of the row's footnote."""
    of = attrgetter(key)
    return Column(key, head, lambda row: Cell(of(row), mark=row.mark), width=width)


def heading(key: str, head: str) -> Column:
    """What stands over the rows that share it."""
    of = attrgetter(key)
    return Column(key, head, lambda row: Cell(of(row)), kind="heading")


def state(key: str, head: str, width: float = 1.0) -> Column:
    """The row's sentence with the shape of its state before it."""
    return Column(
        key, head, lambda row: Cell(row.sentence, state=row.state), kind="state", width=width
    )
