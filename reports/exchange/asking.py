"""What only the owner of a file can decide about the register: each has an answer that changes
nothing, so that nothing waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory.calc.explain import Step
from reports.exchange.planned import Difference, RowPlan
from reports.exchange.understood import Option, Question

SAME_SERIAL, MOVES, DESCRIPTIONS = "same_serial", "moves", "descriptions"
BY_PLACE, SAME, OTHER = "by_place", "same", "other"
LEAVE = "leave"
CORRECT, CHANGE = "correct", "change"
MOST_EXAMPLES = 5

Seen = Sequence[tuple[RowPlan, Difference]]


def same_serial(rows: Sequence[tuple[RowPlan, str]]) -> Question | None:
    """Serials that stand in the register with another maker or model."""
    if not rows:
        return None
    options = (
        Option(BY_PLACE, Step("plan_option_by_place")),
        Option(SAME, Step("plan_option_same_source")),
        Option(OTHER, Step("plan_option_other_source")),
    )
    examples = [f"{row.row.key}: {serial}" for row, serial in rows[:MOST_EXAMPLES]]
    return Question(SAME_SERIAL, Step("plan_ask_same_serial"), options, examples)


def moves(seen: Seen, today: date) -> Question | None:
    """Things that stand elsewhere than the file says. Any other day is an answer too."""
    if not seen:
        return None
    options = (
        Option(LEAVE, Step("plan_option_leave")),
        Option(today.isoformat(), Step("plan_option_moved_on", {"on": today})),
    )
    return Question(MOVES, Step("plan_ask_moves"), options, _examples(seen))


def descriptions(seen: Seen) -> Question | None:
    """Whether what the register says was wrong from the start, or is so no longer."""
    if not seen:
        return None
    options = (
        Option(CORRECT, Step("plan_option_correct")),
        Option(CHANGE, Step("plan_option_change")),
    )
    return Question(DESCRIPTIONS, Step("plan_ask_descriptions"), options, _examples(seen))


def _examples(seen: Seen) -> list[str]:
    return [
        f"{row.row.key}: {one.thing}: {one.old} → {one.new}" for row, one in seen[:MOST_EXAMPLES]
    ]


def moved_on(answer: str, today: date) -> date | None:
    """The day from which things stand where the file says; None: they are left where they are."""
    try:
        on = date.fromisoformat(answer)
    except ValueError:
        return None
    return on if on <= today else None
