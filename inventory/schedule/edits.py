"""Changes of a draft: plain functions from the text of a schedule to that of the next one.

Each gives a new detail and leaves the old one alone. What loosens needs a reason, the name of who
decided it and a day; whoever writes or confirms a row has gone through it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from inventory.calc.errors import DomainError
from inventory.rules.adopted import assemble, base, parts
from inventory.rules.contradictions import check
from inventory.rules.differences import altered
from inventory.rules.load import row_data, row_from, template
from inventory.rules.schema import Row, RuleSet
from inventory.rules.strictness import LOOSENED, loosens
from inventory.schedule.pieces import Decided, Detail, Reviewer, Taken, said


def begun(taken: Sequence[Taken]) -> dict[str, Any]:
    """A schedule that is nothing but its templates, the main one first."""
    if not taken:
        raise DomainError("schedule_needs_template", field="main")
    detail = _of_templates(taken) | {
        "rows": [],
        "removed": [],
        "reviewed": {},
        "own_kinds": [],
        "review_on": None,
        "note": "",
        "from_on": None,
        "adopted_on": None,
        "adopted_by": "",
    }
    check_whole(detail)
    return detail


def _of_templates(taken: Sequence[Taken]) -> dict[str, Any]:
    entries = said(lambda: [one.text() for one in taken])
    main = template(taken[0].rule_set, taken[0].version)
    return {
        "rule_set": main.id,
        "version": main.version,
        "title": main.title,
        "sha256": main.sha256,
        "templates": entries,
    }


def opened(detail: Detail, *, again: bool) -> dict[str, Any]:
    """A draft that begins with a schedule that was set; ``again``: nobody has gone through it."""
    main = Taken(detail["rule_set"], int(detail["version"]))
    fresh = begun([main]) | dict(detail)
    fresh["templates"] = detail.get("templates") or [main.text()]
    left_out = {
        "loosened": None,
        "adopted_on": None,
        "adopted_by": "",
        "review_on": None,
        "from_on": None,
    }
    return {**fresh, **left_out, **({"reviewed": {}} if again else {})}


def check_whole(detail: Detail) -> RuleSet:
    """The rules of a detail, refused where they contradict themselves."""
    rules: RuleSet = said(lambda: assemble(detail))
    check(rules)
    return rules


def row_of(rules: RuleSet | None, row_id: str) -> Row | None:
    """The row with this id."""
    rows = rules.rows if rules else ()
    return next((row for row in rows if row.id == row_id), None)


def with_review(
    detail: Detail, seen: Mapping[str, Row | None], reviewer: Reviewer
) -> dict[str, Any]:
    """These rows were gone through. ``seen``: each as it was shown, None where nobody says; one
    that somebody changed meanwhile was not gone through."""
    rules = assemble(detail)
    for row_id, shown in seen.items():
        row = row_of(rules, row_id)
        if row is None:
            raise DomainError("row_unknown", {"row": row_id})
        if shown is not None and row != shown:
            raise DomainError("row_changed_meanwhile", {"row": row_id})
    marks = {row_id: reviewer.text() for row_id in seen}
    return {**detail, "reviewed": {**(detail.get("reviewed") or {}), **marks}}


def with_row(
    detail: Detail, data: Mapping[str, Any], reviewer: Reviewer, standing: RuleSet | None
) -> dict[str, Any]:
    """A row of the site's own, changed or added. ``standing``: the schedule that was adopted.
    Raises DomainError where it is looser than the template or what stands, and nobody says why."""
    rows = [dict(one) for one in detail.get("rows") or () if one["id"] != data.get("id")]
    row = parsed(data, assemble(detail))
    old = base(detail)
    if _looser(row, old, detail) or _looser(row, standing, detail):
        Decided(row.loosened_because, row.decided_by, row.decided_on).require(reviewer.on)
    changed = row != row_of(old, row.id)
    new = {
        **detail,
        "rows": [*rows, row_data(row)] if changed else rows,
        "removed": [dict(one) for one in detail.get("removed") or () if one["id"] != row.id],
    }
    check_whole(new)
    return with_review(new, {row.id: None}, reviewer)


def parsed(data: Mapping[str, Any], rules: RuleSet | None) -> Row:
    """A row from its table; it may use the nuclide tables of these rules."""
    where = f"row {data.get('id') or '?'}"
    return said(lambda: row_from(where, data, tuple(rules.tables) if rules else ()))


def _looser(row: Row, than: RuleSet | None, detail: Detail) -> bool:
    """Whether a row is looser than the one of its id, or, where there is none, than the others."""
    if than is None:
        return False
    old = row_of(than, row.id)
    if old is not None:
        return loosens(old, row)
    beside = [one for one in assemble(detail).rows_for(row.requirement) if one.id != row.id]
    return loosens(None, row, beside)


def without_row(
    detail: Detail, row_id: str, decided: Decided, standing: RuleSet | None, today: date
) -> dict[str, Any]:
    """A row that the site leaves out."""
    row = row_of(assemble(detail), row_id)
    if row is None:
        raise DomainError("row_unknown", {"row": row_id})
    before = [one for one in (row_of(base(detail), row_id), row_of(standing, row_id)) if one]
    if any(loosens(one, None) for one in before):
        decided.require(today)
    removed = [dict(one) for one in detail.get("removed") or () if one["id"] != row_id]
    new = {
        **detail,
        "rows": [dict(one) for one in detail.get("rows") or () if one["id"] != row_id],
        "removed": [*removed, {"id": row_id, **decided.text()}] if before else removed,
    }
    check_whole(new)
    return _pruned(new)


def as_template(detail: Detail, row_id: str, standing: RuleSet | None) -> dict[str, Any]:
    """A row as its template has it, in place of the site's own; not reviewed as such yet."""
    row = row_of(base(detail), row_id)
    if row is None:
        raise DomainError("row_unknown", {"row": row_id})
    stands = row_of(standing, row_id)
    if stands is not None and loosens(stands, row):
        raise DomainError("restoring_loosens", {"row": row_id})
    new = _without_mark(detail, [row_id])
    new["rows"] = [dict(one) for one in detail.get("rows") or () if one["id"] != row_id]
    new["removed"] = [dict(one) for one in detail.get("removed") or () if one["id"] != row_id]
    check_whole(new)
    return new


def with_templates(detail: Detail, taken: Sequence[Taken]) -> dict[str, Any]:
    """Other templates, or other versions of them. The site's own rows stay; whatever a template
    says otherwise now is to be gone through again, the site's own row over it too."""
    if not taken:
        raise DomainError("schedule_needs_template", field="main")
    new = {**detail, **_of_templates(taken)}
    there = {row.id for row in said(lambda: base(new)).rows}
    new["removed"] = [one for one in detail.get("removed") or () if one["id"] in there]
    check_whole(new)
    touched = {one.row_id for one in altered(base(new), base(detail))}
    return _pruned(_without_mark(new, touched))


def _without_mark(detail: Detail, rows: Iterable[str]) -> dict[str, Any]:
    gone = set(rows)
    reviewed = detail.get("reviewed") or {}
    return {**detail, "reviewed": {k: v for k, v in reviewed.items() if k not in gone}}


def _pruned(detail: Detail) -> dict[str, Any]:
    """Without the marks of rows that are not there any more."""
    there = {row.id for row in assemble(detail).rows}
    return _without_mark(detail, set(detail.get("reviewed") or {}) - there)


def looser_without_reason(detail: Detail, standing: RuleSet | None) -> list[str]:
    """Rows that are looser than in the schedule that was adopted, by a rule set that says so now:
    nobody has given a reason for them yet."""
    if standing is None:
        return []
    explained = {one["id"] for one in detail.get("removed") or () if one["loosened_because"]}
    return [
        one.row_id
        for one in altered(assemble(detail), standing)
        if one.verdict == LOOSENED
        and one.row_id not in explained
        and not (one.new and one.new.loosened_because)
    ]


def taken_of(detail: Detail) -> list[Taken]:
    """The templates of a schedule as they can be chosen, the main one first."""
    return [
        Taken(part.rules.id, part.rules.version, part.requirements)
        for part in said(lambda: parts(detail))
    ]
