"""A register as a file, complete or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reports.registers.base import Register

ENDINGS = (".pdf", ".csv", ".xlsx")


def content_of(register: Register, ending: str, paper: Any = "A4") -> bytes:
    """The register in the form that the ending names, such as ".csv"."""
    if ending == ".csv":
        from reports.registers.csv_out import to_csv

        return to_csv(register)
    if ending == ".xlsx":
        from reports.registers.xlsx_out import to_xlsx

        return to_xlsx(register)
    from reports import pdf

    return pdf.render(register, paper)


def write(register: Register, path: Path, paper: Any = "A4") -> None:
    """Write the register in the form that the ending names; an old file is replaced at once, when
    the new one is complete."""
    content = content_of(register, path.suffix.lower(), paper)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_bytes(content)
    part.replace(path)
