"""From the bytes of a file to a book of typed cells, safely."""

from reports.exchange.opening.door import open_book, open_path

__all__ = ["open_book", "open_path"]
