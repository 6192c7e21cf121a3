"""How much of a file is read, and the refusal of everything beyond it."""

from __future__ import annotations

from typing import NoReturn

from inventory.calc.explain import Scalar, Step
from reports.exchange.understood import LoadFault

MEBIBYTE = 1024 * 1024
LARGEST_FILE = 10 * MEBIBYTE

MOST_SHEETS = 50
MOST_ROWS = 20_000
MOST_COLUMNS = 200
#: Filled cells of all sheets: what a list of that many rows with some thirty columns has.
MOST_CELLS = 600_000
LONGEST_CELL = 32_767
#: Elements of all sheets that are parsed one by one: four for each cell that may be filled.
MOST_ELEMENTS = 4 * MOST_CELLS


def refuse(code: str, **values: Scalar) -> NoReturn:
    """The whole file, in one sentence."""
    raise LoadFault([Step(code, values)])


class Filled:
    """Counts what was read of all sheets and refuses what is too much."""

    def __init__(self) -> None:
        self.rows = self.cells = self.elements = 0

    def parse(self, elements: int) -> None:
        """Elements of a sheet that are about to be parsed."""
        self.elements += elements
        if self.elements > MOST_ELEMENTS:
            refuse("open_bomb")

    def line(self, sheet: str, number: int, cells: int, columns: int) -> None:
        """A row with ``cells`` filled cells, the last of them in column ``columns``."""
        if columns > MOST_COLUMNS:
            refuse("open_too_many_columns", sheet=sheet, row=number, most=MOST_COLUMNS)
        self.rows += 1
        if self.rows > MOST_ROWS:
            refuse("open_too_many_rows", most=MOST_ROWS)
        self.cells += cells
        if self.cells > MOST_CELLS:
            refuse("open_too_many_cells", most=MOST_CELLS)
