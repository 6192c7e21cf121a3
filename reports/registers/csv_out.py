"""A register for programs: the plain table as CSV, and the same with its title block as JSON."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from io import StringIO
from typing import Any

from .base import Cell, Drawn, Register, cells

BOM = b"\xef\xbb\xbf"

# A spreadsheet runs a field as a formula if it begins like this; it also skips white space before
# it and reads the full-width forms.
_FORMULA = re.compile(r"[\t\r\n]|\s*[=+\-@＝＋－＠]")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def neutral(text: str) -> str:
    """A field that no spreadsheet runs: an apostrophe before what begins like a formula.

    Numbers stay numbers, with their sign.
    """
    if _FORMULA.match(text) and not _NUMBER.fullmatch(text):
        return "'" + text
    return text


def csv_lines(register: Register, rows: Drawn | None = None) -> Iterator[bytes]:
    """The table as UTF-8 with byte order mark and CRLF, piece by piece.

    Heads with units, then one line per row, values in full precision; nothing else, so that every
    program reads it. ``rows``: the cells, if somebody has them already.
    """
    yield BOM + _line(column.full_head for column in register.columns_for("programs"))
    for row in cells(register) if rows is None else rows:
        yield _line(cell.value for cell in register.cells_for("programs", row))


def to_csv(register: Register, rows: Drawn | None = None) -> bytes:
    """``csv_lines`` in one piece."""
    return b"".join(csv_lines(register, rows))


def _line(fields: Iterable[str]) -> bytes:
    out = StringIO()
    csv.writer(out, lineterminator="\r\n").writerow([neutral(field) for field in fields])
    return out.getvalue().encode("utf-8", "replace")


def metadata(register: Register) -> dict[str, Any]:
    """The title block, totals, notes and cautions; moments in UTC."""
    at = register.at
    return {
        "kind": register.kind,
        "title": register.title,
        "number": register.number,
        "site": register.site_name,
        "address": register.site_address,
        "from_date": None if register.from_on is None else register.from_on.isoformat(),
        "on_date": at.on.isoformat(),
        "known_at": None if at.known is None else _moment(at.known),
        "schedule": register.schedule_line,
        "made_at": _moment(register.made_at),
        "made_by": register.made_by,
        "time_zone": register.zone.key,
        "chain_head_sha256": register.chain_head,
        "chain_records": register.chain_seq,
        "rows": len(register.rows),
        "totals": list(register.totals),
        "notes": {note.mark: note.text for note in register.notes},
        "cautions": list(register.cautions),
    }


def to_json(register: Register, rows: Drawn | None = None) -> bytes:
    """Title block, columns and rows as UTF-8 JSON; ``rows`` as for ``csv_lines``."""
    data = {
        "register": metadata(register),
        "columns": [
            {"key": column.key, "head": column.head, "unit": column.unit, "kind": column.kind}
            for column in register.columns_for("programs")
        ],
        "rows": [_row(register, row) for row in (cells(register) if rows is None else rows)],
    }
    text = json.dumps(data, ensure_ascii=False, indent=1)
    return text.encode("utf-8", "replace") + b"\n"


def _row(register: Register, row: Sequence[Cell]) -> dict[str, dict[str, str]]:
    """A row's values by column key; states and footnote marks where there are any."""
    columns, drawn = register.columns_for("programs"), register.cells_for("programs", row)
    keyed = [(column.key, cell) for column, cell in zip(columns, drawn, strict=True)]
    parts = {
        "values": {key: cell.value for key, cell in keyed},
        "states": {key: cell.state for key, cell in keyed if cell.state},
        "marks": {key: cell.mark for key, cell in keyed if cell.mark},
    }
    return {name: part for name, part in parts.items() if part}


def _moment(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds")
