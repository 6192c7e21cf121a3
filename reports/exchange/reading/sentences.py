"""Sentences of reading a list: questions with their answers, notes, faults, rows passed over."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

QUESTIONS: dict[str, str | Promise] = {
    "read_ask_date_order": _("Which comes first in dates such as 03/04/05?"),
    "read_order_dmy": _("the day: 3 April 2005"),
    "read_order_mdy": _("the month: 4 March 2005"),
    "read_order_ymd": _("the year: 5 April 2003"),
    "read_ask_decimal_mark": _("What does the comma mean in numbers such as 1,500?"),
    "read_decimal_comma": _("the decimal mark: one and a half (and 1.500 is fifteen hundred)"),
    "read_decimal_point": _("thousands: fifteen hundred (and 1.500 is one and a half)"),
    "read_ask_unit": _("In which unit are the bare numbers below “%(text)s”?"),
    **{
        f"read_unit_{unit}": unit
        for unit in ("Bq", "kBq", "MBq", "GBq", "TBq", "nCi", "mCi", "Ci", "dpm")
    },
    "read_unit_uCi": "µCi",
    "read_unit_s": _("seconds"),
    "read_unit_min": _("minutes"),
    "read_ask_time_unit": _("In which unit are the times below “%(text)s”?"),
    "read_ask_kind": _("What is the sheet “%(text)s” a list of?"),
    "read_kind_sources": _("sources"),
    "read_kind_gauges": _("gauges"),
    "read_kind_monitors": _("monitors"),
    "read_kind_calibrations": _("calibrations of monitors"),
    "read_kind_wipes": _("results of wipes"),
    "read_kind_other": _("none of these: it is not loaded"),
    "read_ask_column": _("%(sheet)s: what stands in column %(column)s (“%(text)s”)?"),
    "read_ask_split": _("%(text)s seems to name %(n)s sources in one row: what is meant?"),
    "read_split_each": _("a source each, every one with the activity that is stated"),
    "read_split_together": _(
        "a source each, and the activity is that of all together: that of each is not known"
    ),
    "read_split_one": _("one source whose serial is written like this"),
    "read_ask_struck": _("Rows are struck through: are these sources still there?"),
    "read_ask_gone": _("The list says of some rows that they are gone: what is to be done?"),
    "read_gone_load": _("still there: load them"),
    "read_gone_leave": _("gone: leave them out"),
    "read_ask_blank_gauge": _("%(text)s: what does a blank cell below a gauge mean?"),
    "read_blank_gauge_above": _("the source is in the gauge above"),
    "read_blank_gauge_none": _("the source is in no gauge"),
    "read_ask_cross": _("What does a cross in the column of passes mean?"),
    "read_cross_passed": _("done and passed"),
    "read_cross_failed": _("failed"),
    "read_ask_background_time": _("The list gives no counting time of the background: was it…"),
    "read_background_time_same": _("counted exactly as long as the wipe"),
    "read_background_time_unknown": _("counted for another or an unknown time"),
    "read_ask_calibration_passed": _(
        "The list gives days of calibration without a result: what does a day stand for?"
    ),
    "read_calibration_passed": _("a calibration that passed"),
    "read_calibration_leave": _("that is not certain: do not load these calibrations"),
    "read_ask_monitor_kind": _("What does the monitor “%(text)s” measure?"),
    "read_monitor_kind_wipe_counter": _("wipes: a wipe counter"),
    "read_monitor_kind_contamination": _("contamination"),
    "read_monitor_kind_dose_rate": _("dose rate"),
    "read_ask_efficiency_basis": _("What are the efficiencies counted per?"),
    "read_basis_per_decay": _("per decay (4π)"),
    "read_basis_per_2pi_emission": _("per emission into 2π (of the surface)"),
    "read_basis_surface_response": _("1/s per Bq/cm²"),
    "read_ask_efficiency_unit": _("Are the efficiencies below “%(text)s” per cent or fractions?"),
    "read_efficiency_fraction": _("fractions: 0.5 is one count in two decays"),
    "read_efficiency_per_cent": _("per cent: 0.5 is one count in two hundred decays"),
}

#: What a column can hold.
FIELDS: dict[str, str | Promise] = {
    f"read_field_{name}": label
    for name, label in {
        "none": _("nothing that is used"),
        "nuclide": _("nuclide"),
        "activity": _("activity"),
        "activity_unit": _("unit of the activity"),
        "reference": _("reference date of the activity"),
        "maker": _("maker"),
        "model": _("model"),
        "serial": _("serial"),
        "serial_why": _("why the serial is not known"),
        "housing_serial": _("serial of the housing"),
        "place": _("place"),
        "gauge": _("gauge"),
        "gauge_model": _("model of the gauge"),
        "received": _("day of arrival"),
        "supplier": _("supplier"),
        "certificate_on": _("day of the maker's leak-test certificate"),
        "certificate": _("certificate"),
        "quantity": _("number of sources"),
        "status": _("whether it is still there"),
        "remark": _("remark"),
        "wiped_on": _("day of the wipe"),
        "result": _("result"),
        "result_unit": _("unit of the result"),
        "uncertainty": _("uncertainty of the result"),
        "claimed": _("passed or failed"),
        "leaking": _("whether it leaks"),
        "wiped_by": _("who wiped"),
        "laboratory": _("laboratory"),
        "report": _("report number"),
        "detection_limit": _("detection limit"),
        "counter": _("counter"),
        "gross": _("gross counts"),
        "background": _("background counts"),
        "seconds": _("counting time"),
        "background_seconds": _("counting time of the background"),
        "counted_on": _("day of counting or of the report"),
        "counted_by": _("who counted"),
        "nominal": _("nominal activity of the source"),
        "tag": _("tag"),
        "monitor_kind": _("what it measures"),
        "probe": _("probe"),
        "calibrated_on": _("day of calibration"),
        "valid_until": _("valid until"),
        "passed": _("result of the calibration"),
        "efficiency": _("efficiency"),
        "whom_to_ask": _("whom to ask before the shutter is closed"),
    }.items()
}

PASSED_OVER: dict[str, str | Promise] = {
    "read_skipped_above": _("It stands above the heads."),
    "read_skipped_heads": _("It repeats the heads."),
    "read_skipped_total": _("It is a total."),
    "read_skipped_title": _("It is a title inside the list."),
    "read_skipped_foot": _("It is a remark beside the list, not a row of it."),
    "read_skipped_nothing": _("No column that is used says anything."),
    "read_skipped_numbers": _("It only numbers the columns."),
    "read_skipped_gone": _("The list says that it is gone (“%(text)s”), and so it is left out."),
    "read_skipped_struck": _("It is struck through and left out, as answered."),
}

NOTES: dict[str, str | Promise] = {
    # of the file
    "read_sheet_not_read": _("The sheet “%(text)s” is no list of anything that is kept here."),
    "read_sheet_is_place": _(
        "“%(text)s” has no column for the place: the name of the sheet is taken as the place."
    ),
    "read_column_by_content": _("The column “%(text)s” holds nuclides and is read as such."),
    "read_no_list": _(
        "No list was found in the file: a row must name its columns, such as Nuclide, Activity, "
        "Serial, Location."
    ),
    "read_no_rows": _("The file has no rows below its heads."),
    # of a row
    "read_waits_for_answer": _("It waits for the answer to a question above."),
    "read_hidden_row": _("The row is hidden in the file."),
    "read_struck": _("The row is struck through in the file: is it still there?"),
    "read_says_gone": _("The list says “%(text)s”."),
    "read_ditto": _("Column %(column)s repeats the row above: “%(text)s”."),
    "read_goes_on": _("What is blank of place and gauge is taken from row %(row_number)s."),
    "read_place_from_title": _("Place: “%(text)s”, from the title above or the name of the sheet."),
    "read_place_unknown": _("The place is not stated."),
    "read_signs_put_right": _("Written with look-alike or unseen signs: read as “%(text)s”."),
    # dates
    "read_order_settled_dmy": _("“%(text)s” read day first, as “%(one)s” in this column shows."),
    "read_order_settled_mdy": _("“%(text)s” read month first, as “%(one)s” in this column shows."),
    "read_order_settled_ymd": _("“%(text)s” read year first, as “%(one)s” in this column shows."),
    "read_year_of_two_digits": _(
        "The year %(text)s is read as %(year)s (50 to 99 are taken as 1950 to 1999)."
    ),
    "read_day_from_number": _("%(text)s is a day as a spreadsheet counts it: %(day_on)s."),
    "read_first_day_taken": _(
        "Only “%(text)s” is known: its first day is used, so that nothing falls due too late."
    ),
    "read_last_day_taken": _("Only “%(text)s” is known: its last day is used, here by then."),
    "read_reference_in_head": _("Reference date %(day)s, from the head of the activities."),
    "read_reference_beside": _("Reference date %(day)s, from the cell of the activity."),
    "read_reference_not_read": _("“%(text)s” beside the activity is no date and was not used."),
    # numbers and units
    "read_decimal_settled_comma": _(
        "%(text)s read with a decimal comma, as “%(one)s” in this column shows."
    ),
    "read_decimal_settled_point": _(
        "%(text)s read with a decimal point, as “%(one)s” in this column shows."
    ),
    "read_own_unit": _("“%(text)s” has a unit of its own, which goes before that of the head."),
    "read_approximate": _("“%(text)s” is an estimate: the number is used and marked so."),
    "read_activity_bound": _(
        "“%(text)s” is no activity: it is recorded as not known, and the words as a remark."
    ),
    "read_activity_zero": _("An activity of zero is recorded as not known."),
    "read_millibecquerel": _("“%(text)s” is read in millibecquerel: is MBq meant?"),
    "read_beside_not_used": _("“%(text)s” stands beside the activity and is not used."),
    # serials
    "read_serial_was_number": _(
        "The serial %(text)s was kept as a number: leading zeros may be lost. Look at the plate."
    ),
    "read_serial_became_date": _(
        "A spreadsheet has made the date %(text)s of the serial: it is recorded as not known."
    ),
    "read_serial_rounded": _(
        "A spreadsheet has rounded the serial to %(text)s: it is recorded as not known."
    ),
    # what will be an open point
    "read_open_serial": _("Open point: the serial is not known."),
    "read_open_activity": _("Open point: the activity is not known."),
    "read_open_reference": _("Open point: the reference date is not known."),
    "read_open_reference_precision": _(
        "Open point: of the reference date only “%(text)s” is known."
    ),
    # several sources
    "read_several_in_row": _("The row stands for %(n)s sources."),
    "read_one_serial_for_several": _("One serial (“%(text)s”) for %(n)s sources."),
    "read_activity_of_all": _(
        "“%(text)s” is the activity of all together: that of each is recorded as not known."
    ),
    "read_wipe_of_several": _("One wipe of %(n)s sources."),
    # wipes
    "read_word_only": _(
        "A result without figures: it counts only once the supervisor accepts it, with a reason."
    ),
    "read_failed_with_figure": _(
        "The list calls it a failure beside “%(text)s”: the failure stands."
    ),
    "read_words_differ": _("The list calls it passed and failed: the failure stands."),
    "read_rate_alone": _(
        "“%(text)s” is no activity, and cannot become one without time, background and counter: "
        "it is kept as a remark."
    ),
    "read_result_pending": _("The result is not there yet (“%(text)s”): no wipe is recorded."),
    "read_wipe_without_result": _("A wipe on %(on)s without a result: it is kept as a remark."),
    "read_counts_incomplete": _(
        "The counts are not used, because something is missing: %(missing)s."
    ),
    "read_counts_from_rate": _("“%(text)s” times its counting time gives the counts."),
    "read_zero_beside": _("“%(text)s” is no uncertainty or detection limit and was not used."),
    # monitors
    "read_calibration_left": _("Its calibration is left out, as answered."),
    "read_efficiency_of_what": _("An efficiency without a known nuclide was not used: “%(text)s”."),
    "read_efficiency_above_one": _("The efficiency %(text)s can only be per cent."),
}

FAULTS: dict[str, str | Promise] = {
    "read_formula_without_result": _(
        "A formula without a stored result: open the file, let it work out, save it, or write the "
        "value here."
    ),
    "read_error_value": _("The file has the error %(text)s here: write the value."),
    "read_day_out_of_range": _("“%(text)s” is no day between 1930 and 2079."),
    "read_number_became_date": _(
        "A spreadsheet has made the date %(text)s of a number: write the number with its unit."
    ),
    "read_number_not_understood": _("“%(text)s” is not a number of this kind."),
    "read_unit_not_understood": _(
        "“%(text)s” is not a unit of activity that can be used: write the unit, such as Bq."
    ),
    "read_head_scaled": _(
        "“%(text)s” multiplies the numbers below it: write each number with its own unit, such as "
        "5 Bq."
    ),
    "read_counts_of_what": _(
        "“%(text)s” does not say what its numbers are: write cpm, cps or counts behind the number."
    ),
    "read_unit_per_area": _(
        "“%(text)s” names a unit per area or volume: write the activity on the wipe, such as 5 Bq."
    ),
    "read_two_activities_differ": _(
        "“%(text)s” and “%(other)s” are two activities: write the one that is right."
    ),
    "read_nuclide_missing": _("The nuclide is missing."),
    "read_too_many_in_row": _("%(n)s sources in one row: give each a row of its own."),
    "read_result_more_than": _(
        "“%(text)s” says no figure: write the figure of the report, or failed."
    ),
    "read_result_not_understood": _(
        "“%(text)s” is not a result: write 3.2 Bq, < 5 Bq, passed or failed."
    ),
    "read_claim_not_understood": _("“%(text)s” says neither passed nor failed."),
    "read_bound_not_positive": _("Less than nothing is no result."),
    "read_wipe_without_day": _("A result needs the day of the wipe."),
    "read_wipe_of_what": _("It is not stated what was wiped: a serial or a gauge is needed."),
    "read_wipe_says_nothing": _("The row has no result that can be used."),
    "read_counts_not_whole": _("Counts are whole numbers: %(text)s is none."),
    "read_time_not_understood": _("“%(text)s” is not a counting time: write 600 s or 10 min."),
    "read_monitor_without_name": _("A monitor needs a tag or a serial."),
    "read_gauge_without_name": _("A gauge needs a tag or the serial of its housing."),
    "read_calibration_without_day": _("A calibration needs its day."),
    "read_valid_until_before": _("It would be valid until a day before its calibration."),
}

#: What is kept as a remark of the source, or says why its serial is not known.
KEPT: dict[str, str | Promise] = {
    "remark_activity": _("activity: %(text)s"),
    "remark_activity_of_all": _("activity of all together: %(text)s"),
    "remark_serial_number": _("serial read as a number: %(text)s"),
    "remark_status": _("status: %(text)s"),
    "remark_certificate": _("certificate %(text)s"),
    "remark_housing_serial": _("housing serial %(text)s"),
    "remark_received": _("received: %(text)s"),
    "remark_rate": _("last wipe %(day)s: %(text)s"),
    "remark_wiped": _("wiped on %(text)s, result not stated"),
    "remark_wiped_then": _("wiped: %(text)s"),
    "remark_stated": _("stated in the list: %(text)s"),
    "why_became_date": _("a spreadsheet has turned it into %(text)s"),
    "why_rounded": _("a spreadsheet has rounded it to %(text)s"),
    "why_shared": _("the list has %(text)s for %(n)s sources"),
    "said_not_detected": _("not detected"),
    "said_detection_limit": _("detection limit %(text)s"),
    "missing:background": _("background counts"),
    "missing:seconds": _("the counting time"),
    "missing:background_seconds": _("the counting time of the background"),
    "missing:counter": _("the counter"),
}

SENTENCES: dict[str, str | Promise] = {
    **KEPT,
    **QUESTIONS,
    **FIELDS,
    **PASSED_OVER,
    **NOTES,
    **FAULTS,
}


def said(code: str, **values: str | int) -> str:
    """A text that is recorded with a source, in the language of whoever loads it."""
    return str(KEPT[code]) % values
