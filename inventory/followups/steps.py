"""The steps of follow-ups, from the records about an item: a pure function."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.followups.models import STEP_DONE_KIND, STEP_KIND
from inventory.ledger.body import day

KINDS = (STEP_KIND, STEP_DONE_KIND)


@dataclass(frozen=True, slots=True)
class Step:
    """Something to be done before a follow-up can be closed; keys are those of records."""

    opened_by: int
    added_by: int
    text: str
    who: str = ""
    by_on: date | None = None
    done_by: int | None = None
    done_on: date | None = None


def steps(
    mentions: Sequence[Mapping[str, Any]], bodies: Mapping[int, Mapping[str, Any]]
) -> list[Step]:
    """Every step that nobody has withdrawn, in the order in which they were added.

    ``mentions`` are all records about one item; ``bodies`` the texts of those that add a step or
    mark one as done. A marking that was withdrawn leaves its step open.
    """
    record_of = {row["record__seq"]: row["record_id"] for row in mentions}
    standing = list(_standing(mentions, bodies))
    done = {int(detail["step"]): row for row, detail in standing if row["kind"] == STEP_DONE_KIND}
    out = []
    for row, detail in standing:
        opened_by = record_of.get(int(detail["opened_by"]))
        if row["kind"] == STEP_KIND and opened_by is not None:
            marking = done.get(row["record__seq"])
            out.append(
                Step(
                    opened_by=opened_by,
                    added_by=row["record_id"],
                    text=detail["text"],
                    who=detail["who"],
                    by_on=day(detail["by_on"]),
                    done_by=marking["record_id"] if marking else None,
                    done_on=marking["effective_on"] if marking else None,
                )
            )
    return out


def _standing(
    mentions: Sequence[Mapping[str, Any]], bodies: Mapping[int, Mapping[str, Any]]
) -> Iterator[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    """Records about steps that nothing has replaced and that withdraw nothing."""
    replaced = {row["record__replaces_id"] for row in mentions}
    for row in mentions:
        if row["kind"] in KINDS and row["record_id"] not in replaced:
            detail = bodies[row["record_id"]]["detail"]
            if not detail["withdrawn"]:
                yield row, detail
