"""A follow-up and its steps as sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.moves import MISSING
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.rules.schema import ACCOUNTING
from inventory.sentences import day_text, value_text


def follow_up_sentence(follow_up: FollowUp) -> str:
    """What opened it, when, and whether it was closed."""
    said = opened_text(follow_up.kind, follow_up.opened_on, follow_up.opened_by.seq)
    if follow_up.closed_on is None or follow_up.closed_by is None:
        return said
    values = {"closed": day_text(follow_up.closed_on), "why": follow_up.closed_by.reason}
    return f"{said} {_('Closed on %(closed)s. %(why)s') % values}"


def opened_text(kind: str, on: date, seq: int) -> str:
    """What the record that opened a follow-up said: it failed, or it did not find the thing."""
    values = {"kind": value_text("kind", kind), "on": day_text(on), "seq": seq}
    if kind == MISSING:
        return _("Reported missing on %(on)s (record %(seq)s).") % values
    if kind == ACCOUNTING:
        return _("%(kind)s of %(on)s (record %(seq)s) did not find it.") % values
    return _("%(kind)s of %(on)s (record %(seq)s) failed or accused.") % values


def age_text(follow_up: FollowUp, on: date) -> str:
    """How long it has been open."""
    days = (on - follow_up.opened_on).days
    if days <= 0:
        return _("opened today")
    return ngettext("open for %(n)s day", "open for %(n)s days", days) % {"n": days}


def steps_text(steps: Sequence[FollowUpStep]) -> str:
    """How far it is: 2 of 5 steps done."""
    if not steps:
        return _("no steps yet")
    done = sum(step.done_on is not None for step in steps)
    said = ngettext("%(done)s of %(n)s step done", "%(done)s of %(n)s steps done", len(steps))
    return said % {"done": done, "n": len(steps)}


def next_step(steps: Sequence[FollowUpStep]) -> FollowUpStep | None:
    """The step to be done next: the one that must be done first, else the one added first."""
    still = [step for step in steps if step.done_on is None]
    return min(still, key=lambda step: (step.by_on or date.max, step.added_by_id), default=None)


def step_deadline(step: FollowUpStep, on: date) -> str:
    """By when, and how late it is, in words."""
    if step.done_on is not None:
        done = _("done on %(on)s") % {"on": day_text(step.done_on)}
        if step.by_on is not None and step.done_on > step.by_on:
            days = (step.done_on - step.by_on).days
            late = ngettext("%(n)s day after its day", "%(n)s days after its day", days)
            return f"{done}, " + late % {"n": days}
        return done
    if step.by_on is None:
        return _("no day set")
    days = (on - step.by_on).days
    values = {"on": day_text(step.by_on), "n": days}
    if days > 0:
        said = ngettext(
            "%(n)s day late, was due on %(on)s", "%(n)s days late, was due on %(on)s", days
        )
        return said % values
    return (_("due today") if days == 0 else _("by %(on)s")) % values


def step_sentence(step: FollowUpStep, on: date) -> str:
    """A step on one line: what, who, by when."""
    parts = [step.text.rstrip("."), step.who or _("nobody named"), step_deadline(step, on)]
    return " · ".join(parts)


def step_lines(body: Mapping[str, Any]) -> str:
    """What a record about a step says, for the time line; made from its text."""
    detail = body["detail"]
    if detail["withdrawn"]:
        said = _("Not done after all: %(text)s") if "step" in detail else _("Withdrawn: %(text)s")
        return said % {"text": detail["text"]}
    parts = [detail["text"], detail.get("note") or detail.get("who") or ""]
    if detail.get("by_on"):
        parts.append(_("By %(on)s.") % {"on": day_text(date.fromisoformat(detail["by_on"]))})
    return " ".join(part if part.endswith((".", "?")) else f"{part}." for part in parts if part)
