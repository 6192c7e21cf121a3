"""Sentences for what is refused when a shutdown is planned."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

SHUTDOWN_SENTENCES: dict[str, str | Promise] = {
    "shutdown_needs_name": gettext_lazy("Say what the shutdown is called."),
    "shutdown_ends_before_it_begins": gettext_lazy(
        "It would end on %(ends_on)s, before it begins on %(begins_on)s."
    ),
    "shutdown_is_over": gettext_lazy(
        "It would have ended on %(ends_on)s: only what still has a day to come can be planned."
    ),
    "shutdown_not_of_a_place": gettext_lazy(
        "%(item)s is not a location: a shutdown is of a location or of the whole site."
    ),
    "shutdown_taken_back": gettext_lazy(
        "Record %(seq)s took this shutdown back: plan it anew if it takes place after all."
    ),
    "shutdown_needs_reason": gettext_lazy("Say why the plan changes."),
}
