"""How much longer a register takes than a bare WeasyPrint table with the same words.

Run from the repository: ``python -m tests.bench.register_pdf [rows] [rounds]``. Prints the least
time of each and their ratio; exit code 1 if the ratio is above 1.5. Seconds differ between
computers, the ratio hardly.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from html import escape

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")

TARGET = 1.5
# As little as a table with fixed columns and rules can be: no title block, tags or attachments.
BARE = (
    "@page{size:A4 landscape;margin:12mm}table{width:100%;table-layout:fixed;font:7.8pt sans-serif;"
    "border-spacing:0}td{border-bottom:1px solid #ccc;overflow-wrap:anywhere}"
)


def bare(words: list[list[str]]) -> bytes:
    """The same words in one table, nothing else."""
    from weasyprint import HTML

    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(word)}</td>" for word in row) + "</tr>" for row in words
    )
    pdf: bytes = HTML(string=f"<style>{BARE}</style><table>{rows}</table>").write_pdf()
    return pdf


def least(rounds: int, what: Callable[[], object]) -> float:
    """The shortest of so many runs, in seconds."""
    seconds = []
    for _ in range(rounds):
        started = time.perf_counter()
        what()
        seconds.append(time.perf_counter() - started)
    return min(seconds)


def main(rows: int = 1000, rounds: int = 3) -> int:
    import django

    django.setup()
    from reports.pdf import render
    from reports.registers.base import cells
    from tests.reports.invented import register

    whole = register(rows)
    words = [[cell.text for cell in row] for row in cells(whole)]
    render(register(1))
    bare(words[:1])  # both have imported what they need
    plain = least(rounds, lambda: bare(words))
    ours = least(rounds, lambda: render(whole))
    print(f"{rows} rows: bare table {plain:.2f} s, register {ours:.2f} s, ratio {ours / plain:.2f}")  # noqa: T201
    return int(ours / plain > TARGET)


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
