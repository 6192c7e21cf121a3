"""Rule-set files (TOML) to frozen data. A fault names file, row, field and what was expected."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Callable, Collection, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

from inventory.rules.basis_read import read_basis, read_limit, read_tables, read_words
from inventory.rules.extras import (
    read_area,
    read_contamination,
    read_monitor,
    read_report,
    read_retention,
)
from inventory.rules.reader import RuleFault, Table, spelt
from inventory.rules.rows import read_row, row_data, row_from
from inventory.rules.schema import Row, RuleSet
from inventory.rules.whole import check_whole

__all__ = ["FOLDER", "RuleFault", "load", "row_data", "row_from", "template", "templates"]

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "rulesets"
NEWEST_VERSION = 9999
_FILE_NAME = re.compile(r"(?P<id>[a-z0-9_]+)-(?P<version>[1-9][0-9]{0,3})\.toml")

T = TypeVar("T")


def load(path: Path) -> RuleSet:
    """Read and validate one rule-set file. Raises RuleFault with one sentence."""
    content = path.read_bytes()
    return understood(path.name, _parsed(path.name, content), hashlib.sha256(content).hexdigest())


def understood(name: str, data: Mapping[str, Any], sha256: str) -> RuleSet:
    """The rule set that parsed TOML says; ``name`` begins every fault. Raises RuleFault."""
    whole = Table(name, data)
    head = _part(whole, name, "ruleset")
    tables = read_tables(_part(whole, name, "tables"))

    def each(field: str, read: Callable[[Table, Collection[str]], T]) -> tuple[T, ...]:
        return tuple(read(one, tables) for one in _listed(whole, name, field))

    rule_set = RuleSet(
        id=head.name("id"),
        version=head.whole("version", 1, NEWEST_VERSION),
        title=head.text("title"),
        note=head.text("note", ""),
        sha256=sha256,
        rows=each("row", _template_row),
        leak_limit=read_limit(_part(whole, name, "leak_limit")),
        tables=tables,
        reports=each("report", read_report),
        retention=each("retention", read_retention),
        areas=each("area", read_area),
        contamination=each("contamination", read_contamination),
        monitors=each("monitor", read_monitor),
        basis=read_basis(_part(whole, name, "basis"), tables),
        words=read_words(_part(whole, name, "words")),
    )
    head.done()
    _nothing_left(whole, name)
    check_whole(name, rule_set)
    return rule_set


def _parsed(name: str, content: bytes) -> dict[str, Any]:
    # A whole number of thousands of digits is a ValueError too, endless brackets a recursion.
    try:
        return tomllib.loads(content.decode())
    except (ValueError, RecursionError) as error:
        reason = " ".join(str(error).split())[:200]
        raise RuleFault(f"{name}: is not a TOML file in UTF-8 ({reason})") from error


def _part(whole: Table, name: str, field: str) -> Table:
    """A table of the file; empty when it is not there, so that its fields are missing."""
    return Table(f"{name}, {field}", whole.data.pop(field, {}))


def _listed(whole: Table, name: str, field: str) -> list[Table]:
    """A list of tables, each named by its place."""
    listed = whole.data.pop(field, [])
    if not isinstance(listed, list):
        raise RuleFault(f"{name}, {field}: expected [[{field}]], a list of tables")
    return [Table(f"{name}, {field}[{place}]", one) for place, one in enumerate(listed, 1)]


def _nothing_left(whole: Table, name: str) -> None:
    for field in whole.data:
        raise RuleFault(f"{name}, {spelt(field)}: is not a part of a rule set")


def _template_row(table: Table, tables: Collection[str]) -> Row:
    """A row of a released file: nobody has decided it for a site."""
    for field in ("authority", "loosened_because", "decided_by", "decided_on"):
        if table.has(field):
            raise table.refuse(field, "is for the schedule of a site, not for a rule file")
    return read_row(table, tables)


@lru_cache(maxsize=64)
def template(rule_set_id: str, version: int) -> RuleSet:
    """A released rule set by id and version, which the file must say too: records keep what the
    file says, and it is found again by that."""
    path = FOLDER / f"{rule_set_id}-{version}.toml"
    if path.parent != FOLDER or not path.is_file():
        raise RuleFault(f"{rule_set_id}-{version}.toml: there is no such rule set")
    rules = load(path)
    if (rules.id, rules.version) != (rule_set_id, version):
        raise RuleFault(f"{path.name}, ruleset: is {rules.id}, version {rules.version}")
    return rules


def templates() -> list[RuleSet]:
    """The newest version of each released rule set, sorted by id."""
    newest: dict[str, int] = {}
    for path in FOLDER.iterdir():
        if found := _FILE_NAME.fullmatch(path.name):
            newest[found["id"]] = max(newest.get(found["id"], 0), int(found["version"]))
    return [template(rule_set_id, newest[rule_set_id]) for rule_set_id in sorted(newest)]
