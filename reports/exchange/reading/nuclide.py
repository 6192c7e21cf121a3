"""Nuclides of a list: each spelling is looked up once for a file."""

from __future__ import annotations

from collections.abc import Mapping

from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.calc.nuclides import NuclideData, resolve
from inventory.nuclides.read import nuclides
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell


class Nuclides:
    """The nuclide table as the database has it, read once."""

    def __init__(self) -> None:
        self._table: Mapping[str, NuclideData] = nuclides()
        self._known: dict[str, str | DomainError] = {}

    def resolve(self, text: str) -> str:
        """The table's name for what is written. Raises DomainError."""
        if text not in self._known:
            try:
                self._known[text] = resolve(text, self._table).name
            except DomainError as error:
                self._known[text] = error
        found = self._known[text]
        if isinstance(found, DomainError):
            values: dict[str, Scalar] = dict(found.values)
            raise DomainError(found.code, values, field=found.field)
        return found

    def is_one(self, text: str) -> bool:
        """Whether a text is the name of a nuclide."""
        try:
            self.resolve(tidy(text))
        except DomainError:
            return False
        return True


def read_nuclide(row: RowReader) -> str:
    """The nuclide of a row by the table's name; empty where the row states none."""

    def read(cell: Cell) -> tuple[str, str]:
        if is_unknown(cell.text):
            return "", ""
        found = row.nuclides.resolve(tidy(cell.text))
        return found, found

    return row.take("nuclide", read, "")
