"""Sentences for what is to be reported, how long a record is kept, and tolerances of monitors."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

KEEPING_SENTENCES: dict[str, str | Promise] = {
    "report_at_once": gettext_lazy(
        "Row %(row)s: to be reported at once, on %(event_on)s, before anything else."
    ),
    "report_in_hours": gettext_lazy(
        "Row %(row)s: to be reported within %(hours)s hours of the event of %(event_on)s, so by "
        "%(by_on)s at the latest."
    ),
    "report_in_days": gettext_lazy(
        "Row %(row)s: to be reported by %(by_on)s, %(days)s days after %(event_on)s."
    ),
    "report_in_months": gettext_lazy(
        "Row %(row)s: to be reported by %(by_on)s, %(months)s months after %(event_on)s."
    ),
    "report_each_year": gettext_lazy(
        "Row %(row)s: to be reported by %(by_on)s, in the year after %(event_on)s."
    ),
    "report_no_time": gettext_lazy(
        "Row %(row)s: to be reported; the clause names no time after %(event_on)s."
    ),
    "keep_until": gettext_lazy(
        "Row %(row)s: to be kept until %(until_on)s, %(months)s months from %(kept_from)s "
        "(%(begin_on)s). %(note)s"
    ),
    "keep_not_decided": gettext_lazy(
        "Row %(row)s: to be kept until %(months)s months from %(kept_from)s; that day has not "
        "come. %(note)s"
    ),
    "keep_for_ever": gettext_lazy("Row %(row)s: to be kept for ever. %(note)s"),
    "keep_no_row": gettext_lazy(
        "The schedule does not say how long such a record is kept: ask the adviser before it goes."
    ),
    "keep_notice": gettext_lazy(
        "A disposal is to be announced at least %(days)s days before: by %(tell_by)s at the latest "
        "for a disposal on the last day of keeping."
    ),
    "tolerance_kept": gettext_lazy(
        "Row %(row)s: an error of %(error_percent)s %% is within the tolerance of "
        "%(tolerance_percent)s %%. %(note)s"
    ),
    "tolerance_passed": gettext_lazy(
        "Row %(row)s: an error of %(error_percent)s %% is outside the tolerance of "
        "%(tolerance_percent)s %%. %(note)s"
    ),
}

KEEPING_WORDS: dict[str, str | Promise] = {
    "kept_from:record": gettext_lazy("the day of the record"),
    "kept_from:next_record": gettext_lazy("the next record of its kind"),
    "kept_from:disposal": gettext_lazy("the disposal or transfer of the item"),
    "kept_from:employment_end": gettext_lazy("the end of employment"),
    "kept_from:licence_end": gettext_lazy("the end of the licence"),
    "kept_from:series_end": gettext_lazy("the last measurement of the series"),
    "kept_from:calendar_year_end": gettext_lazy("the end of the calendar year"),
}
