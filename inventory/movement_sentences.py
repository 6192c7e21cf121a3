"""Sentences and words of movements: why one is refused, where a thing is and how it is kept."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

MOVEMENT_WORDS: dict[str, str | Promise] = {
    "kind:received": gettext_lazy("received"),
    "kind:installed": gettext_lazy("installed in gauge"),
    "kind:removed": gettext_lazy("removed from gauge"),
    "kind:moved": gettext_lazy("moved"),
    "kind:stored": gettext_lazy("put into storage"),
    "kind:out": gettext_lazy("out to a job"),
    "kind:back": gettext_lazy("back from a job"),
    "kind:sent_away": gettext_lazy("sent away"),
    "kind:arrived": gettext_lazy("arrival confirmed"),
    "kind:returned": gettext_lazy("returned"),
    "kind:transferred": gettext_lazy("transferred"),
    "kind:disposed": gettext_lazy("disposed of"),
    "kind:missing": gettext_lazy("missing"),
    "kind:found": gettext_lazy("found"),
    "kind:left": gettext_lazy("left with its owner"),
    "whereabouts:at_location": gettext_lazy("at its place"),
    "whereabouts:in_gauge": gettext_lazy("in its gauge"),
    "whereabouts:out": gettext_lazy("out at a job"),
    "whereabouts:in_transit": gettext_lazy("sent away, arrival not confirmed"),
    "whereabouts:away": gettext_lazy("away"),
    "whereabouts:missing": gettext_lazy("missing"),
    "keeping:in_use": gettext_lazy("in use"),
    "keeping:stored": gettext_lazy("in storage"),
    "keeping:standby": gettext_lazy("on standby"),
    "keeping:packed": gettext_lazy("in the maker’s shipping container"),
}

#: ``%(place)s`` is the gauge that is spoken of.
MOVEMENT_SENTENCES: dict[str, str | Promise] = {
    # what a movement must say
    "place_needed": gettext_lazy("Say where %(item)s went."),
    "not_a_place": gettext_lazy("%(place)s is neither a gauge nor a location."),
    "not_a_location": gettext_lazy(
        "%(place)s is a gauge: a source gets into one by being installed."
    ),
    "names_no_place": gettext_lazy("%(item)s went to no place of this site: leave the place out."),
    "only_sources_go_into_gauges": gettext_lazy(
        "%(item)s is not a source: only sources go into gauges."
    ),
    "installed_needs_gauge": gettext_lazy("%(place)s is not a gauge: installing needs one."),
    "job_site_needed": gettext_lazy("Say at which job it is."),
    "consignee_needed": gettext_lazy("Say who it went to."),
    "authorisation_needed": gettext_lazy(
        "Say by which permit or registration they may hold it; if nobody knows, say that."
    ),
    "disposer_needed": gettext_lazy("Say who disposed of it."),
    "expected_before_it_went": gettext_lazy("%(until_on)s lies before %(on)s."),
    "visitor_needs_owner": gettext_lazy(
        "Say whose it is: only what visits is received until a day."
    ),
    # what cannot follow
    "gauge_not_here": gettext_lazy("The gauge %(place)s was not on site on %(on)s."),
    "received_twice": gettext_lazy(
        "%(item)s has been received already; the second time is %(on)s."
    ),
    "moved_before_received": gettext_lazy("%(item)s would move on %(on)s, before it was received."),
    "already_installed": gettext_lazy("%(item)s is already in this gauge on %(on)s."),
    "already_there": gettext_lazy("%(item)s is already there on %(on)s."),
    "inside_gauge": gettext_lazy(
        "%(item)s is inside gauge %(place)s on %(on)s: remove it first, or record it of the gauge, "
        "which takes it along."
    ),
    "comes_with_gauge": gettext_lazy(
        "%(item)s is inside gauge %(place)s on %(on)s and comes back with it: record it of the "
        "gauge."
    ),
    "its_gauge_not_here": gettext_lazy(
        "%(item)s is inside gauge %(place)s, which was not on site on %(on)s."
    ),
    "gone_with_gauge": gettext_lazy(
        "%(item)s was inside gauge %(place)s, which had gone for good by %(on)s."
    ),
    "not_in_gauge": gettext_lazy("%(item)s is in no gauge on %(on)s."),
    "not_out": gettext_lazy("%(item)s is not out at a job on %(on)s."),
    "not_on_the_way": gettext_lazy("%(item)s is not on its way to anybody on %(on)s."),
    "not_away": gettext_lazy("%(item)s is not away on %(on)s: there is nothing to return from."),
    "not_missing": gettext_lazy("%(item)s is not missing on %(on)s."),
    "not_arrived": gettext_lazy(
        "%(item)s is on its way to %(text)s since %(since_on)s: confirm first that it arrived."
    ),
    "arrived_already": gettext_lazy("%(item)s has arrived at %(text)s already, on %(since_on)s."),
    "missing_already": gettext_lazy("%(item)s is missing already on %(on)s."),
    "is_out": gettext_lazy(
        "%(item)s is out at %(text)s since %(since_on)s: record first that it is back."
    ),
    "is_on_the_way": gettext_lazy(
        "%(item)s is on its way to %(text)s since %(since_on)s: record first that it arrived or "
        "was returned."
    ),
    "is_away": gettext_lazy(
        "%(item)s is away at %(text)s since %(since_on)s: record first that it was returned."
    ),
    "is_missing": gettext_lazy(
        "%(item)s is missing since %(since_on)s: record first that it was found."
    ),
    "was_transferred": gettext_lazy(
        "%(item)s was transferred to %(text)s on %(since_on)s: it is no longer this site’s."
    ),
    "was_disposed": gettext_lazy("%(item)s was disposed of on %(since_on)s."),
    "has_left": gettext_lazy("%(item)s left with its owner on %(since_on)s."),
    "not_visiting": gettext_lazy(
        "%(item)s does not visit this site: what is this site’s own is transferred or disposed of."
    ),
    "visiting_only_leaves": gettext_lazy(
        "%(item)s only visits this site: record that it left; its owner does the rest."
    ),
    "packed_no_more": gettext_lazy(
        "%(item)s has been taken out of the maker’s shipping container before %(on)s."
    ),
}
