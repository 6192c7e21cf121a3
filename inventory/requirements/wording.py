"""A state as a sentence that a manager understands."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc import due
from inventory.sentences import day_text


def state_sentence(decision: due.Decision, on: date) -> str:
    """What a requirement says on a day: 9 days late, due in 12 days, good until 12 Mar 2027."""
    state = decision.state_on(on)
    if decision.due_on is not None and state in (due.LATE, due.DUE_SOON, due.GOOD):
        return _dated(state, decision.due_on, on)
    if state == due.NEVER_DONE and decision.record is not None:
        return _("never shown good since it failed")
    return {
        due.FAILED: _("failed, out of use"),
        due.NEVER_DONE: _("never done"),
        due.UNDECIDED: _("interval not decided"),
        due.AWAITED: _("result awaited"),
        due.ON_HOLD: _("on hold"),
        due.NOT_REQUIRED: _("not required"),
    }[state]


def _dated(state: str, due_on: date, on: date) -> str:
    days = abs((due_on - on).days)
    if state == due.LATE:
        return ngettext("%(days)s day late", "%(days)s days late", days) % {"days": days}
    if state == due.GOOD:
        return _("good until %(on)s") % {"on": day_text(due_on)}
    if days == 0:
        return _("due today")
    return ngettext("due in %(days)s day", "due in %(days)s days", days) % {"days": days}


def headline(counts: dict[str, int]) -> str:
    """One sentence per site from how many requirements are in each state. *Nothing is late* is
    only ever said beside how fresh the knowledge is (``reports.pages.due``)."""
    undecided = ngettext(
        "%(n)s interval not decided",
        "%(n)s intervals not decided",
        counts.get(due.UNDECIDED, 0),
    )
    parts = [
        (due.FAILED, _("%(n)s failed and out of use")),
        (due.LATE, _("%(n)s late")),
        (due.NEVER_DONE, _("%(n)s never done")),
        (due.UNDECIDED, undecided),
        (due.AWAITED, _("%(n)s awaiting a result")),
        (due.DUE_SOON, _("%(n)s due soon")),
    ]
    if not any(counts.values()):
        return _("Nothing is required yet: no source or monitor is recorded.")
    said = [text % {"n": counts[state]} for state, text in parts if counts.get(state)]
    if not counts.get(due.LATE):
        said.append(_("nothing is late"))
    sentence = "; ".join(said)
    return sentence[:1].upper() + sentence[1:] + "."
