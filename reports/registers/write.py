"""A register as a file, complete or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reports.registers.base import Register

ENDINGS = (".pdf", ".csv")


def write(register: Register, path: Path, paper: Any = "A4") -> None:
    """Write the register in the form that the ending names; an old file is replaced at once, when
    the new one is complete."""
    if path.suffix.lower() == ".csv":
        from reports.registers.csv_out import to_csv

        content = to_csv(register)
    else:
        from reports import pdf

        content = pdf.render(register, paper)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    part.write_bytes(content)
    part.replace(path)
