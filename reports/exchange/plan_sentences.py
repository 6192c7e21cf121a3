"""Sentences of what loading a file would do."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SENTENCES: dict[str, str | Promise] = {
    # words
    "field:maker": _("maker"),
    "field:model": _("model"),
    "field:serial": _("serial"),
    "field:serial_unknown_because": _("why the serial is not known"),
    "field:activity": _("activity"),
    "field:reference": _("reference date"),
    "field:remark": _("remark"),
    "field:certificate_on": _("day of the maker's leak-test certificate"),
    "field:housing_serial": _("housing serial"),
    "field:whom_to_ask": _("whom to ask before its shutter is closed"),
    "field:monitor_kind": _("kind"),
    "field:place": _("place"),
    "result:passed": _("passed"),
    "result:failed": _("failed"),
    "register_changed_since": _("The register was changed since this was loaded: it stays."),
    "moves_left": _("It is left where it is."),
    # what a row writes
    "plan_new_source": _("New source %(source)s, here since %(on)s, in %(place)s."),
    "plan_new_gauge": _("New gauge %(item)s in %(place)s, here since %(on)s."),
    "plan_new_monitor": _("New monitor %(item)s in %(place)s, here since %(on)s."),
    "plan_new_place": _("New place “%(place)s”."),
    "plan_calibration": _("Calibration of %(item)s on %(on)s, passed. %(text)s"),
    "plan_calibration_failed": _("Calibration of %(item)s on %(on)s, failed. %(text)s"),
    "plan_wipe_counted": _("Wipe of %(on)s: %(text)s counts on %(item)s."),
    "plan_wipe_declared": _("Wipe of %(on)s: stated to have %(result)s, without figures."),
    "plan_wipe_reported": _("Wipe of %(on)s: %(text)s, %(item)s."),
    "plan_corrects": _("%(item)s, %(field)s: “%(one)s” becomes “%(other)s”."),
    "plan_adds_fact": _("%(item)s, %(field)s: “%(other)s”, not stated so far."),
    "plan_moves": _("%(item)s goes to %(place)s as from %(on)s."),
    # what is said of a row
    "plan_same_source": _("The same source as row %(row)s: it is loaded once."),
    "plan_same_words": _(
        "Row %(row)s says the same of a source without a serial: they are loaded as two sources. "
        "Leave one out if they are one."
    ),
    "plan_serial_repeated": _(
        "The serial %(text)s stands for another source too (%(row)s). Both are kept, as an open "
        "point."
    ),
    "plan_serial_looks_like": _(
        "The serial %(text)s looks like %(other)s (%(row)s): if they are one source, correct it."
    ),
    "plan_zeros_lost": _(
        "The serial %(text)s is taken for %(other)s: a spreadsheet drops zeros before a number."
    ),
    "plan_serial_found": _(
        "It is taken for %(source)s, whose serial was not known: same nuclide, model and place."
    ),
    "plan_states_otherwise": _(
        "%(item)s, %(field)s: an earlier row says “%(one)s”, this one “%(other)s”. The first holds."
    ),
    "plan_waits_for_gauge": _(
        "The gauge %(item)s came only on %(on)s: until then the source is put down in %(place)s."
    ),
    "plan_wipe_another_result": _(
        "Another result of %(on)s is recorded; this one is added to it. A failure acts at once; a "
        "pass counts only once the supervisor has accepted it."
    ),
    "plan_wipe_waits": _(
        "Stated to have passed without figures: entered, and it counts only once the supervisor "
        "has accepted it with a reason."
    ),
    "plan_wipe_claimed": _(
        "The file says %(result)s; what counts is the verdict that is made from its figures."
    ),
    # why a row cannot be loaded
    "plan_two_sources_match": _("It could be any of these in the register: %(text)s."),
    "plan_two_sources_of_serial": _(
        "More than one source has the serial %(text)s: state the nuclide, or record the wipe on "
        "the source's page."
    ),
    "plan_serial_unknown": _("No source with the serial %(text)s is in the file or the register."),
    "plan_gauge_unknown": _("No gauge %(text)s is in the file or the register."),
    "plan_gauge_empty": _("No source was in the gauge %(item)s on %(on)s."),
    "plan_monitor_unknown": _("No monitor “%(text)s” is in the file or the register."),
    "plan_two_monitors": _("More than one monitor is called “%(text)s”: use its tag."),
    "plan_two_of_that_name": _("More than one thing in the register is called “%(text)s”."),
    "plan_two_places": _(
        "%(item)s cannot be in two places: an earlier row says %(one)s, this one %(other)s."
    ),
    "plan_not_from_there": _(
        "The register has %(item)s in this state: %(text)s. Record first what brought it from "
        "there to %(place)s, or leave it where it is."
    ),
    "plan_moved_too_early": _(
        "%(item)s cannot be moved on %(on)s: it came to where it is on %(since_on)s."
    ),
    # what its owner decides
    "plan_ask_same_serial": _(
        "A serial stands in the register with another maker or model: is it the same source?"
    ),
    "plan_option_by_place": _("The same where the place is the same, another elsewhere"),
    "plan_option_same_source": _("The same source: its description is put right"),
    "plan_option_other_source": _("Another source with a repeated serial"),
    "plan_ask_moves": _("Things stand elsewhere than the file says. Were they moved?"),
    "plan_option_leave": _("Leave them where the register has them"),
    "plan_option_moved_on": _("Moved as from %(on)s"),
    "plan_ask_descriptions": _("The file describes things otherwise than the register."),
    "plan_option_correct": _("The register was wrong from the start: correct it"),
    "plan_option_change": _("It is so from today on: a change"),
    # why nothing was loaded
    "plan_of_row": _("Row %(row)s:"),
    "plan_only_rps": _("%(text)s is not radiation protection supervisor of %(place)s."),
    "plan_changed_since": _("What would be loaded has changed since it was shown: look again."),
}
