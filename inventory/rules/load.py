"""Rule-set files (TOML) to frozen data. A fault names file, row, field and what was expected."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from inventory.calc.explain import KNOWN_BY, Cite
from inventory.rules.schema import (
    CONDITIONS,
    MODES,
    REQUIREMENTS,
    RESULT_UNITS,
    RESULTS,
    VALUES,
    LimitRow,
    Row,
    RuleSet,
)

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "rulesets"
LONGEST_MONTHS = 600


class RuleFault(ValueError):
    """A rule file says something that cannot be; the message is the sentence."""


class _Reader:
    """One table of a rule file, read field by field."""

    def __init__(self, where: str, data: Any) -> None:
        if not isinstance(data, dict):
            raise RuleFault(f"{where}: expected a table, found {data!r}")
        self.where = where
        self.data = dict(data)

    def take(self, field: str, kind: type, default: Any = None, *, required: bool = True) -> Any:
        """A field of a type, or its default; anything else is a fault."""
        value = self.data.pop(field, None)
        if value is None:
            if required:
                raise RuleFault(f"{self.where}.{field}: is missing, expected {kind.__name__}")
            return default
        if kind is float and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        # A yes is not a 1, and a moment is not a day.
        wrong = {bool: (), date: (datetime,)}.get(kind, (bool,))
        if not isinstance(value, kind) or isinstance(value, wrong):
            raise RuleFault(f"{self.where}.{field}: expected {kind.__name__}, found {value!r}")
        return value

    def name(self, field: str) -> str:
        """A text that is not empty."""
        value: str = self.take(field, str)
        if not value.strip():
            raise RuleFault(f"{self.where}.{field}: is empty, expected a text")
        return value

    def one_of(self, field: str, allowed: tuple[str, ...], default: str | None = None) -> str:
        """A word from a closed list."""
        value: str = self.take(field, str, default, required=default is None)
        if value not in allowed:
            raise RuleFault(
                f"{self.where}.{field}: expected one of {', '.join(allowed)}, found {value!r}"
            )
        return value

    def done(self) -> None:
        """Nothing may be left over: a misspelt field must not be a silent default."""
        if self.data:
            raise RuleFault(f"{self.where}.{sorted(self.data)[0]}: is not a field of this row")


def _cite(reader: _Reader) -> Cite:
    document = reader.take("document", str)
    clause = reader.take("clause", str)
    if not document.strip() or not clause.strip():
        raise RuleFault(f"{reader.where}.clause: a row needs a document and a clause")
    return Cite(
        document=document,
        clause=clause,
        edition=reader.take("edition", str, "", required=False),
        known_by=reader.one_of("known_by", KNOWN_BY),
        checked_on=reader.take("checked_on", date, required=False),
    )


def _row(where: str, data: Mapping[str, Any]) -> Row:
    reader = _Reader(where, data)
    result = reader.one_of("result", RESULTS, "interval")
    row = Row(
        id=reader.name("id"),
        requirement=reader.one_of("requirement", tuple(REQUIREMENTS)),
        result=result,
        months=_months(reader, result),
        lead_days=reader.take("lead_days", int, 30, required=False),
        mode=reader.one_of("mode", MODES, "default"),
        when=_conditions(reader),
        cite=_cite(reader),
        note=reader.take("note", str, "", required=False),
    )
    if row.lead_days < 0:
        raise RuleFault(f"{where}.lead_days: expected 0 or more, found {row.lead_days}")
    reader.done()
    return row


def _months(reader: _Reader, result: str) -> int | None:
    if result != "interval":
        return None
    months: int = reader.take("months", int)
    if not 1 <= months <= LONGEST_MONTHS:
        raise RuleFault(
            f"{reader.where}.months: expected 1 to {LONGEST_MONTHS} months, found {months}"
        )
    return months


def _conditions(reader: _Reader) -> tuple[tuple[str, Any], ...]:
    when: dict[str, Any] = reader.take("when", dict, {}, required=False)
    for name, value in when.items():
        kind = CONDITIONS.get(name)
        if kind is None:
            raise RuleFault(
                f"{reader.where}.when.{name}: is not a condition; known are "
                + ", ".join(CONDITIONS)
            )
        if not isinstance(value, kind):
            raise RuleFault(
                f"{reader.where}.when.{name}: expected {kind.__name__}, found {value!r}"
            )
        if name in VALUES and value not in VALUES[name]:
            raise RuleFault(
                f"{reader.where}.when.{name}: expected one of {', '.join(VALUES[name])}, "
                f"found {value!r}"
            )
    return tuple(sorted(when.items()))


def _limit(where: str, data: Mapping[str, Any]) -> LimitRow:
    reader = _Reader(where, data)
    limit = LimitRow(
        bq=reader.take("bq", float),
        comparator=reader.one_of("comparator", ("reaches", "exceeds")),
        required_detection_bq=reader.take("required_detection_bq", float),
        action_fraction=reader.take("action_fraction", float, 0.1, required=False),
        unit=reader.one_of("unit", RESULT_UNITS, "Bq"),
        cite=_cite(reader),
    )
    reader.take("note", str, "", required=False)
    reader.done()
    if not 0 < limit.bq < float("inf") or not 0 < limit.required_detection_bq <= limit.bq:
        raise RuleFault(f"{where}.bq: expected a limit above 0 and a detection limit up to it")
    if not 0 < limit.action_fraction <= 1:
        raise RuleFault(f"{where}.action_fraction: expected a part of the limit, above 0 up to 1")
    return limit


def load(path: Path) -> RuleSet:
    """Read and validate one rule-set file. Raises RuleFault with one sentence."""
    content = path.read_bytes()
    try:
        data = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise RuleFault(f"{path.name}: is not a TOML file in UTF-8 ({error})") from error
    head = _Reader(f"{path.name}, ruleset", data.pop("ruleset", {}))
    listed = data.pop("row", [])
    if not isinstance(listed, list):
        raise RuleFault(f"{path.name}, row: expected [[row]], a list of tables")
    rows = tuple(_row(f"{path.name}, row[{place}]", row) for place, row in enumerate(listed, 1))
    rule_set = RuleSet(
        id=head.name("id"),
        version=head.take("version", int),
        title=head.name("title"),
        sha256=hashlib.sha256(content).hexdigest(),
        rows=rows,
        leak_limit=_limit(f"{path.name}, leak_limit", data.pop("leak_limit", {})),
    )
    head.take("note", str, "", required=False)
    head.done()
    _check_whole(path.name, rule_set, data)
    return rule_set


def _check_whole(name: str, rule_set: RuleSet, left: Mapping[str, Any]) -> None:
    if left:
        raise RuleFault(f"{name}, {sorted(left)[0]}: is not a part of a rule set")
    ids = [row.id for row in rule_set.rows]
    for row_id in ids:
        if ids.count(row_id) > 1:
            raise RuleFault(f"{name}, row {row_id}: the id is used twice")
    for requirement in rule_set.requirements:
        if not any(not row.when for row in rule_set.rows_for(requirement)):
            raise RuleFault(f"{name}, {requirement}: needs a row without conditions")


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
