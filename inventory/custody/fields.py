"""What the form of a movement asks, verb by verb, and what it calls it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from inventory.calc import moves

#: The fields of each verb, in the order of the form.
ASKED: Mapping[str, tuple[str, ...]] = {
    moves.RECEIVED: (
        *("to", "on", "at_time", "keeping", "supplier", "document", "owner", "expected_on"),
    ),
    moves.INSTALLED: ("to", "on", "at_time"),
    moves.REMOVED: ("to", "on", "at_time", "keeping"),
    moves.MOVED: ("to", "on", "at_time", "keeping"),
    moves.STORED: ("to", "on", "at_time"),
    moves.OUT: ("away_to", "on", "expected_on", "at_time"),
    moves.BACK: ("to", "on", "at_time", "keeping"),
    moves.SENT_AWAY: ("away_to", "purpose", "on", "expected_on", "document", "at_time"),
    moves.ARRIVED: ("on", "document"),
    moves.RETURNED: ("to", "on", "at_time", "keeping", "document"),
    moves.TRANSFERRED: ("away_to", "authorisation", "document", "on", "at_time"),
    moves.DISPOSED: ("away_to", "authorisation", "document", "on", "at_time"),
    moves.MISSING: ("on", "at_time"),
    moves.FOUND: ("to", "on", "at_time", "keeping"),
    moves.LEFT: ("on", "at_time", "document"),
}
ALWAYS = ("performed_by", "remark")

#: What a field is called for one verb, where that differs from what it is called else.
LABELS: Mapping[tuple[str, str], Any] = {
    (moves.RECEIVED, "to"): _("First place"),
    (moves.INSTALLED, "to"): _("Into gauge"),
    (moves.STORED, "to"): _("Kept in"),
    (moves.BACK, "to"): _("Back at"),
    (moves.OUT, "away_to"): _("Job site"),
    (moves.SENT_AWAY, "away_to"): _("To whom"),
    (moves.TRANSFERRED, "away_to"): _("To whom"),
    (moves.DISPOSED, "away_to"): _("Who disposed of it"),
    (moves.OUT, "expected_on"): _("Expected back on"),
    (moves.SENT_AWAY, "expected_on"): _("Expected back on"),
    (moves.RECEIVED, "expected_on"): _("Visits until"),
    (moves.RECEIVED, "document"): _("Delivery note or transport document"),
    (moves.SENT_AWAY, "document"): _("Transport document"),
    (moves.ARRIVED, "document"): _("Confirmation of receipt"),
    (moves.TRANSFERRED, "authorisation"): _("Authorisation of who receives it"),
    (moves.DISPOSED, "authorisation"): _("Authorisation"),
    (moves.DISPOSED, "document"): _("Certificate of disposal"),
    (moves.TRANSFERRED, "document"): _("Document of the transfer"),
    (moves.ARRIVED, "on"): _("Arrived on"),
    (moves.MISSING, "on"): _("Missing since"),
    (moves.MISSING, "remark"): _("Where it was last seen, by whom, and what has been done"),
}
HELP: Mapping[tuple[str, str], Any] = {
    (moves.TRANSFERRED, "authorisation"): _(
        "The permit or registration by which they may hold it, seen before it went."
    ),
    (moves.RECEIVED, "owner"): _(
        "Only for a contractor’s, which leaves again: it is not counted as this site’s own."
    ),
    (moves.BACK, "to"): _("Where it was before, or another place."),
    (moves.MISSING, "on"): _("The day on which it was found to be missing."),
    (moves.FOUND, "remark"): _("Where, by whom, and in what state."),
}
#: One line for each verb on the page that asks what happened.
MEANS: Mapping[str, Any] = {
    moves.RECEIVED: _("It came to this site."),
    moves.INSTALLED: _("Into a gauge, or from one gauge into another."),
    moves.REMOVED: _("Out of its gauge, to a location."),
    moves.MOVED: _("To another location, or back into use where it is."),
    moves.STORED: _("Kept in a store, not in use."),
    moves.OUT: _("It works elsewhere and comes back."),
    moves.BACK: _("It came back from the job."),
    moves.SENT_AWAY: _("To its maker, for repair, for calibration: arrival is confirmed later."),
    moves.ARRIVED: _("Who was to get it says that it came."),
    moves.RETURNED: _("It came back to this site."),
    moves.TRANSFERRED: _("Somebody else has it for good."),
    moves.DISPOSED: _("Gone for good as waste or for recycling."),
    moves.MISSING: _("It is not where it should be. A follow-up opens at once."),
    moves.FOUND: _("It was missing and is here again."),
    moves.LEFT: _("Its owner took it away again."),
}
