"""Does every record still say what was written? ``manage.py check_records``."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inventory.ledger.fault import Fault
from inventory.ledger.models import Chain, Record
from inventory.ledger.verify import check_everything, one_moment

WIDEST = 40
WORDS = {
    "text_changed": gettext_lazy("text changed"),
    "column_changed": gettext_lazy("column changed"),
    "entry_missing": gettext_lazy("entry missing"),
    "hash_broken": gettext_lazy("hash broken"),
    "attachment_missing": gettext_lazy("attachment missing"),
    "attachment_changed": gettext_lazy("attachment changed"),
    "trigger_missing": gettext_lazy("not protected"),
    "derived_differs": gettext_lazy("not what the records say"),
}
LIMITS = gettext_lazy(
    "A chain cannot find a cut tail, an old backup put back, or all of it written anew: compare "
    "each head below with one kept elsewhere, such as on a register that was handed out."
)


def printable(text: str) -> str:
    """Text of a database that anybody may have written to, harmless on any terminal."""
    return "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)


def shortened(text: str) -> str:
    """Not wider than a column."""
    text = printable(text)
    return text if len(text) <= WIDEST else text[: WIDEST - 1] + "…"


def as_data(fault: Fault) -> dict[str, Any]:
    """A fault for programs; bytes that are no text are written as escapes."""
    return {
        name: value.encode("utf-8", "backslashreplace").decode()
        if isinstance(value, str)
        else value
        for name, value in asdict(fault).items()
    }


def table(faults: Sequence[Fault]) -> Iterator[str]:
    """The faults for people, a line each."""
    heads = (
        *(_("Chain"), _("No."), _("Where"), _("What")),
        *(_("Expected"), _("Found")),
    )
    rows = [heads, *(_cells(fault) for fault in faults)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(heads))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield "  ".join(cells).rstrip()


def _cells(fault: Fault) -> tuple[str, ...]:
    where = f"{fault.table}.{fault.column}" if fault.column else fault.table
    return (
        shortened(fault.chain or "-"),
        "" if fault.seq is None else shortened(str(fault.seq)),
        shortened(where),
        str(WORDS[fault.fault]),
        shortened(fault.expected),
        shortened(fault.found),
    )


class Command(BaseCommand):
    help = "Verifies every record, attachment and derived row; changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="for programs")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with one_moment():
                faults = list(check_everything())
                chains = list(Chain.objects.select_related("site").order_by("pk"))
                records = Record.objects.count()
        except DatabaseError as error:
            raise CommandError(_("The database cannot be read: %s") % error) from error
        if options["json"]:
            rows = [as_data(fault) for fault in faults]
            self.stdout.write(json.dumps(rows, indent=2, ensure_ascii=False))
        else:
            self._print(faults, chains, records)
        if faults:
            count = len(faults)
            raise CommandError(
                ngettext(
                    "%(count)s thing is not as it was recorded.",
                    "%(count)s things are not as they were recorded.",
                    count,
                )
                % {"count": count}
            )

    def _print(self, faults: Sequence[Fault], chains: Sequence[Chain], records: int) -> None:
        for line in table(faults) if faults else ():
            self.stdout.write(line)
        if not faults:
            self.stdout.write(
                _("No fault: %(records)s in %(chains)s and what rests on them are as written.")
                % {
                    "records": ngettext("%(n)s record", "%(n)s records", records) % {"n": records},
                    "chains": ngettext("%(n)s chain", "%(n)s chains", len(chains))
                    % {"n": len(chains)},
                }
            )
        self.stdout.write(str(LIMITS))
        for chain in chains:
            values = {"chain": chain, "length": chain.length, "head": chain.head}
            self.stdout.write(printable(_("%(chain)s  %(length)s  %(head)s") % values))
