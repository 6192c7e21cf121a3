"""The newest evidence of a kind as a register prints it, and what keeps it from being relied on."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import due
from inventory.sentences import day_text, value_text


def newest(one: knowledge.Known, kind: str, on: date) -> due.Event | None:
    """The newest record of a kind by a day that was not corrected away."""
    past = [
        event
        for event in one.events
        if event.kind == kind and event.outcome and event.live and event.on <= on
    ]
    return max(past, key=lambda event: event.order, default=None)


def newest_text(event: due.Event | None, on: date) -> str:
    """Day, outcome and number of a record, and what keeps it from being relied on."""
    if event is None:
        return _("none recorded")
    said = value_text("outcome", event.outcome)
    if not event.fit:
        why = {"why": value_text("because", event.unfit_because), "said": said}
        relied = _("%(said)s, though %(why)s") if event.accuses else _("not relied on: %(why)s")
        said = relied % why
    elif event.outcome == "pass" and not event.clears_on(on):
        said = _("entered, not accepted")
    values = {"on": day_text(event.on), "said": said, "seq": event.seq}
    return _("%(on)s: %(said)s (record\u00a0%(seq)s)") % values


def correction(one: knowledge.Known, event: due.Event | None) -> str:
    """What a record corrects, and why."""
    old = one.corrections.get(event.record) if event else None
    wrong = next((each for each in one.events if each.record == old), None)
    if event is None or wrong is None:
        return ""
    values = {"seq": event.seq, "old": wrong.seq, "why": one.reasons[event.record].rstrip(" .")}
    return _("Record %(seq)s corrects record %(old)s: %(why)s.") % values
