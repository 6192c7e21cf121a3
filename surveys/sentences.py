"""Sentences of the survey side: for every code of ``surveys.calc`` and of its commands.

``%(x_bq)s`` already carries its unit. Entries "name:value" are words for values that are codes.
"""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

_WORDS: dict[str, str | Promise] = {
    "outcome:pass": _("passes"),
    "outcome:fail": _("fails"),
    "outcome:inconclusive": _("inconclusive"),
    "outcome:not_evaluable": _("not evaluable"),
    "finding:pass": _("pass"),
    "finding:inconclusive_declared": _("stated to have passed, no figures"),
    "finding:fail_confirmed": _("fail, confirmed"),
    "finding:fail_provisional": _("fail, provisional"),
    "finding:fail_declared": _("stated to have failed, no figures"),
    "finding:inconclusive_background": _("inconclusive, background does not fit"),
    "finding:inconclusive_insensitive": _("inconclusive, not sensitive enough"),
    "finding:inconclusive_between": _("inconclusive, too close to the limit"),
    "finding:inconclusive_counts_differ": _("inconclusive, the counts differ"),
    "finding:not_evaluable_gas": _("not evaluable, gas"),
    "finding:not_evaluable_nuclide": _("not evaluable, nuclide missing"),
    "finding:not_evaluable_limit": _("not evaluable, limit missing"),
    "finding:not_evaluable_counts": _("not evaluable, gross count missing"),
    "finding:not_evaluable_background": _("not evaluable, background count missing"),
    "finding:not_evaluable_times": _("not evaluable, counting time missing"),
    "finding:not_evaluable_efficiency": _("not evaluable, efficiency missing"),
    "finding:not_evaluable_source_efficiency": _("not evaluable, source efficiency missing"),
    "finding:not_evaluable_window": _("not evaluable, window area missing"),
    "comparator:reaches": _("reaching the limit fails"),
    "comparator:exceeds": _("only more than the limit fails"),
    "efficiency_basis:per_decay": _("counts per decay (4 pi)"),
    "efficiency_basis:per_2pi_emission": _("counts per emission into 2 pi"),
    "efficiency_basis:surface_response": _("counts per second per Bq/cm2"),
    "field:gross_counts": _("gross counts"),
    "field:gross_seconds": _("gross counting time"),
    "field:background_counts": _("background counts"),
    "field:background_seconds": _("background counting time"),
    "name:limit_bq": _("limit"),
    "name:required_detection_bq": _("required detection limit"),
    "name:action_fraction": _("action level as a fraction of the limit"),
    "name:efficiency": _("efficiency"),
    "name:u_rel": _("relative uncertainty of the efficiency"),
    "name:source_efficiency": _("source efficiency"),
    "name:window_cm2": _("window area"),
    "name:most_counts_per_decay": _("most counts per decay"),
    "name:activity_bq": _("activity"),
    "name:expanded_uncertainty_bq": _("expanded uncertainty"),
    "name:coverage_factor": _("coverage factor"),
    "name:less_than_bq": _("less-than value"),
    "name:at_most_bq": _("at-most value"),
    "name:detection_limit_bq": _("detection limit"),
    "name:decision_threshold_bq": _("decision threshold"),
    "name:laboratory_detection_limit_bq": _("detection limit stated by the laboratory"),
    "name:standard_uncertainty_bq": _("standard uncertainty"),
    "name:lower_bound_bq": _("lower bound"),
    "name:upper_bound_bq": _("upper bound"),
    "name:counts": _("counts"),
    "name:seconds": _("counting time"),
    "name:factor": _("factor"),
    "name:target_bq": _("required detection limit"),
    "name:reference_activity_bq": _("activity of the reference source"),
    "name:half_life_days": _("half-life"),
    "name:time_constant": _("time constant"),
}

_FINDINGS: dict[str, str | Promise] = {
    "pass_not_detected": _(
        "Passes: not detected, detection limit %(detection_limit_bq)s; "
        "the activity is below %(upper_bound_bq)s, the limit is %(limit_bq)s."
    ),
    "pass_detected": _(
        "Passes: activity detected but below the limit; %(activity_bq)s, upper bound "
        "%(upper_bound_bq)s, the limit is %(limit_bq)s."
    ),
    "pass_reported": _(
        "Passes: the laboratory reports %(activity_bq)s, upper bound %(upper_bound_bq)s, "
        "below the limit of %(limit_bq)s."
    ),
    "pass_stated_below": _(
        "Passes: the laboratory states an activity below %(upper_bound_bq)s; the limit is "
        "%(limit_bq)s. It states no more than that."
    ),
    "inconclusive_declared": _(
        "Inconclusive by itself: a statement without the figures that a judgement needs. It counts "
        "only when a named radiation protection supervisor accepts it with a reason."
    ),
    "fail_confirmed": _(
        "Fails: %(activity_bq)s, and even the lower bound %(lower_bound_bq)s is at or over the "
        "limit of %(limit_bq)s. Act as on a leak."
    ),
    "fail_provisional": _(
        "Fails: %(activity_bq)s measured against a limit of %(limit_bq)s (%(comparator)s). Act as "
        "on a leak and count again."
    ),
    "fail_declared": _("Stated to have failed, without figures. Act as on a leak."),
    "inconclusive_background": _(
        "Inconclusive: the wipe counts far less than the background (%(z_background)s standard "
        "deviations). Repeat both counts."
    ),
    "inconclusive_insensitive": _(
        "Inconclusive: the test is not sensitive enough, detection limit %(detection_limit_bq)s "
        "where %(required_detection_bq)s is required. Count longer or use a better counter."
    ),
    "inconclusive_no_detection_limit": _(
        "Inconclusive: the efficiency is known so badly that no detection limit exists; "
        "%(required_detection_bq)s is required. Calibrate the counter or use a better one."
    ),
    "inconclusive_stated_above": _(
        "Inconclusive: the statement leaves room up to %(upper_bound_bq)s, and the limit is "
        "%(limit_bq)s (%(comparator)s). Ask for a figure or repeat the test."
    ),
    "inconclusive_between": _(
        "Inconclusive: %(activity_bq)s is below the limit of %(limit_bq)s or at it, but the upper "
        "bound %(upper_bound_bq)s is not below it. Count again, longer."
    ),
    "not_evaluable_gas": _(
        "Not evaluable: the nuclide is a gas and does not stay on a wipe. Ask the adviser for "
        "another test."
    ),
    "not_evaluable_nuclide": _(
        "Not evaluable: the nuclide is missing, so no efficiency can be chosen."
    ),
    "not_evaluable_limit": _("Not evaluable: no limit is set for this test."),
    "not_evaluable_counts": _("Not evaluable: the gross count is missing."),
    "not_evaluable_background": _("Not evaluable: the background count is missing."),
    "not_evaluable_times": _("Not evaluable: a counting time is missing."),
    "not_evaluable_efficiency": _(
        "Not evaluable: the counter has no efficiency for the nuclide. At least "
        "%(least_activity_bq)s is on the wipe."
    ),
    "not_evaluable_source_efficiency": _(
        "Not evaluable: the efficiency is stated per emission into 2 pi and the source efficiency "
        "is missing. At least %(least_activity_bq)s is on the wipe."
    ),
    "not_evaluable_window": _(
        "Not evaluable: the efficiency is stated as a surface response and the window area is "
        "missing. At least %(least_activity_bq)s is on the wipe."
    ),
}

_STEPS: dict[str, str | Promise] = {
    "missing_nuclide": _("The nuclide is missing too."),
    "missing_limit": _("The limit is missing too."),
    "missing_counts": _("The gross count is missing too."),
    "missing_background": _("The background count is missing too."),
    "missing_times": _("A counting time is missing too."),
    "missing_efficiency": _("The efficiency is missing too."),
    "missing_source_efficiency": _("The source efficiency is missing too."),
    "missing_window": _("The window area is missing too."),
    "wipe_limit": _(
        "Limit %(limit_bq)s: %(comparator)s. The test must be able to detect "
        "%(required_detection_bq)s."
    ),
    "wipe_net_rate": _(
        "%(gross_counts)s counts in %(gross_seconds)s s less %(background_counts)s counts in "
        "%(background_seconds)s s: net rate %(net_rate_per_s)s per second, standard uncertainty "
        "%(net_rate_uncertainty_per_s)s."
    ),
    "wipe_least_activity": _(
        "At least %(least_activity_bq)s is on the wipe, whatever the efficiency (counts per "
        "decay: at most %(most_counts)s)."
    ),
    "wipe_background_zero": _(
        "The background has no counts: whether it fits the wipe cannot be tested."
    ),
    "wipe_background_fit": _(
        "The net rate is %(z_background)s standard deviations from zero; below -3 the background "
        "would not fit."
    ),
    "wipe_low_counts": _(
        "Only %(background_counts)s background counts: whether activity is detected is told by "
        "the low-count threshold. Pass or fail does not depend on it."
    ),
    "wipe_efficiency_per_decay": _(
        "Efficiency %(efficiency_per_decay)s counts per decay (4 pi), relative uncertainty "
        "%(relative_uncertainty_of_factor)s."
    ),
    "wipe_efficiency_per_2pi_emission": _(
        "Efficiency %(efficiency)s counts per emission into 2 pi, times source efficiency "
        "%(source_efficiency)s: %(efficiency_per_decay)s counts per decay, relative uncertainty "
        "%(relative_uncertainty_of_factor)s."
    ),
    "wipe_efficiency_surface_response": _(
        "Response %(efficiency)s counts per second per Bq/cm2 over a window of %(window_cm2)s cm2: "
        "%(efficiency_per_decay)s counts per decay, relative uncertainty "
        "%(relative_uncertainty_of_factor)s. A wipe is not a wide-area source."
    ),
    "wipe_uncertainty_default": _(
        "Nobody stated the uncertainty of the efficiency: %(u_rel)s (relative) is used."
    ),
    "wipe_activity": _(
        "Activity %(activity_bq)s, standard uncertainty %(standard_uncertainty_bq)s."
    ),
    "wipe_threshold": _("Decision threshold %(decision_threshold_bq)s."),
    "wipe_detection_limit": _("Detection limit %(detection_limit_bq)s."),
    "wipe_no_detection_limit": _(
        "No detection limit and no bounds exist with a relative uncertainty of "
        "%(relative_uncertainty_of_factor)s (0.608 or more)."
    ),
    "wipe_bounds": _("One-sided 95 %% bounds: lower %(lower_bound_bq)s, upper %(upper_bound_bq)s."),
    "wipe_zero_counts_floor": _(
        "The upper bound is the activity that gives 3.0 counts: zero counts leave that open."
    ),
    "wipe_accuses": _(
        "Act as on a leak all the same: what is known of this wipe is at or over the limit of "
        "%(limit_bq)s."
    ),
    "wipe_watch": _(
        "Watch this source: %(activity_bq)s reaches the action level of %(action_level_bq)s. Dusty "
        "wipes carry natural activity; count again after a day."
    ),
    "reported_with_uncertainty": _(
        "The laboratory reports %(activity_bq)s with expanded uncertainty "
        "%(expanded_uncertainty_bq)s (coverage factor %(coverage_factor)s): standard uncertainty "
        "%(standard_uncertainty_bq)s."
    ),
    "reported_without_coverage": _(
        "The laboratory reports %(activity_bq)s with uncertainty %(expanded_uncertainty_bq)s and "
        "no coverage factor: it is taken as the standard uncertainty."
    ),
    "reported_alone": _(
        "The laboratory reports %(activity_bq)s without an uncertainty: no bounds exist."
    ),
    "reported_less_than": _("The laboratory states less than %(stated_bq)s."),
    "reported_at_most": _("The laboratory states %(stated_bq)s or less."),
    "reported_not_detected": _(
        "The laboratory states not detected; its detection limit is %(stated_bq)s."
    ),
    "reported_not_detected_alone": _(
        "The laboratory states not detected and no detection limit is known."
    ),
    "batch_agrees": _(
        "The background suits the batch: the median net rate of %(wipes)s wipes is "
        "%(median_net_rate_per_s)s per second, within %(allowed_net_rate_per_s)s."
    ),
    "batch_reads_high": _(
        "The batch reads high: repeat the background, %(long_background_seconds)s s or longer. "
        "The median net rate of %(wipes)s wipes is %(median_net_rate_per_s)s per second, more "
        "than %(allowed_net_rate_per_s)s."
    ),
    "batch_reads_low": _(
        "The batch reads low: repeat the background, %(long_background_seconds)s s or longer. "
        "The median net rate of %(wipes)s wipes is %(median_net_rate_per_s)s per second, more "
        "than %(allowed_net_rate_per_s)s below zero."
    ),
    "batch_not_tested": _(
        "%(wipes)s wipes are too few to test the background by the batch; five are needed."
    ),
}

_ERRORS: dict[str, str | Promise] = {
    "number_not_finite": _("The %(name)s must be a number."),
    "number_not_above": _("The %(name)s must be above %(least)s, not %(number)s."),
    "number_too_small": _("The %(name)s must be at least %(least)s, not %(number)s."),
    "number_not_positive": _("The %(name)s must be above 0, not %(number)s."),
    "number_unreadable": _("%(option)s needs a number, not “%(text)s”."),
    "counts_missing": _("At least one count is needed."),
    "counts_negative": _("Counts cannot be below 0."),
    "counts_below_zero": _("The %(field)s cannot be below 0 (%(counts)s)."),
    "counts_not_whole": _("The %(field)s must be a whole number."),
    "counts_too_many": _("The %(field)s are more than any counter gives."),
    "count_time_not_positive": _("The %(field)s must be a number of seconds above 0."),
    "count_time_too_long": _("The %(field)s is longer than a year; give it in seconds."),
    "comparator_unknown": _(
        "The limit comparator is “reaches” (the limit itself fails) or “exceeds”, not “%(given)s”."
    ),
    "basis_unknown": _(
        "The efficiency basis is per_decay, per_2pi_emission or surface_response, not “%(given)s”."
    ),
    "efficiency_not_positive": _("The efficiency must be above 0, not %(number)s."),
    "emission_efficiency_above_one": _(
        "An efficiency per emission into 2 pi cannot be above 1 (%(efficiency)s)."
    ),
    "efficiency_above_ceiling": _(
        "An efficiency of %(efficiency_per_decay)s counts per decay is impossible: one decay gives "
        "at most %(most_counts)s counts."
    ),
    "source_efficiency_above_ceiling": _(
        "A source efficiency of %(source_efficiency)s is impossible: one decay gives at most "
        "%(most_counts)s emissions that count."
    ),
    "wipe_out_of_range": _("These figures are outside every sensible range (%(name)s)."),
    "reference_not_above_background": _(
        "The reference source does not count above the background: no efficiency can be found."
    ),
    "reported_two_figures": _(
        "A laboratory result is one figure: an activity, “less than” or “at most”."
    ),
    "reported_no_figure": _("The laboratory result has no figure."),
    "uncertainty_without_activity": _("An uncertainty needs the activity that it belongs to."),
    "coverage_without_uncertainty": _(
        "A coverage factor needs the expanded uncertainty that it belongs to."
    ),
    "wipe_nothing_given": _(
        "Give counts (--gross-counts, --gross-seconds, --background-counts, --background-seconds) "
        "or a laboratory result (--reported or --less-than)."
    ),
    "wipe_two_kinds": _("Give counts or a laboratory result, not both."),
    "wipe_option_missing": _("Counts need %(option)s as well."),
    "wipe_option_unused": _("%(option)s does not belong to this kind of result."),
    "wipe_lengths_differ": _(
        "Give as many gross counting times as gross counts: %(counts)s counts, %(times)s times."
    ),
}

_COMMAND: dict[str, str | Promise] = {
    "wipe_limit_given": _("given with the command"),
    "wipe_limit_default": _("default, 10 CFR 35.67(e): 185 Bq (0.005 microcurie)"),
}

SENTENCES: dict[str, str | Promise] = {
    **_WORDS,
    **_FINDINGS,
    **_STEPS,
    **_ERRORS,
    **_COMMAND,
}

SENTENCES |= {
    "wipe_needs_source": _("Say which source the wipe covers."),
    "not_a_source": _("%(item)s is not a source."),
    "wipe_names_source_twice": _("%(item)s is named twice."),
    "not_a_monitor": _("%(item)s is not a monitor."),
    "wiped_in_future": _("The wipe of %(wiped_on)s lies in the future."),
    "counted_in_future": _("The count of %(counted_on)s lies in the future."),
    "counted_before_wiped": _("It cannot have been counted before it was wiped on %(wiped_on)s."),
    "wiped_before_everything": _(
        "%(wiped_on)s is earlier than everything known of %(source)s: its first date is "
        "%(first_on)s."
    ),
    "valid_until_before_calibration": _("The certificate would end before the calibration."),
    "efficiency_twice": _("%(nuclide)s stands twice on the certificate."),
}

SENTENCES |= {
    "way:counts": _("counted here"),
    "way:reported": _("reported by a laboratory"),
    "way:declared": _("declared without figures"),
    "why:routine": _("routine"),
    "why:first_use": _("before first use"),
    "why:after_event": _("after an event"),
    "why:before_transfer": _("before a transfer"),
    "why:recount": _("recount or repeat"),
    "stated:reported": _("Activity as reported"),
    "stated:uncertainty": _("Expanded uncertainty as reported"),
    "stated:less_than": _("Less than, as reported"),
    "stated:coverage_factor": _("Coverage factor as reported"),
}

SENTENCES |= {
    "inconclusive_counts_differ": _(
        "Inconclusive: the counts of this wipe, or of the background, differ by more than chance, "
        "so they are not one measurement. Find out why and count again."
    ),
    "wipe_counts_differ": _(
        "The pooled counts differ by more than chance: together they never clear, but each of them "
        "alone can accuse."
    ),
    "inconclusive_reported_negative": _(
        "Inconclusive: the reported activity lies more than three standard uncertainties below "
        "zero. Ask the laboratory."
    ),
    "coverage_factor_too_large": _(
        "A coverage factor of %(number)s cannot be: it is a number such as 2, not a percentage."
    ),
}

SENTENCES |= {
    "number_two_ways": _(
        "%(option)s: “%(text)s” can be read in two ways; write it without separators."
    ),
    "calibration_changed_since": _(
        "The counter's calibration is no longer what this wipe was judged with: correct the wipe, "
        "so that it is judged again."
    ),
}

SENTENCES |= {
    "session_needs_wipes": _("Write at least one wipe with its count."),
    "session_needs_background": _("Give the background that the wipes were counted against."),
    "name_unknown": _("Nothing here is called “%(text)s”: write a tag, a serial or a code."),
    "name_ambiguous": _("“%(text)s” can be any of these: %(candidates)s. Write the code."),
    "gauge_empty": _("There was no source in %(item)s on %(on)s."),
    "check_first": _(
        "%(source)s reads %(net_rate_per_s)s per second: the first sound reading on this counter "
        "since its calibration, so nothing to compare with."
    ),
    "check_nuclide_unknown": _(
        "%(source)s reads %(net_rate_per_s)s per second; its nuclide is not in the table, so the "
        "reading of %(last_on)s cannot be decayed to compare."
    ),
    "check_within": _(
        "The check source %(source)s reads %(net_rate_per_s)s per second, %(percent)s %% from the "
        "%(expected_per_s)s expected after session %(seq)s of %(last_on)s: within "
        "%(tolerance_percent)s %%."
    ),
    "check_high": _(
        "The check source %(source)s reads high: %(net_rate_per_s)s per second where "
        "%(expected_per_s)s were expected after session %(seq)s of %(last_on)s (%(percent)s %%, "
        "more than %(tolerance_percent)s %%). Find out why before you rely on the counter."
    ),
    "check_low": _(
        "The check source %(source)s reads low: %(net_rate_per_s)s per second where "
        "%(expected_per_s)s were expected after session %(seq)s of %(last_on)s (%(percent)s %%, "
        "more than %(tolerance_percent)s %%). The counter may see too little: do not rely on it "
        "before you know why."
    ),
    "check_no_counts": _(
        "The check source %(source)s does not count above the background: the counter may see "
        "nothing. Do not rely on it before you know why."
    ),
    "check_uncertain": _(
        "The check source %(source)s was counted too briefly to tell: %(net_rate_per_s)s per "
        "second where %(expected_per_s)s were expected after session %(seq)s of %(last_on)s. "
        "Count it longer."
    ),
    "stays_declared": _("it only says “passed”: accept it by itself, with a reason"),
    "stays_unfit": _("it is not relied on; review it by itself"),
    "stays_check_low": _(
        "the check source read low, so the counter may have seen too little: find out why, then "
        "accept it by itself or count it again"
    ),
    "stays_calibration_changed": _(
        "the counter's calibration is no longer what it was judged with: correct it, so that it is "
        "judged again"
    ),
    "because:recount_calibration_changed": _("the counter was calibrated again since"),
    "another_counter": _(
        "Counts on another counter are judged apart: record them as a wipe of their own. A fail on "
        "one counter stands."
    ),
    "ability_within_1_min": _("Yes: a clean wipe passes with a count of a minute."),
    "ability_within_10_min": _("Yes: a clean wipe passes with a count of ten minutes."),
    "ability_longer": _("Only with a count of more than ten minutes: %(to_pass_s)s s at least."),
    "ability_never_gas": _("Never: a gas does not stay on a wipe. Ask the adviser."),
    "ability_never_nuclide": _("Never: the nuclide is not in the table, so no efficiency fits it."),
    "ability_never_efficiency": _(
        "Never: the calibration gives no efficiency for this nuclide. Another counter or a "
        "laboratory must do it."
    ),
    "ability_never_source_efficiency": _(
        "Never as it is: the efficiency is per emission into 2 pi and its source efficiency is "
        "missing."
    ),
    "ability_never_window": _(
        "Never as it is: the efficiency is a surface response and the window area is missing."
    ),
    "ability_never_uncertainty": _(
        "Never: the efficiency is known so badly (relative uncertainty 0.608 or more) that no "
        "detection limit exists, however long it counts."
    ),
    "ability_unknown_background": _("Not known: give the counter's background rate."),
    "ability_unknown_limit": _("Not known: the site has no schedule and so no limit."),
    "ability_efficiency": _(
        "Efficiency %(efficiency_per_decay)s counts per decay, relative uncertainty "
        "%(relative_uncertainty_of_factor)s."
    ),
    "ability_efficiency_default": _(
        "Efficiency %(efficiency_per_decay)s counts per decay; nobody stated its uncertainty, "
        "%(u_rel)s (relative) is used."
    ),
    "ability_background": _(
        "Background %(background_per_s)s per second, from %(background_counts)s counts in "
        "%(background_seconds)s s. Wipe and background are taken to count equally long."
    ),
    "ability_background_zero": _(
        "The background had no counts in %(background_seconds)s s: %(background_per_s)s per second "
        "is used, which no count at all leaves open. Wipe and background are taken to count "
        "equally long."
    ),
    "ability_limits": _(
        "Detection limit %(short_bq)s with 1 min each, %(long_bq)s with 10 min each."
    ),
    "ability_times": _(
        "The required detection limit of %(required_detection_bq)s is reached after "
        "%(to_pass_s)s s; a tenth of the limit, %(tenth_bq)s, after %(to_tenth_s)s s "
        "(good practice)."
    ),
}

SENTENCES |= {
    "not_a_laboratory": _("%(item)s is not a laboratory."),
    "limit_twice": _("%(nuclide)s stands twice among the detection limits."),
    "laboratory_changed_since": _(
        "%(item)s is described differently now from when this result was judged: correct the "
        "result, so that it is judged again."
    ),
    "nothing_sent": _("Write at least one wipe."),
    "sent_in_future": _("The sending of %(sent_on)s lies in the future."),
    "chased_too_late": _(
        "Ask for it within a year of sending it, by %(last_on)s: what nobody asks for looks under "
        "way for ever."
    ),
    "chased_before_sent": _("It cannot be asked for before it was sent on %(sent_on)s."),
    "sent_before_wiped": _(
        "It was wiped on %(wiped_on)s and cannot have been sent on %(sent_on)s, before that."
    ),
    "report_without_result": _("Say of at least one wipe what the report says."),
    "reported_in_future": _("The report of %(reported_on)s lies in the future."),
    "reported_before_sent": _(
        "It was sent on %(sent_on)s and cannot have been reported on %(reported_on)s, before that."
    ),
    "wipe_not_away": _(
        "The wipe of record %(seq)s is not away any more: its result was entered, it was given up "
        "or it was corrected."
    ),
    "giving_up_needs_reason": _("Say why no result will come."),
    "given_up_before_taken": _("It was taken on %(wiped_on)s; it cannot be given up before."),
    "stated:not_detected": _("Stated"),
    "stated:detection_limit": _("Detection limit as reported"),
    "reported_not_detected_general": _(
        "The report states not detected without a figure; the laboratory states a detection limit "
        "of %(stated_bq)s for this nuclide."
    ),
}
