"""Steps of a follow-up: add, mark as done, withdraw, reopen. Each is a record about the item."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from config.accounts.models import User
from inventory.calc.errors import DomainError
from inventory.followups.models import STEP_DONE_KIND, STEP_KIND, FollowUp, FollowUpStep
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, Ledger, writing

STEP_OF, DONE_FOR = "step_of", "done_for"


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be done, by whom, until when."""

    text: str
    who: str = ""
    by_on: date | None = None


@dataclass(frozen=True, slots=True)
class Act:
    """Who writes, when, and what their form knew of."""

    by: User
    at: datetime
    request_key: uuid.UUID | None = None
    seen: int | None = None


def add_steps(
    follow_up: FollowUp, tasks: Sequence[Task], act: Act, *, only_new: bool = False
) -> list[Record]:
    """Add steps to a follow-up that is open; it cannot be closed before each of them is done.

    ``only_new`` leaves those out that are there already, word for word.
    """
    if not tasks or any(not task.text.strip() for task in tasks):
        raise DomainError("step_needs_text", field="text")
    site = follow_up.item.site
    with writing(site, by=act.by, at=act.at, seen=act.seen) as ledger:
        if done := ledger.already(act.request_key, STEP_KIND):
            return [done]
        _check_open(follow_up)
        if only_new:
            there = set(FollowUpStep.objects.of(follow_up).values_list("text", flat=True))
            tasks = [task for task in tasks if task.text.strip() not in there]
        if not tasks:
            raise DomainError("steps_there_already")
        return ledger.append_many(
            [
                _added(ledger, follow_up, task, None if place else act.request_key)
                for place, task in enumerate(tasks)
            ]
        )


def _added(ledger: Ledger, follow_up: FollowUp, task: Task, request_key: uuid.UUID | None) -> Draft:
    if task.by_on is not None and task.by_on < follow_up.opened_on:
        raise DomainError("step_before_opened", {"opened_on": follow_up.opened_on}, field="by_on")
    detail = {
        "opened_by": follow_up.opened_by.seq,
        "text": task.text.strip(),
        "who": task.who.strip(),
        "by_on": task.by_on,
        "withdrawn": False,
    }
    return Draft(
        STEP_KIND,
        ledger.today,
        [About(follow_up.item)],
        detail=detail,
        links=[(follow_up.opened_by, STEP_OF)],
        request_key=request_key,
        performed_by=ledger.by.name,
    )


def mark_done(step: FollowUpStep, act: Act, *, on: date, note: str = "", who: str = "") -> Record:
    """Say that a step was done on a day, and what came of it."""
    with writing(step.item.site, by=act.by, at=act.at, seen=act.seen) as ledger:
        if done := ledger.already(act.request_key, STEP_DONE_KIND):
            return done
        current = _current(step)
        if current.done_by_id is not None:
            raise DomainError("step_done_already", {"text": current.text})
        opened_on = _check_open(_follow_up(current)).opened_on
        if on < opened_on:
            raise DomainError("step_before_opened", {"opened_on": opened_on}, field="on")
        return ledger.append(
            Draft(
                STEP_DONE_KIND,
                on,
                [About(step.item)],
                detail=_marking(current, note=note, withdrawn=False),
                links=[(current.added_by, DONE_FOR)],
                request_key=act.request_key,
                performed_by=who.strip() or act.by.name,
            )
        )


def withdraw(step: FollowUpStep, act: Act, *, reason: str) -> Record:
    """Take a step back that turned out not to be needed: its record is replaced, with a reason."""
    with writing(step.item.site, by=act.by, at=act.at, seen=act.seen) as ledger:
        if done := ledger.already(act.request_key, STEP_KIND):
            return done
        current = _current(step)
        _check_open(_follow_up(current))
        if current.done_by_id is not None:
            raise DomainError("step_done_already", {"text": current.text})
        detail = {
            "opened_by": current.opened_by.seq,
            "text": current.text,
            "who": current.who,
            "by_on": current.by_on,
            "withdrawn": True,
        }
        return ledger.append(_replacing(current.added_by, ledger, act, detail, reason))


def reopen(step: FollowUpStep, act: Act, *, reason: str) -> Record:
    """Say that a step was not done after all: its marking is replaced, and the step is open."""
    with writing(step.item.site, by=act.by, at=act.at, seen=act.seen) as ledger:
        if done := ledger.already(act.request_key, STEP_DONE_KIND):
            return done
        current = _current(step)
        _check_open(_follow_up(current))
        if current.done_by is None:
            raise DomainError("step_not_done", {"text": current.text})
        detail = _marking(current, note="", withdrawn=True)
        return ledger.append(_replacing(current.done_by, ledger, act, detail, reason))


def _marking(step: FollowUpStep, *, note: str, withdrawn: bool) -> dict[str, Any]:
    return {
        "opened_by": step.opened_by.seq,
        "step": step.added_by.seq,
        "text": step.text,
        "note": note.strip(),
        "withdrawn": withdrawn,
    }


def _replacing(old: Record, ledger: Ledger, act: Act, detail: dict[str, Any], reason: str) -> Draft:
    return Draft(
        old.kind,
        ledger.today,
        [About(mention.item) for mention in old.about.select_related("item")],
        detail=detail,
        replaces=old,
        reason=reason,
        request_key=act.request_key,
        performed_by=act.by.name,
    )


def _current(step: FollowUpStep) -> FollowUpStep:
    """The step as it stands now; somebody may have withdrawn it while a form was open."""
    found = FollowUpStep.objects.filter(item=step.item, added_by=step.added_by)
    current = found.select_related("added_by", "done_by", "opened_by", "item").first()
    if current is None:
        raise DomainError("step_withdrawn", {"text": step.text})
    return current


def _follow_up(step: FollowUpStep) -> FollowUp:
    return FollowUp.objects.get(item=step.item, opened_by=step.opened_by)


def _check_open(follow_up: FollowUp) -> FollowUp:
    same = FollowUp.objects.filter(item=follow_up.item, opened_by=follow_up.opened_by)
    if not same.still_open().exists():
        raise DomainError("already_closed", {"item": follow_up.item.label})
    return follow_up
