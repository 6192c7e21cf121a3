"""A follow-up as a sentence."""

from __future__ import annotations

from django.utils.translation import gettext as _

from inventory.followups.models import FollowUp
from inventory.sentences import day_text, value_text


def follow_up_sentence(follow_up: FollowUp) -> str:
    """What opened it, when, and whether it was closed."""
    values = {
        "kind": value_text("kind", follow_up.kind),
        "seq": follow_up.opened_by.seq,
        "on": day_text(follow_up.opened_on),
    }
    if follow_up.closed_on is None or follow_up.closed_by is None:
        return _("%(kind)s of %(on)s (record %(seq)s) failed or accused.") % values
    values |= {"closed": day_text(follow_up.closed_on), "why": follow_up.closed_by.reason}
    return _("%(kind)s of %(on)s (record %(seq)s): closed on %(closed)s. %(why)s") % values
