"""A state as a sentence that a manager understands."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc import due
from inventory.requirements.models import BOOKED_KIND, Attempt, Booking
from inventory.rules.schema import ACCOUNTING
from inventory.sentences import day_text, value_text


def state_sentence(decision: due.Decision, on: date, requirement: str = "") -> str:
    """What a requirement says on a day: 9 days late, due in 12 days, good until 12 Mar 2027."""
    said = _said(decision, on)
    if decision.state == due.FAILED and requirement == ACCOUNTING:
        said = _("not accounted for")
    if decision.proposed:
        return _("%(said)s; a change by decay waits for your confirmation") % {"said": said}
    return said


def _said(decision: due.Decision, on: date) -> str:
    state = decision.state_on(on)
    waits = _awaited(decision, on) if decision.state == due.AWAITED else ""
    if decision.due_on is not None and state in (due.LATE, due.DUE_SOON, due.GOOD):
        said = _dated(state, decision.due_on, on)
        return f"{said}, {waits}" if waits else said
    if state == due.NEVER_DONE and decision.record is not None:
        return _("never shown good since it failed")
    return {
        due.FAILED: _("failed, out of use"),
        due.NEVER_DONE: _("never done"),
        due.UNDECIDED: _("interval not decided"),
        due.AWAITED: waits,
        due.ON_HOLD: _("on hold while it is kept so, test before use"),
        due.NOT_REQUIRED: _("not required"),
    }[state]


def _awaited(decision: due.Decision, on: date) -> str:
    """Since when a result is awaited, and that somebody must ask for it."""
    if decision.since is None:
        return _("result awaited")
    values = {"since": day_text(decision.since)}
    if decision.warn_on is None or on < decision.warn_on:
        return _("result awaited since %(since)s") % values
    values |= {"chase": day_text(decision.warn_on)}
    return _("result awaited since %(since)s, chase it (since %(chase)s)") % values


def _dated(state: str, due_on: date, on: date) -> str:
    days = abs((due_on - on).days)
    if state == due.LATE:
        return ngettext("%(days)s day late", "%(days)s days late", days) % {"days": days}
    if state == due.GOOD:
        return _("good until %(on)s") % {"on": day_text(due_on)}
    if days == 0:
        return _("due today")
    return ngettext("due in %(days)s day", "due in %(days)s days", days) % {"days": days}


_UNSEEN = "unseen"


def headline(
    counts: Mapping[str, int],
    late_booked: Mapping[date | None, int],
    on: date,
    *,
    proposed: int = 0,
    unseen: int = 0,
) -> str:
    """One sentence per site from how many requirements are in each state (``unseen``: how many of
    those that failed are missing), and how many of the late ones are booked for which day (None:
    with nobody). *Nothing is late* is only ever said beside how fresh the knowledge is
    (``Headline.freshness``)."""
    counts = {**counts, _UNSEEN: unseen, due.FAILED: counts.get(due.FAILED, 0) - unseen}
    undecided = ngettext(
        "%(n)s interval not decided",
        "%(n)s intervals not decided",
        counts.get(due.UNDECIDED, 0),
    )
    parts = [
        (_UNSEEN, _("%(n)s missing or not found")),
        (due.FAILED, _("%(n)s failed and out of use")),
        (due.LATE, _("%(n)s late")),
        (due.NEVER_DONE, _("%(n)s never done")),
        (due.UNDECIDED, undecided),
        (due.AWAITED, _("%(n)s awaiting a result")),
        (due.DUE_SOON, _("%(n)s due soon")),
    ]
    said = {state: text % {"n": counts[state]} for state, text in parts if counts.get(state)}
    if due.LATE in said:
        said[due.LATE] += _late_booked(late_booked, on)
    else:
        said[due.LATE] = _("nothing is late")
    changes = ngettext(
        "%(n)s change by decay to be confirmed", "%(n)s changes by decay to be confirmed", proposed
    )
    more = [changes % {"n": proposed}] if proposed else []
    sentence = "; ".join([*said.values(), *more])
    return sentence[:1].upper() + sentence[1:] + "."


def _late_booked(late: Mapping[date | None, int], on: date) -> str:
    """Who has the late ones: booked for when, booked for a day that has gone by, with nobody."""
    coming = {day: n for day, n in late.items() if day is not None and day >= on}
    gone = sum(n for day, n in late.items() if day is not None and day < on)
    parts = [
        (sum(coming.values()), _booked_for(coming)),
        (gone, _("booked for a day that has gone by")),
        (late.get(None, 0), _("with nobody")),
    ]
    there = [(n, text) for n, text in parts if n]
    if len(there) == 1:
        return f": {there[0][1]}"
    return "".join(f"{', ' if place else ': '}{n} {text}" for place, (n, text) in enumerate(there))


def _booked_for(coming: Mapping[date, int]) -> str:
    if not coming:
        return ""
    first, last = min(coming), max(coming)
    if first == last:
        return _("booked for %(on)s") % {"on": day_text(first)}
    return _("booked between %(first)s and %(last)s") % {
        "first": day_text(first),
        "last": day_text(last),
    }


def booking_text(booking: Booking, on: date) -> str:
    """Who has it booked: booked for 12 Jun 2026 with J. Marsh, WO 4711. A remark follows."""
    return _booking(json.loads(booking.record.body), on)


def attempt_text(attempt: Attempt) -> str:
    """Why it was not done: not done on 3 May 2026: furnace running; meanwhile: area closed off."""
    return _attempt(json.loads(attempt.record.body))


def plan_line(body: Mapping[str, Any]) -> str:
    """What a booking or an attempt says, for the time line; made from its text."""
    kind, requirement = body["kind"], value_text("requirement", body["detail"]["requirement"])
    said = _booking(body, None) if kind == BOOKED_KIND else _attempt(body)
    return f"{requirement.capitalize()}: {said}" + ("" if said.endswith(".") else ".")


def _booking(body: Mapping[str, Any], on: date | None) -> str:
    """``on``: the day asked about, where it matters whether the booked day has gone by."""
    detail = body["detail"]
    if detail["booked_for"] is None:
        return _("no longer booked. %(why)s") % {"why": body["reason"]}
    booked_for = date.fromisoformat(detail["booked_for"])
    values = {"on": day_text(booked_for), "whom": detail["with_whom"]}
    template = (
        _("booked for %(on)s with %(whom)s") if detail["with_whom"] else _("booked for %(on)s")
    )
    parts = [template % values, detail["work_order"]]
    if on is not None and booked_for < on:
        parts.append(_("that day has gone by"))
    said = ", ".join(part for part in parts if part)
    return f"{said}. {body['remark']}" if body["remark"] else said


def _attempt(body: Mapping[str, Any]) -> str:
    detail = body["detail"]
    on = date.fromisoformat(body["effective_on"])
    why, meanwhile = (detail[name].rstrip(".") for name in ("because", "meanwhile"))
    said = _("not done on %(on)s: %(why)s") % {"on": day_text(on), "why": why}
    return said + (_("; meanwhile: %(what)s") % {"what": meanwhile} if meanwhile else "")
