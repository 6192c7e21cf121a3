"""From a book of typed cells to what it says: fields, rows, questions."""

from reports.exchange.reading.understanding import understand

__all__ = ["understand"]
