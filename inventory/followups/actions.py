"""Close a follow-up: a record of the radiation protection supervisor, with a reason."""

from __future__ import annotations

import uuid
from datetime import date, datetime

from config.accounts.models import Role, User, roles_on
from inventory.calc.errors import DomainError
from inventory.followups.models import CLOSED_KIND, FollowUp, FollowUpStep
from inventory.knowledge import CLOSES
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, writing


def close_follow_up(
    follow_up: FollowUp,
    *,
    by: User,
    at: datetime,
    on: date,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Close a follow-up from a day on. A later lower reading alone never does this."""
    item = follow_up.item
    if not reason.strip():
        raise DomainError("closing_needs_reason", field="reason")
    if on < follow_up.opened_on:
        raise DomainError("closed_before_opened", {"opened_on": follow_up.opened_on}, field="on")
    with writing(item.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, CLOSED_KIND):
            return done
        if Role.RPS not in roles_on(by, item.site, ledger.today):
            raise DomainError("only_rps_closes")
        same = FollowUp.objects.filter(item=item, opened_by=follow_up.opened_by)
        if not same.still_open().exists():
            raise DomainError("already_closed", {"item": item.label})
        _check_steps(follow_up, on)
        return ledger.append(
            Draft(
                CLOSED_KIND,
                on,
                [About(item)],
                detail={"opened_by": follow_up.opened_by.seq, "kind": follow_up.kind},
                links=[(follow_up.opened_by, CLOSES)],
                reason=reason,
                accepted=True,
                request_key=request_key,
                performed_by=by.name,
            )
        )


def _check_steps(follow_up: FollowUp, on: date) -> None:
    """Every step is done, and none of them after the day of closing."""
    steps = list(FollowUpStep.objects.of(follow_up))
    if still := [step.text for step in steps if step.done_on is None]:
        raise DomainError("steps_still_open", {"text": "; ".join(still)})
    later = [step for step in steps if step.done_on is not None and step.done_on > on]
    if later:
        last = max(later, key=lambda step: step.done_on or on)
        values = {"text": last.text, "done_on": last.done_on}
        raise DomainError("closed_before_step", values, field="on")
