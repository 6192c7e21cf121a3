"""How much longer a register takes than a bare WeasyPrint table with the same words.

Run from the repository: ``python -m tests.bench.register_pdf [rows] [rounds]``. Prints, for each
kind of register with invented rows, the least time of each and their ratio; exit code 1 if one is
above 1.5. Seconds differ between computers, the ratio hardly.

``python -m tests.bench.register_pdf demo`` with the demo's settings draws the four registers of
the sites that are there, as PDF, CSV and XLSX, and prints how long that takes together.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from html import escape

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")

TARGET, TOGETHER = 1.5, 10.0
# As little as a table with fixed columns and rules can be: no title block, tags or attachments.
BARE = (
    "@page{size:A4 landscape;margin:12mm}table{width:100%;table-layout:fixed;font:7.8pt sans-serif;"
    "border-spacing:0}td{border-bottom:1px solid #ccc;overflow-wrap:anywhere;white-space:pre-line}"
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
    """The shortest of so many runs, in seconds of the processor: others may be using it too."""
    seconds = []
    for _ in range(rounds):
        started = time.process_time()
        what()
        seconds.append(time.process_time() - started)
    return min(seconds)


def main(rows: int = 1000, rounds: int = 3) -> int:
    """The ratio of each kind."""
    from reports.pdf import render
    from reports.registers.base import cells
    from tests.reports.invented_registers import MAKERS, register_of

    worst = 0.0
    for kind in MAKERS:
        whole = register_of(kind, rows)
        words = [[cell.text for cell in whole.cells_for("people", row)] for row in cells(whole)]
        render(register_of(kind, 1))
        bare(words[:1])  # both have imported what they need
        plain = least(rounds, lambda words=words: bare(words))
        ours = least(rounds, lambda whole=whole: render(whole))
        worst = max(worst, ours / plain)
        print(
            f"{kind}, {rows} rows: bare table {plain:.2f} s, register {ours:.2f} s, "
            f"ratio {ours / plain:.2f}"
        )
    return int(worst > TARGET)


def demo() -> int:
    """Every register of every site that is there, in every form."""
    from config import clock
    from config.accounts.models import Role, Site, User
    from inventory.calc.asof import AsOf
    from reports.registers.kinds import KINDS, build
    from reports.registers.write import ENDINGS, content_of

    total = worked_total = 0.0
    for site in Site.objects.all():
        by, now = (
            User.objects.filter(site_roles__site=site, site_roles__role=Role.RPS)[0],
            clock.now(),
        )
        for kind in KINDS.values():
            started, worked = time.perf_counter(), time.process_time()
            made = build(kind, site, AsOf(site.day(now)), by=by, made_at=now)
            built = time.perf_counter() - started
            for ending in ENDINGS:
                content_of(made, ending)
            took, work = time.perf_counter() - started, time.process_time() - worked
            total, worked_total = total + took, worked_total + work
            print(f"{site.slug} {kind.key}: {len(made.rows)} rows, built in {built:.2f} s, "
                  f"all forms in {took:.2f} s")  # fmt: skip
    print(f"together {total:.2f} s, {worked_total:.2f} s of the processor")
    return int(total > TOGETHER)


if __name__ == "__main__":
    import django

    django.setup()
    sys.exit(demo() if sys.argv[1:] == ["demo"] else main(*map(int, sys.argv[1:])))
