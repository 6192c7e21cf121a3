"""Rows that a list still shows and that may be gone: struck through, or said to be disposed of."""

from __future__ import annotations

import re

from inventory.calc.explain import Step
from reports.exchange.reading.asking import Waiting, options
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.sentences import said
from reports.exchange.reading.texts import tidy
from reports.exchange.understood import Skipped

LOAD, LEAVE = "load", "leave"
_GONE = re.compile(
    r"dispos|return(ed)? to|sent back|scrap|gone|transferr?ed (to|out)|removed from site|no longer|"
    r"decommission|sold|exported|withdrawn|shipped|off ?site|^out$",
    re.IGNORECASE,
)


def skipped(row: RowReader) -> Skipped | None:
    """The row as one that is left out, when its owner has said so; asked once for each sign."""
    status = tidy(row.cell("status").text)
    for key, sign, code in (
        ("gone", bool(status and _GONE.search(status)), "read_skipped_gone"),
        ("struck", row.row.struck, "read_skipped_struck"),
    ):
        if not sign:
            continue
        row.note("read_says_gone" if key == "gone" else "read_struck", {"text": status})
        try:
            if _ask(row, key, status) == LEAVE:
                text = " | ".join(tidy(cell.text) for cell in row.row.cells if cell.text)
                return Skipped(row.sheet, row.row.number, text[:200], Step(code, {"text": status}))
        except Waiting:
            row.waiting = True
    if status:
        row.text("status", 200)
        if row.kind == "sources" and not _GONE.search(status):
            row.remarks.append(said("remark_status", text=status))
    return None


def _ask(row: RowReader, key: str, status: str) -> str:
    question = Step("read_ask_gone" if key == "gone" else "read_ask_struck")
    labels = options(LOAD, LEAVE, prefix="read_gone_")
    where = f"{row.sheet}!{row.row.number}"
    return row.asking.ask(key, question, labels, f"{where}: {status}" if status else where)
