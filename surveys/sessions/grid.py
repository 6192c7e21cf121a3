"""Buttons that change the grid and judge nothing: more rows, pasted counts, what is due."""

from __future__ import annotations

from typing import Any

from surveys.sessions.rows import MORE, MOST, ROWS, Rows, rows_in, written_values

Values = list[dict[str, str]]


def more(data: Any) -> Rows:
    """The same rows and some empty ones."""
    return Rows.filled(written_values(data), rows_in(data) + MORE)


def cleared(data: Any) -> Rows:
    """Without the rows that have no count."""
    kept = [one for one in written_values(data) if one["gross"].strip()]
    return Rows.filled(kept, ROWS)


def chosen(data: Any) -> Rows:
    """With a row for each thing that was ticked and does not stand there yet."""
    rows = _without_end(written_values(data))
    there = {one["what"].strip().casefold() for one in rows}
    rows += [{"what": text} for text in data.getlist("due") if text.casefold() not in there]
    return Rows.filled(rows, rows_in(data))


def pasted(data: Any) -> Rows:
    """With the lines of a spreadsheet's column put into the rows from the first one down.

    One cell a line: counts. Two: what was wiped, and counts. Three: and seconds. An empty line
    leaves its row as it is.
    """
    rows = written_values(data)
    for place, line in enumerate(data.get("paste", "").rstrip().splitlines()[:MOST]):
        if place == len(rows):
            rows.append({})
        rows[place] = {**rows[place], **_cells(line)}
    return Rows.filled(rows, rows_in(data))


def _cells(line: str) -> dict[str, str]:
    cells = [cell.strip() for cell in line.split("\t")]
    if not any(cells):
        return {}
    names = ("gross",) if len(cells) == 1 else ("what", "gross", "seconds")
    return {name: cell for name, cell in zip(names, cells, strict=False) if cell}


def _without_end(rows: Values) -> Values:
    """Without the empty rows below the last written one."""
    while rows and not any(value.strip() for value in rows[-1].values()):
        rows.pop()
    return rows
