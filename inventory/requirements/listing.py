"""What needs doing as rows of plain data: the same for commands and programs."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.custody.now import past_expected, state_on
from inventory.custody.wording import past_text
from inventory.ledger.models import Item
from inventory.requirements.plans import with_booking
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import Row
from inventory.sentences import clause_text
from inventory.timeline import RequirementSpan

KEYS = (
    *("site", "subject", "code", "subject_kind", "requirement", "state", "due_date"),
    *("last_date", "last_outcome", "interval", "schedule", "schedule_version", "sentence"),
    *("clause", "booked_for"),
)
#: What rows of ``late_rows`` call the requirement.
MOVEMENT = "movement"


def due_rows(site: Site, on: date, ahead: timedelta = timedelta(0)) -> list[dict[str, Any]]:
    """Every requirement of a site that a person must look at on a day; with ``ahead`` also what
    falls due within that time. Keys as ``due --json`` documents them."""
    needed = RequirementSpan.objects.filter(site=site).needs_doing(on, ahead)
    spans = list(with_booking(needed.select_related("item"), on))
    known = knowledge.load([span.item_id for span in spans])
    held = due.schedule_on(knowledge.schedules_of(site), on)
    return [_row(site, span, known[span.item_id], on, held) for span in spans]


def late_rows(site: Site, on: date) -> list[dict[str, Any]]:
    """What is past the day on which it was expected back, or was to leave: rows with the same keys,
    the longest ago first. The requirement is called ``movement``."""
    late = past_expected(site, on)
    items = Item.objects.filter(pk__in=late).order_by("label_sort", "pk")
    states = {item: state_on(moves, on) for item, moves in knowledge.movements(list(late)).items()}
    held = due.schedule_on(knowledge.schedules_of(site), on)
    return [
        _about(site, item, held)
        | {
            "requirement": MOVEMENT,
            "state": due.LATE,
            "due_date": late[item.pk].isoformat(),
            "sentence": past_text(late[item.pk], on, visiting=states[item.pk].visiting),
        }
        for item in sorted(items, key=lambda one: late[one.pk])
    ]


def _about(site: Site, item: Item, held: due.Schedule | None) -> dict[str, Any]:
    return dict.fromkeys(KEYS) | {
        "site": site.slug,
        "subject": item.label,
        "code": item.code,
        "subject_kind": item.kind,
        "schedule": held.rules.id if held else None,
        "schedule_version": held.rules.version if held else None,
    }


def _row(
    site: Site, span: Any, known: knowledge.Known, on: date, held: due.Schedule | None
) -> dict[str, Any]:
    said = knowledge.decide_on(known, span.requirement, on).value
    last = _last(known, span.requirement, on)
    rule = knowledge.row_of(known, said, span.requirement, on)
    return _about(site, span.item, held) | {
        "requirement": span.requirement,
        "state": said.state_on(on),
        "due_date": said.due_on.isoformat() if said.due_on else None,
        "last_date": last.on.isoformat() if last else None,
        "last_outcome": last.outcome if last else None,
        "interval": interval_text(rule),
        "sentence": state_sentence(said, on, span.requirement),
        "clause": clause_text(rule.cite) if rule else None,
        "booked_for": span.booked_for.isoformat() if span.booked_for else None,
    }


def _last(known: knowledge.Known, requirement: str, on: date) -> due.Event | None:
    """What last proved or disproved something: an attempt that did neither is no "last done"."""
    kind = knowledge.evidence_of(requirement)
    past = [
        event
        for event in known.events
        if event.kind == kind
        and event.on <= on
        and event.live
        and (event.clears_on(on) or event.accuses)
    ]
    return max(past, key=lambda event: event.order, default=None)


def interval_text(rule: Row | None) -> str | None:
    """``24 months`` or ``1 day``; None where the row has no number."""
    if rule is None or not (rule.months or rule.days):
        return None
    if rule.days:
        return "1 day" if rule.days == 1 else f"{rule.days} days"
    return "1 month" if rule.months == 1 else f"{rule.months} months"
