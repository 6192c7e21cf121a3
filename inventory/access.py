"""Finding things for a person, and the line that says which schedule holds."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc.due import Schedule, schedule_on, schedule_step
from inventory.calc.errors import DomainError
from inventory.ledger.models import Item
from inventory.sentences import SENTENCES, fill


def find_subject(text: str, items: list[Item]) -> Item:
    """The one item that a code, serial or tag means; DomainError when none or several."""
    if not items:
        raise DomainError("subject_unknown", {"text": text})
    if len(items) > 1:
        names = ", ".join(f"{item.code} ({item.kind} {item.label})" for item in items[:10])
        raise DomainError("subject_ambiguous", {"text": text, "candidates": names})
    return items[0]


def schedule_text(schedule: Schedule | None) -> str:
    """One sentence: a schedule, adopted or draft, or that there is none."""
    if schedule is None:
        return _("No schedule has been set: no interval is decided.")
    step = schedule_step(schedule)
    return fill(step.code, step.values, SENTENCES)


def schedule_line(site: Site, on: date) -> str:
    """One sentence: the schedule of a site on a day."""
    return schedule_text(schedule_on(knowledge.schedules_of(site), on))
