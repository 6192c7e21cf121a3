"""Invented rule sets and rows: a test sets only what it is about."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from inventory.rules import adopted, load
from inventory.rules.load import row_from
from inventory.rules.schema import Row

ALPHA = """
[ruleset]
id = "aa"
version = {version}
title = "Alpha"

[words]
supervisor = "keeper"

[leak_limit]
bq = 185
comparator = "exceeds"
required_detection_bq = 100
document = "Alpha rules"
clause = "7"
known_by = "own"

[tables.free]
title = "Free in Alpha"
document = "Alpha rules"
clause = "annex"
known_by = "own"
[tables.free.bq]
"Cs-137" = 1e4

[[row]]
id = "leak.default"
requirement = "leak_test"
months = {months}
document = "Alpha rules"
clause = "7 (a)"
known_by = "own"

[[row]]
id = "leak.small"
requirement = "leak_test"
result = "not_required"
when = {{ quotient = {{ table = "free", below = 1 }} }}
document = "Alpha rules"
clause = "7 (b)"
known_by = "own"

[[row]]
id = "calibration.default"
requirement = "calibration"
months = 12
document = "Alpha rules"
clause = "8"
known_by = "own"
"""
BETA = (
    ALPHA.replace('id = "aa"', 'id = "bb"')
    .replace("Alpha", "Beta")
    .replace("free", "minor")
    .replace("months = 12", "months = 14")
    .replace("keeper", "warden")
)


def write_rules(folder: Path) -> None:
    """Alpha in versions 1 (24 months) and 2 (12 months), Beta in version 1 (6 months)."""
    texts = {
        "aa-1": ALPHA.format(version=1, months=24),
        "aa-2": ALPHA.format(version=2, months=12),
        "bb-1": BETA.format(version=1, months=6),
    }
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")


def forget() -> None:
    """Nothing that was read before is remembered."""
    adopted.forget()
    load.template.cache_clear()


@contextmanager
def rules_in(folder: Path) -> Iterator[None]:
    """Rule sets are read from a folder with Alpha and Beta in it."""
    write_rules(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(load, "FOLDER", folder)
        forget()
        yield
    forget()


def schedule(rule_set: str = "aa", version: int = 1, **more: Any) -> dict[str, Any]:
    """What a schedule's record says, as far as it makes rules."""
    return {"rule_set": rule_set, "version": version} | more


def row_table(**fields: Any) -> dict[str, Any]:
    """The table of a row that asks for a leak test every six months."""
    table: dict[str, Any] = {
        **{"id": "own.leak", "requirement": "leak_test"},
        **{"document": "Own", "clause": "1", "known_by": "own"},
    }
    if fields.get("result", "interval") == "interval" and "days" not in fields:
        table["months"] = 6
    return table | fields


def row(**fields: Any) -> Row:
    """The row of that table."""
    return row_from("row", row_table(**fields))
