"""What one row gives on a day: the way of each result is a file of its own."""

from __future__ import annotations

from inventory.calc.due.beginnings import at_beginning
from inventory.calc.due.case import Question
from inventory.calc.due.facts import Schedule
from inventory.calc.due.gives import Candidate
from inventory.calc.due.holds import while_kept
from inventory.calc.due.intervals import at_intervals
from inventory.calc.due.stated import until_stated
from inventory.calc.due.states import NOT_REQUIRED, UNDECIDED, Decision
from inventory.calc.explain import Step
from inventory.rules.schema import ENTRY, HOLD, INTERVAL, NOT_ASKED, UNTIL, Row


def candidate(question: Question, row: Row, schedule: Schedule | None) -> Candidate | None:
    """What a row gives, or None where it asks for nothing on that day."""
    if row.result == INTERVAL:
        return at_intervals(question, row)
    if row.result == ENTRY:
        return at_beginning(question, row)
    if row.result == UNTIL:
        return until_stated(question, row, schedule)
    if row.result == HOLD:
        return while_kept(question, row)
    state = NOT_REQUIRED if row.result == NOT_ASKED else UNDECIDED
    step = Step(f"due_row_{row.result}", {"row": row.id, "note": row.note}, row.cite)
    return Candidate(row, Decision(state, row=row.id), lambda: (step,))
