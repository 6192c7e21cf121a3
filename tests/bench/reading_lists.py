"""What it costs to open and understand a list, in seconds of the processor.

``python -m tests.bench.reading_lists``
"""

from __future__ import annotations

import csv
import io
import os
import random
import time

HEADS = (
    *("Gauge", "Isotope", "Activity (mCi)", "Ref date", "S/N", "Maker", "Model", "Location"),
    *("Date received", "Last wipe date", "Wipe result", "Wiped by", "Supplier", "Remarks"),
)
ALLOWED = {1_000: 1.5, 10_000: 15.0}


def made(rows: int, seed: int = 1) -> bytes:
    """A list of sources with a last wipe each, in mixed spellings."""
    rng = random.Random(seed)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEADS)
    for n in range(rows):
        result = rng.choice(["<5 Bq", "OK", "ND", "2.3 ± 0.5 Bq", "0.002 uCi"])
        writer.writerow(
            [
                *(f"G-{n // 2}", rng.choice(["Cs-137", "137Cs", "Co60", "Am241Be"])),
                *(rng.choice(["100", "3.7 GBq", "1,5"]), rng.choice(["25/12/2010", "03/04/05"])),
                *(f"S-{n}", "Maker", "M1", f"Area {n % 30}", "2011-02-03", "7 May 2024"),
                *(result, "Laboratory", "Supplier", ""),
            ]
        )
    return out.getvalue().encode()


def main() -> None:
    """Print each size with its time; fail where it took too long."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings_test")
    import django

    django.setup()
    from inventory.calc.nuclides import read_nuclides
    from reports.exchange.opening import open_book
    from reports.exchange.reading import nuclide, understand
    from reports.exchange.understood import Decisions

    table = read_nuclides()
    nuclide.nuclides = lambda known=None: table
    for rows, allowed in ALLOWED.items():
        content = made(rows)
        began = time.process_time()
        book = open_book("list.csv", content)
        opened = time.process_time()
        found = understand(book, Decisions())
        ended = time.process_time()
        print(
            f"{rows} rows: opened in {opened - began:.2f} s, understood in {ended - opened:.2f} s"
        )
        assert len(found.rows) == rows and not found.faulty
        assert ended - opened < allowed


if __name__ == "__main__":
    main()
