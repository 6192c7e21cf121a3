"""Rows, differences and effects as the pages show them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc import due
from inventory.ledger.models import ItemKind
from inventory.requirements.wording import state_sentence
from inventory.rules.differences import ADDED, REMOVED, Difference
from inventory.rules.load import row_data
from inventory.rules.schema import HOLD, NOT_ASKED, NOT_DECIDED, REQUIREMENTS, Row, RuleSet
from inventory.rules.strictness import SAME
from inventory.schedule.preview import Effect
from inventory.schedule.spoken import title_of, word
from inventory.schedule.wording import (
    decided_text,
    field_text,
    loosened,
    on_whose_word,
    reviewed_text,
    row_sentence,
    stands,
    warned,
)
from inventory.schedule.words import FIELDS

#: The mark before a row that asks no number.
MARKS = {NOT_DECIDED: "undecided", HOLD: "on_hold", NOT_ASKED: "not_required"}
#: So many effects are listed; all are counted.
MOST_EFFECTS = 200


def digest(row: Row) -> str:
    """A row as it was shown: what is sent back with *gone through*."""
    return hashlib.sha256(json.dumps(row_data(row), sort_keys=True).encode()).hexdigest()[:16]


def shown_row(
    row: Row,
    rules: RuleSet,
    marks: Mapping[str, Any] | None = None,
    difference: Difference | None = None,
) -> dict[str, Any]:
    """One row. ``marks``: who went through which row, None where nobody has to."""
    return {
        "id": row.id,
        "anchor": f"row-{row.id}",
        "sentence": row_sentence(row, rules.tables),
        "mark": MARKS.get(row.result, ""),
        "more": " ".join(part for part in (stands(row), warned(row)) if part),
        "word": on_whose_word(row),
        "note": row.note,
        "loosened": loosened(row),
        "own": row.authority != "template",
        "reviewed": "" if marks is None else reviewed_text(marks.get(row.id)),
        "left": marks is not None and row.id not in marks,
        "digest": digest(row),
        "verdict": "" if difference is None else verdict_text(difference),
    }


def by_requirement(
    rules: RuleSet,
    marks: Mapping[str, Any] | None = None,
    differences: Iterable[Difference] = (),
) -> list[dict[str, Any]]:
    """The rows of a schedule, a heading for each requirement."""
    of = {one.row_id: one for one in differences}
    return [
        {
            "name": requirement,
            "title": _upper(title_of(requirement, rules)),
            "subject": kind_word(rules.subject_of(requirement)),
            "rows": [
                shown_row(row, rules, marks, of.get(row.id)) for row in rules.rows_for(requirement)
            ],
        }
        for requirement in rules.requirements
    ]


def kind_word(kind: str) -> str:
    """The kind of item that a requirement is about."""
    return str(ItemKind(kind).label) if kind in ItemKind.values else kind


def not_said(rules: RuleSet) -> list[str]:
    """What could be required and the schedule says nothing about."""
    names = [*REQUIREMENTS, *(one.name for one in rules.own_kinds)]
    return [title_of(name, rules) for name in names if name not in rules.requirements]


def undecided(rules: RuleSet) -> list[str]:
    """Requirements of which nobody has set the interval for all that no other row is about."""
    rows = [row for row in rules.rows if row.result == NOT_DECIDED and not row.when]
    names = dict.fromkeys(row.requirement for row in rows)
    return [title_of(name, rules) for name in names]


def verdict_text(one: Difference) -> str:
    """How a row stands to its rule set, in a few words; empty where it is the same."""
    if one.verdict == SAME and one.kind not in (ADDED, REMOVED):
        return ""
    said = {ADDED: _("the site's own row"), REMOVED: _("left out")}
    first = said.get(one.kind) or _("differs from the rule set")
    return f"{first}: {word('verdict', one.verdict)}"


def change_text(one: Difference) -> str:
    """What happens to a row, and whether that is stricter."""
    said = {ADDED: _("added"), REMOVED: _("left out")}.get(one.kind) or _("changed")
    return f"{said}: {word('verdict', one.verdict)}"


def shown_difference(one: Difference, rules: RuleSet, old: RuleSet) -> dict[str, Any]:
    """A row that differs, field by field."""
    return {
        "id": one.row_id,
        "requirement": _upper(title_of(one.requirement, rules)),
        "kind": one.kind,
        "verdict": one.verdict,
        "said": verdict_text(one),
        "change": change_text(one),
        "weighed": word("verdict", one.verdict),
        "now": row_sentence(one.new, rules.tables) if one.new else _("Left out."),
        "before": row_sentence(one.old, old.tables) if one.old else _("Not there."),
        "fields": [
            (
                str(FIELDS.get(change.field, change.field)),
                field_text(change.field, change.old, old.tables),
                field_text(change.field, change.new, rules.tables),
            )
            for change in one.fields
        ],
        "loosened": loosened(one.new) if one.new else "",
    }


def removed_text(detail: Mapping[str, Any], row_id: str) -> str:
    """Why a row was left out, and who decided that."""
    for one in detail.get("removed") or ():
        if one["id"] == row_id:
            on = date.fromisoformat(one["decided_on"]) if one["decided_on"] else None
            return decided_text(one["loosened_because"], one["decided_by"], on)
    return ""


def loosened_text(detail: Mapping[str, Any]) -> str:
    """What an adoption has loosened by another rule set, and who decided that."""
    one = detail.get("loosened")
    if not one:
        return ""
    on = date.fromisoformat(one["decided_on"])
    why = decided_text(one["loosened_because"], one["decided_by"], on)
    return _("Looser than before: %(rows)s. %(why)s") % {"rows": ", ".join(one["rows"]), "why": why}


def effects_text(effects: Sequence[Effect]) -> str:
    """How much changes, as a sentence."""
    if not effects:
        return _("Nothing on the site gets another state or another day.")
    things = ngettext("%(n)s thing", "%(n)s things", len({one.item.pk for one in effects}))
    said = ngettext(
        "%(n)s requirement gets another state or another day, of %(things)s.",
        "%(n)s requirements get another state or another day, of %(things)s.",
        len(effects),
    )
    return said % {
        "n": len(effects),
        "things": things % {"n": len({one.item.pk for one in effects})},
    }


def shown_effects(
    site: str, effects: Sequence[Effect], rules: RuleSet, on: date
) -> list[dict[str, Any]]:
    """What changes for each thing, the first so many."""
    return [
        {
            "subject": one.item.label,
            "url": reverse("item", args=[site, one.item.code]),
            "requirement": title_of(one.requirement, rules),
            "before": said(one.before, on),
            "before_state": state(one.before, on),
            "after": said(one.after, on),
            "after_state": state(one.after, on),
        }
        for one in effects[:MOST_EFFECTS]
    ]


def said(decision: due.Decision | None, on: date) -> str:
    """What a decision says on a day; that nothing is asked, where nothing is said."""
    return _("nothing is said") if decision is None else state_sentence(decision, on)


def state(decision: due.Decision | None, on: date) -> str:
    """Its state, for the mark."""
    return "not_required" if decision is None else decision.state_on(on)


def progress_text(left: int, whole: int) -> str:
    """How far a draft is: 12 of 27 rows have been gone through."""
    if not left:
        return _("Every row has been gone through.")
    text = ngettext(
        "%(done)s of %(n)s row has been gone through.",
        "%(done)s of %(n)s rows have been gone through.",
        whole,
    )
    return text % {"done": whole - left, "n": whole}


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
