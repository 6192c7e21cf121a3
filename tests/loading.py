"""Files of a site's own, written out in a test as a comma-separated list."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory.ledger.models import Record
from reports.exchange import pending
from reports.exchange.models import PendingFile
from reports.exchange.write import write
from tests import factories
from tests.pages import NOW, TODAY

HEADS = "Nuclide,Activity,Reference date,Maker,Model,S/N,Location,Gauge,Last wipe,Wipe result"


def line(serial: str, **cells: str) -> str:
    """One source of a list; a cell is set by its head in small letters, spaces as underscores."""
    values = {
        "nuclide": "Cs-137",
        "activity": "3.7 GBq",
        "reference_date": "2020-11-01",
        "maker": "Maker",
        "model": "M1",
        "s/n": serial,
        "location": "Store",
        "gauge": "",
        "last_wipe": "",
        "wipe_result": "",
    } | cells
    return ",".join(values.values())


def content(*lines: str, heads: str = HEADS) -> bytes:
    """The file."""
    return "\n".join([heads, *lines]).encode() + b"\n"


def waiting_file(site: Site, *lines: str, name: str = "list.csv", at: Any = NOW) -> PendingFile:
    """A file that waits at a site."""
    by = factories.rps_of(site)
    return pending.keep(site, name, content(*lines or [line("L-1")]), by=by, at=at)


def load_file(site: Site, *lines: str, today: date = TODAY) -> Record:
    """The record that says that a file was loaded."""
    waiting = waiting_file(site, *lines)
    plan = pending.look(waiting, site, today)
    by = factories.rps_of(site)
    loaded = write(plan, bytes(waiting.content), by=by, at=NOW)
    waiting.delete()
    return Record.objects.get(site=site, seq=loaded.seq)


def serials(numbers: Sequence[int]) -> list[str]:
    """Lines of so many sources, each in a gauge of its own."""
    return [line(f"L-{number}", gauge=f"G-{number}") for number in numbers]
