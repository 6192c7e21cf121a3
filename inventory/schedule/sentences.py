"""Sentences for what is refused when a schedule is written."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

SENTENCES: dict[str, str | Promise] = {
    # who, and in which order
    "only_rps_decides": gettext_lazy(
        "Only the radiation protection supervisor decides about the schedule."
    ),
    "no_schedule": gettext_lazy("The site has no schedule yet: begin one."),
    "schedule_there_already": gettext_lazy(
        "The site has a schedule already: open a draft of it instead."
    ),
    "draft_open": gettext_lazy("A draft is open already: go on with it, or discard it first."),
    "no_draft": gettext_lazy("No draft is open: open one first."),
    # rows
    "row_unknown": gettext_lazy("The schedule has no row %(row)s."),
    "row_changed_meanwhile": gettext_lazy(
        "Row %(row)s was changed meanwhile: look at it as it is now."
    ),
    "row_id_twice": gettext_lazy("A row is called %(row)s already: choose another name."),
    "row_wrong": gettext_lazy("This cannot be a row: %(text)s."),
    "rows_contradict": gettext_lazy(
        "Rows %(row)s and %(other)s contradict each other: both hold for the same things and "
        "answer differently."
    ),
    "requirement_needs_default": gettext_lazy(
        "%(requirement)s: one row without conditions must say what holds for everything else."
    ),
    "requirement_unknown": gettext_lazy("There is no requirement called %(requirement)s."),
    "nothing_gone_through": gettext_lazy("Tick the rows that were gone through."),
    "loosening_needs_reason": gettext_lazy(
        "This loosens: it needs the reason, the name of the adviser who decided it, and the day."
    ),
    "decided_in_future": gettext_lazy("%(on)s lies in the future: nobody has decided this yet."),
    "restoring_loosens": gettext_lazy(
        "The template's row %(row)s is looser than the one that was adopted: change the row "
        "instead, and say why, who decided it and when."
    ),
    # templates
    "schedule_needs_template": gettext_lazy("Choose the rule set to begin with."),
    "template_not_used": gettext_lazy("The schedule is not made of the rule set %(text)s."),
    "two_templates_for_all": gettext_lazy(
        "Two rule sets cannot both be the one for everything else."
    ),
    "two_templates_for_one": gettext_lazy(
        "Two rule sets are named for %(requirement)s: choose one of them."
    ),
    "tables_differ": gettext_lazy(
        "%(one)s and %(other)s have different nuclide tables called %(table)s: their rows cannot "
        "stand in one schedule."
    ),
    # kinds of the site's own
    "own_kind_unknown": gettext_lazy("There is no requirement called %(requirement)s."),
    "own_kind_twice": gettext_lazy("A requirement called %(text)s is there already."),
    "own_kind_name": gettext_lazy(
        "“%(text)s” cannot be the short name: own-, then small letters, digits and hyphens, at "
        "most %(length)s characters."
    ),
    "own_kind_needs_title": gettext_lazy("Say what the requirement is called."),
    "own_kind_subject": gettext_lazy("“%(text)s” is nothing of which anything can be required."),
    "own_kind_has_rows": gettext_lazy("Rows ask for %(requirement)s: remove those first."),
    # adopting
    "rows_not_gone_through": gettext_lazy(
        "Rows that nobody has gone through: %(n)s, beginning with %(text)s."
    ),
    "adoption_loosens": gettext_lazy(
        "Rows that are looser than the adopted ones: %(n)s, beginning with %(text)s. Say why, who "
        "decided it, and when."
    ),
    "parts_not_gone_through": gettext_lazy(
        "Limit, whom to tell and everything else that is no row are adopted as well: somebody must "
        "have gone through them."
    ),
    "adopted_in_future": gettext_lazy(
        "%(on)s lies in the future: a schedule is adopted on the day on which somebody does so."
    ),
    "review_before_adoption": gettext_lazy(
        "The day of the next review must lie after the adoption and after the first day in force."
    ),
    "past_needs_reason": gettext_lazy(
        "From %(from_on)s on it changes what was said about days that have gone by: say why."
    ),
    "coming_needs_reason": gettext_lazy(
        "It takes the place of the schedule that was to come into force on %(from_on)s: say why."
    ),
    "schedule_begins_later": gettext_lazy(
        "Another schedule begins on %(from_on)s and would take its place: choose that day or a "
        "later one."
    ),
    # settings and confirmations
    "authority_unknown": gettext_lazy("“%(text)s” is nobody on whose word a setting can stand."),
    "setting_mode": gettext_lazy(
        "A setting takes the place of the schedule's rows or is asked beside them."
    ),
    "until_before_from": gettext_lazy("It begins on %(on)s and cannot end before."),
    "settings_contradict": gettext_lazy(
        "Record %(seq)s says something else for the same requirement from %(on)s on: take that "
        "one back first."
    ),
    "taking_back_needs_reason": gettext_lazy("Say why it is taken back."),
    "no_such_setting": gettext_lazy("%(item)s has no such setting on %(on)s."),
    "confirming_needs_reason": gettext_lazy("Say why the change is confirmed."),
    "nothing_proposed": gettext_lazy("Nothing was proposed for %(item)s on %(on)s."),
}
