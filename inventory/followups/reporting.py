"""Whom the site's schedule wants told of what opened a follow-up, and by when.

A day by which something must be reported is counted from the day of the event, by the schedule
that was in force then. A condition that is not known counts as holding: a report too many does no
harm.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory import knowledge
from inventory.calc import due
from inventory.calc.explain import Explained
from inventory.calc.moves import MISSING
from inventory.followups.models import FollowUp
from inventory.rules.conditions import Ask
from inventory.rules.reports import Deadline, asked, deadline
from inventory.rules.schema import ACCOUNTING, LEAK_TEST, REQUIREMENTS, ReportRow

#: A leak may have let something out: nobody knows before it was looked for.
SPILL = "spill"
#: The events that a failed or accusing record of this kind is, or may be; of any other, rules say
#: nothing.
TRIGGERS_OF = {
    LEAK_TEST: ("leak_failed", SPILL),
    "shutter_check": ("shutter_failed",),
    ACCOUNTING: ("missing",),
    MISSING: ("missing",),
}


@dataclass(frozen=True, slots=True)
class ToReport:
    """A row of the schedule that asks for a report, with its deadline and why."""

    row: ReportRow
    by: Explained[Deadline]

    def over_on(self, day: date) -> bool:
        """Whether the time for it has run out by a day; on the day of the deadline it has not."""
        return self.by.value.by_on is not None and self.by.value.by_on < day


def to_report(follow_up: FollowUp) -> list[ToReport]:
    """What the schedule of the day of the event asks to be reported, what is first due first; none
    where it says nothing."""
    triggers, on = TRIGGERS_OF.get(follow_up.kind, ()), follow_up.opened_on
    if not triggers:
        return []
    facts = knowledge.load([follow_up.item_id])[follow_up.item_id].facts()
    schedule = facts.schedule_on(on)
    if schedule is None:
        return []
    ask = _asking(facts, follow_up, schedule)
    rows = [row for one in triggers for row in asked(schedule.rules.reports, one, ask)]
    return sorted((ToReport(row, deadline(row, on)) for row in rows), key=_urgency)


def _urgency(one: ToReport) -> tuple[bool, bool, date]:
    """What is certain comes first, then what is first due."""
    by = one.by.value
    return (one.row.trigger == SPILL, not by.at_once, by.by_on or date.max)


def _asking(facts: due.Facts, follow_up: FollowUp, schedule: due.Schedule) -> Ask:
    """What held for the item on the day of the event, its activity of that very day."""
    requirement = follow_up.kind if follow_up.kind in REQUIREMENTS else ACCOUNTING
    question = due.Question(due.Case(facts, requirement), follow_up.opened_on)
    return question.circumstances(schedule, follow_up.opened_on).ask
