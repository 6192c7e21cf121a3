"""What is required of items: for a day, by the functions that decide."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from inventory.calc import due
from inventory.calc.asof import AsOf
from inventory.calc.explain import Explained
from inventory.knowledge.known import Known
from inventory.knowledge.loading import load
from inventory.ledger.models import Item
from inventory.rules.schema import REQUIREMENTS, Row
from inventory.timeline import RequirementSpan


def requirements_here(items: Collection[Item]) -> set[tuple[int, str]]:
    """The requirements that items have a time line of: item and requirement, one query."""
    spans = RequirementSpan.objects.filter(item__in=[item.pk for item in items])
    return set(spans.values_list("item_id", "requirement").distinct())


def evidence_of(requirement: str) -> str:
    """The kind of record that answers a requirement."""
    return due.evidence_kind(requirement)


def row_of(one: Known, decision: due.Decision, requirement: str, on: date) -> Row | None:
    """The row that decided: of the schedule of the day, or for this thing alone."""
    facts = one.facts()
    schedule = facts.schedule_on(on)
    every = (*(schedule.rules.rows if schedule else ()), *facts.settings_on(requirement, on))
    return next((row for row in every if row.id == decision.row), None)


def decide_on(one: Known, requirement: str, day: date) -> Explained[due.Decision]:
    """What a requirement of an item says on a day, explained."""
    return due.decide(one.facts(), requirement, day)


def requirements_for(one: Known) -> list[str]:
    """The requirements of one item, those included that only a setting on it says something about,
    or one on a gauge that it was in. A gauge's setting about what is inside is none of its own."""
    named = [name for name, subject in one.said.items() if subject == one.item.kind]
    settings = [*one.settings, *(s for held in one.holders.values() for s in held.settings)]
    alone = dict.fromkeys(s.row.requirement for s in settings)
    alone |= dict.fromkeys(point.kind for point in one.follow_ups)  # failed, asked for or not
    own = [name for name in alone if _subject_of(one, name) == one.item.kind]
    return [*named, *(name for name in own if name not in named)]


def _subject_of(one: Known, requirement: str) -> str:
    """The kind of item that a requirement is about, one of the site's own kinds included."""
    if requirement in REQUIREMENTS:
        return REQUIREMENTS[requirement][0]
    said = (schedule.rules.subject_of(requirement) for schedule in one.schedules)
    return next(filter(None, said), "")


def states(items: Collection[int], at: AsOf) -> dict[tuple[int, str], due.Decision]:
    """What every requirement of these items says on a day: stored spans for what is known now,
    the slow road through the same functions for what was known then."""
    if at.known is None:
        spans = RequirementSpan.objects.on(at.on).filter(item__in=items)
        return {(item, requirement): said for item, requirement, said in spans.decisions()}
    return {
        (pk, requirement): decide_on(one, requirement, at.on).value
        for pk, one in load(items, at.known).items()
        for requirement in requirements_for(one)
    }
