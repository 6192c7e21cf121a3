"""A site's own schedule: templates by requirement, the site's own rows, what it left out.

The record of a schedule says which templates it is made of, which rows are its own and which rows
of the templates it removed; ``assemble`` makes the rule set of it that everything is decided by.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from inventory.calc.errors import DomainError
from inventory.rules.load import row_from, template
from inventory.rules.schema import Bound, NuclideTable, OwnKind, Row, RuleSet

#: The parts of a record that make its rules; the rest says who adopted it and when.
MAKES_RULES = ("rule_set", "version", "templates", "rows", "removed", "own_kinds")


@dataclass(frozen=True, slots=True)
class Part:
    """A template and the requirements taken from it; None: all that no other part names."""

    rules: RuleSet
    requirements: tuple[str, ...] | None

    def takes(self, requirement: str, named: frozenset[str]) -> bool:
        """Whether the rows of a requirement come from it."""
        if self.requirements is None:
            return requirement not in named
        return requirement in self.requirements


def assemble(detail: Mapping[str, Any]) -> RuleSet:
    """The rule set that a schedule's record stands for; one with nothing but a template is that
    template itself. Raises RuleFault or DomainError for a text that cannot be one."""
    return _assembled(_key(detail, MAKES_RULES))


def base(detail: Mapping[str, Any]) -> RuleSet:
    """The same without the site's own rows and removals: what its templates say."""
    return _assembled(_key(detail, ("rule_set", "version", "templates", "own_kinds")))


def parts(detail: Mapping[str, Any]) -> tuple[Part, ...]:
    """The templates that a record names, the main one first."""
    main = (detail["rule_set"], int(detail["version"]))
    entries = detail.get("templates") or [{"rule_set": main[0], "version": main[1]}]
    found = [_part(entry) for entry in entries]
    found.sort(key=lambda part: (part.rules.id, part.rules.version) != main)
    _check_parts(found)
    return tuple(found)


def _part(entry: Mapping[str, Any]) -> Part:
    wanted = entry.get("requirements")
    rules = template(entry["rule_set"], int(entry["version"]))
    return Part(rules, None if wanted is None else tuple(wanted))


def _check_parts(found: Sequence[Part]) -> None:
    if sum(part.requirements is None for part in found) > 1:
        raise DomainError("two_templates_for_all")
    named = [name for part in found for name in part.requirements or ()]
    for name in named:
        if named.count(name) > 1:
            raise DomainError("two_templates_for_one", {"requirement": name})


def _key(detail: Mapping[str, Any], names: Iterable[str]) -> str:
    """What makes the rules as one text: 10,000 items ask for the same rule set."""
    said = {name: detail[name] for name in names if detail.get(name)}
    return json.dumps(said, sort_keys=True, default=str)


@lru_cache(maxsize=256)
def _assembled(key: str) -> RuleSet:
    detail = json.loads(key)
    found = parts(detail)
    main = found[0].rules
    own = [_own_row(data) for data in detail.get("rows", ())]
    removed = {entry["id"] for entry in detail.get("removed", ())}
    kinds = tuple(OwnKind(**_texts(one)) for one in detail.get("own_kinds", ()))
    if found == (Part(main, None),) and not own and not removed and not kinds:
        return main
    return replace(
        main,
        title=_title(found),
        sha256=_digest(found, key),
        rows=_rows(found, own, removed),
        tables=_tables(found),
        own_kinds=kinds,
    )


def _own_row(data: Mapping[str, Any]) -> Row:
    return row_from(f"row {data.get('id', '?')}", data)


def _texts(kind: Mapping[str, Any]) -> dict[str, str]:
    return {name: str(kind[name]) for name in ("name", "title", "subject")}


def _rows(found: Sequence[Part], own: Sequence[Row], removed: set[str]) -> tuple[Row, ...]:
    """The templates' rows in their order, each replaced by the site's own of the same id; then
    what the site added."""
    by_id = {row.id: row for row in own}
    kept = [row for row in _template_rows(found) if row.id not in removed]
    there = {row.id for row in kept}
    added = [row for row in own if row.id not in there]
    return (*(by_id.get(row.id, row) for row in kept), *added)


def _template_rows(found: Sequence[Part]) -> list[Row]:
    named = frozenset(name for part in found for name in part.requirements or ())
    return [row for part in found for row in part.rules.rows if part.takes(row.requirement, named)]


def _title(found: Sequence[Part]) -> str:
    """Every template by name; the version that follows a title is that of the last one."""
    main, *others = (part.rules for part in found)
    names = [f"{rules.title} {rules.version}" for rules in others if rules is not main]
    return " + ".join([*names, main.title])


def _digest(found: Sequence[Part], key: str) -> str:
    """What pins these rules: the files' digests and the site's own part."""
    said = [part.rules.sha256 for part in found]
    return hashlib.sha256("\n".join([*said, key]).encode()).hexdigest()


def _tables(found: Sequence[Part]) -> dict[str, NuclideTable]:
    """The main template's nuclide tables and those that rows of the others ask for. Two tables of
    one name with other values would decide a row by the wrong numbers."""
    main, *others = found
    out = dict(main.rules.tables)
    for part in others:
        asked = _asked_for(part.rules.rows)
        for name, table in part.rules.tables.items():
            if name in asked and out.setdefault(name, table) != table:
                values = {"table": name, "one": main.rules.title, "other": part.rules.title}
                raise DomainError("tables_differ", values)
    return out


def _asked_for(rows: Iterable[Row]) -> set[str]:
    return {
        wanted.table
        for row in rows
        for name, wanted in row.when
        if isinstance(wanted, Bound) and wanted.table and name != "series"
    }


def forget() -> None:
    """Forget what was assembled: for tests that write rule files."""
    _assembled.cache_clear()
