"""Sentences for the codes of ``inventory.calc.due``: why something is due when it is."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

#: Dates of a thing that a row may name.
DUE_WORDS: dict[str, str | Promise] = {
    "trait:made_on": gettext_lazy("the day it was made"),
    "trait:working_life_until": gettext_lazy("its working life"),
    "trait:special_form_until": gettext_lazy("its special-form certificate"),
    "trait:valid_until": gettext_lazy("its validity"),
    "trait:quality_on": gettext_lazy("the day of its quality check"),
}

DUE_SENTENCES: dict[str, str | Promise] = {
    "due_follow_up_open": gettext_lazy(
        "Failed, out of use: %(kind)s of %(opened_on)s (record %(seq)s) failed or accused, and "
        "nobody has closed its follow-up."
    ),
    "due_not_found_open": gettext_lazy(
        "Not accounted for since %(opened_on)s (record %(seq)s), and nobody has closed its "
        "follow-up."
    ),
    "due_once_closed": gettext_lazy("Once that is closed: %(state)s."),
    "due_once_closed_on": gettext_lazy("Once that is closed: %(state)s, due on %(due_on)s."),
    "due_not_on_site": gettext_lazy("Not required: it was not on this site on %(on)s."),
    "due_no_schedule": gettext_lazy("Interval not decided: the site has no schedule."),
    "due_row_not_required": gettext_lazy("Not required by row %(row)s. %(note)s"),
    "due_row_undecided": gettext_lazy(
        "Interval not decided: row %(row)s gives no number. %(note)s"
    ),
    "due_row_interval": gettext_lazy("Row %(row)s: every %(months)s months. %(note)s"),
    "due_no_row": gettext_lazy(
        "Interval not decided: no row of the schedule says what holds here."
    ),
    "due_row_every_month": gettext_lazy("Row %(row)s: every month. %(note)s"),
    "due_row_every_day": gettext_lazy("Row %(row)s: every day. %(note)s"),
    "due_row_interval_days": gettext_lazy("Row %(row)s: every %(days)s days. %(note)s"),
    "due_row_set_aside": gettext_lazy("Row %(row)s holds too, but does not decide."),
    "due_missing": gettext_lazy(
        "Missing since %(since_on)s, alone or with its gauge: nothing but finding it ends that."
    ),
    "due_row_decides": gettext_lazy("Row %(row)s decides: it holds where %(row_conditions)s."),
    "due_row_later": gettext_lazy("Row %(row)s holds too and would be due on %(due_on)s: later."),
    "due_row_done": gettext_lazy("Row %(row)s holds too; it asks for nothing on that day."),
    "due_row_lapsed": gettext_lazy(
        "Row %(row)s would suspend it, but nobody vouches that it is there: no accounting check "
        "has seen it of late, or something says since then that it was not found."
    ),
    "due_row_unknown": gettext_lazy(
        "Row %(row)s: nobody knows whether it applies, that is whether %(row_conditions)s; unknown "
        "never loosens."
    ),
    "due_row_proposed": gettext_lazy(
        "Row %(row)s would decide since the activity has decayed (%(row_conditions)s). Nothing "
        "changes until a named person confirms it; the permit goes on, nothing may be disposed of."
    ),
    "due_row_not_met": gettext_lazy(
        "Row %(row)s does not apply; it would where %(row_conditions)s."
    ),
    "due_schedule_adopted": gettext_lazy(
        "Schedule: %(title)s, version %(version)s, adopted on %(adopted_on)s by %(adopted_by)s."
    ),
    "due_schedule_draft": gettext_lazy(
        "Draft schedule: %(title)s, version %(version)s. Nobody has adopted it for this site."
    ),
    "due_schedule_adopted_own": gettext_lazy(
        "Schedule: %(title)s, version %(version)s (rows of the site's own: %(own)s), adopted on "
        "%(adopted_on)s by %(adopted_by)s."
    ),
    "due_schedule_draft_own": gettext_lazy(
        "Draft schedule: %(title)s, version %(version)s (rows of the site's own: %(own)s). Nobody "
        "has adopted it for this site."
    ),
    "due_never_done": gettext_lazy("Never done: no accepted, valid pass is recorded."),
    "due_failed_since": gettext_lazy(
        "Never shown good since record %(seq)s of %(done_on)s failed or accused: an older pass "
        "does not come back when the follow-up is closed."
    ),
    "due_awaited": gettext_lazy(
        "A result is awaited: the wipe of %(done_on)s (record %(seq)s) went to %(laboratory)s; it "
        "is to be chased from %(chase_on)s. Waiting moves no due date."
    ),
    "due_awaited_undated": gettext_lazy(
        "A result is awaited: the wipe of %(done_on)s (record %(seq)s) went to %(laboratory)s. "
        "Waiting moves no due date."
    ),
    "due_last_pass": gettext_lazy("Last accepted pass: record %(seq)s of %(done_on)s."),
    "due_by_interval": gettext_lazy("%(done_on)s plus %(months)s calendar months is %(by_on)s."),
    "due_by_interval_clipped": gettext_lazy(
        "%(done_on)s plus %(months)s calendar months is %(by_on)s: that month is shorter."
    ),
    "due_by_one_month": gettext_lazy("%(done_on)s plus one calendar month is %(by_on)s."),
    "due_by_one_day": gettext_lazy("%(done_on)s plus one day is %(by_on)s."),
    "due_by_days": gettext_lazy("%(done_on)s plus %(days)s days is %(by_on)s."),
    "due_by_calendar_year": gettext_lazy(
        "Once per calendar year: after %(done_on)s the year ends on %(by_on)s."
    ),
    "due_by_same_year": gettext_lazy(
        "What was done on %(done_on)s is about the time before it: it is good until that calendar "
        "year ends, on %(by_on)s."
    ),
    "due_by_end_of_year": gettext_lazy(
        "%(done_on)s plus %(months)s calendar months, and on to the end of that year: %(by_on)s."
    ),
    "due_from_old_due": gettext_lazy(
        "It was late, so the next interval is counted from the old due date, %(from_on)s."
    ),
    "due_grace": gettext_lazy("The schedule grants %(days)s days of grace."),
    "due_until_stated": gettext_lazy(
        "Row %(row)s: %(trait)s, as stated, is until %(until_on)s. %(note)s"
    ),
    "due_until_assumed": gettext_lazy(
        "Row %(row)s: nobody has stated it, so %(months)s months from when it was made (or from "
        "its reference date) are assumed: until %(until_on)s. %(note)s"
    ),
    "due_extended": gettext_lazy(
        "Record %(seq)s of %(done_on)s says until %(until_on)s, and counts."
    ),
    "due_date_not_known": gettext_lazy(
        "Row %(row)s asks for a date that nobody has stated: %(trait)s. %(note)s"
    ),
    "due_entry_first_use": gettext_lazy(
        "Row %(row)s: to be tested before first use, and it came into use on %(begun_on)s. %(note)s"
    ),
    "due_entry_after_storage": gettext_lazy(
        "Row %(row)s: to be tested before use after %(months)s months of storage, and it came into "
        "use on %(begun_on)s. %(note)s"
    ),
    "due_entry_receipt": gettext_lazy(
        "Row %(row)s: to be tested on receipt, and it was received on %(begun_on)s. %(note)s"
    ),
    "due_entry_happening": gettext_lazy(
        "Row %(row)s: to be tested after what happened on %(begun_on)s. %(note)s"
    ),
    "due_on_hold": gettext_lazy(
        "Row %(row)s: on hold while it is kept so, test before use; as long as an accounting check "
        "sees it there by %(until_on)s. %(note)s"
    ),
    "due_ceiling": gettext_lazy(
        "No longer than %(months)s months after the last test of %(done_on)s: %(due_on)s."
    ),
    "due_certificate_until": gettext_lazy(
        "The certificate is valid until %(until_on)s; the earlier day holds."
    ),
    "due_on": gettext_lazy("Due on %(due_on)s: good on that day, late from the next."),
    "due_passed_over_replaced": gettext_lazy(
        "Record %(seq)s of %(done_on)s was corrected and satisfies nothing."
    ),
    "due_passed_over_unfit": gettext_lazy(
        "Record %(seq)s of %(done_on)s is not relied on: %(because)s."
    ),
    "due_passed_over_outcome": gettext_lazy(
        "Record %(seq)s of %(done_on)s satisfies nothing: %(outcome)s."
    ),
    "due_passed_over_not_accepted": gettext_lazy(
        "Record %(seq)s of %(done_on)s has not been accepted by the supervisor."
    ),
}
