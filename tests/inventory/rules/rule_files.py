"""A rule-set file to spoil: what a test of the loader changes, and what it looks at."""

from __future__ import annotations

from pathlib import Path

import pytest

from inventory.rules.load import RuleFault, load

TEST_ONLY = Path(__file__).resolve().parents[2] / "data" / "rulesets"

GOOD = """
[ruleset]
id = "xx"
version = 3
title = "Invented"

[leak_limit]
bq = 185
comparator = "exceeds"
required_detection_bq = 100
document = "Invented rules"
clause = "7 (e)"
known_by = "own"

[[row]]
id = "leak.default"
requirement = "leak_test"
months = 6
document = "Invented rules"
clause = "7 (a)"
known_by = "own"
checked_on = 2025-05-01

[[row]]
id = "leak.gauge"
requirement = "leak_test"
months = 12
mode = "replaces"
when = { whereabouts = "in_gauge", gas = false }
document = "Invented rules"
clause = "7 (b)"
known_by = "own"

[[row]]
id = "calibration.default"
requirement = "calibration"
months = 12
document = "Invented rules"
clause = "8"
known_by = "own"
"""


def write(folder: Path, text: str | bytes, name: str = "xx-3.toml") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def fault_of(folder: Path, text: str | bytes) -> str:
    with pytest.raises(RuleFault) as fault:
        load(write(folder, text))
    return str(fault.value)


def fault_with(folder: Path, table: str) -> str:
    """The fault of the good file with one more table at its end."""
    return fault_of(folder, f"{GOOD}\n{table}")
