"""Every mess of the messy sample: what it is, where it is put, and what must come of it.

``make_messy`` builds the files of ``fixtures/messy`` from the clean sheets and this list, and
``test_messy`` asserts for each mess that it is there and what came of it once ``ANSWERS`` are
given.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tests.reports.exchange.messy_sheets import CONTRACTOR, EXPORT, PORTABLES, SOURCES


@dataclass(frozen=True)
class Formula:
    """A formula with the result that is stored with it, or with none."""

    text: str
    stored: str | None


@dataclass(frozen=True)
class Formatted:
    """A number with its format."""

    number: float
    number_format: str


@dataclass(frozen=True)
class Look:
    """Something of the sheet, not of a cell: merge, hide_row, hide_column, hide_sheet, strike,
    colour, whole_row (``put`` is the row)."""

    what: str
    put: Any = None


@dataclass(frozen=True)
class Mess:
    """``put`` stands in ``cell`` of ``sheet``. ``must``: what came of it, see ``test_messy``."""

    name: str
    what: str
    file: str
    sheet: str
    cell: str
    put: Any
    must: Mapping[str, Any] = field(default_factory=dict)


#: What the owner of the sample answers.
ANSWERS: Mapping[str, str] = {
    "date_order": "dmy",
    "decimal_mark": "comma",
    "unit:activity:act.": "MBq",
    "unit:result:result": "Bq",
    "unit:seconds:count time": "min",
    "split:Kiln!53": "each",
    "split:Kiln!54": "together",
    "split:Raw mill!6": "each",
    "struck": "leave",
    "gone": "leave",
    "cross": "failed",
    "monitor_kind:model 12": "dose_rate",
    "efficiency_basis": "per_decay",
    "efficiency_unit": "fraction",
}


def kiln(name: str, what: str, cell: str, put: Any, **must: Any) -> Mess:
    return Mess(name, what, SOURCES, "Kiln", cell, put, must)


def mill(name: str, what: str, cell: str, put: Any, **must: Any) -> Mess:
    return Mess(name, what, SOURCES, "Raw mill", cell, put, must)


def other(sheet: str, name: str, what: str, cell: str, put: Any, **must: Any) -> Mess:
    return Mess(name, what, SOURCES, sheet, cell, put, must)


def csv(name: str, what: str, cell: str, put: Any, **must: Any) -> Mess:
    return Mess(name, what, CONTRACTOR, "contractor-results", cell, put, must)


def bq(value: str) -> dict[str, str]:
    return {"source.activity_bq": value}


ACTIVITIES = (
    kiln("unit-in-head", "mCi in the head, a bare number below", "C6", 100,
         entry=bq("3700000000") | {"source.activity_text": "100 mCi"}),
    kiln("unit-of-its-own", "another unit in the cell than in the head", "C7", "3.7 GBq",
         note="read_own_unit", entry=bq("3700000000")),
    kiln("greek-mu", "Greek letter mu U+03BC", "C8", "100 \u03bcCi", entry=bq("3700000")),
    kiln("micro-sign", "micro sign U+00B5", "C9", "100 \u00b5Ci", entry=bq("3700000")),
    kiln("u-for-micro", "a Latin u for micro", "C10", "100 uCi", entry=bq("3700000")),
    kiln("decimal-comma", "1,5", "C11", "1,5 GBq", entry=bq("1500000000")),
    kiln("point-for-thousands", "1.500,0", "C12", "1.500,0 MBq", entry=bq("1500000000")),
    kiln("two-hands", "1,500 where one hand writes points and another commas", "C13", "1,500 GBq",
         question="decimal_mark", entry=bq("1500000000")),
    kiln("no-break-space", "a no-break space between thousands", "C14", "3\u00a0700 MBq",
         entry=bq("3700000000")),
    kiln("thin-space", "a thin space between thousands", "C15", "3\u2009700 MBq",
         entry=bq("3700000000")),
    kiln("power-of-ten", "a power of ten in words", "C16", "3.7 x 10^9 Bq", entry=bq("3700000000")),
    kiln("raised-power", "a raised power of ten", "C17", "3,7×10⁹ Bq", entry=bq("3700000000")),
    kiln("approximate", "a tilde before the number", "C18", "~100",
         note="read_approximate", entry=bq("3700000000") | {"source.activity_basis": "estimated"}),
    kiln("lower-bound", "more than: no activity is made of it", "C19", "> 5 GBq",
         note="read_activity_bound", entry={"source.activity_bq": "None",
                                            "source.remark": "activity: > 5 GBq"}),
    kiln("activity-unknown", "a question mark for the activity", "C20", "?",
         note="read_open_activity", entry={"source.activity_bq": "None"}),
    kiln("milli-not-mega", "mBq is milli, and it is said", "C21", "370 mBq",
         note="read_millibecquerel", entry={"source.activity_bq": "0.37"}),
    kiln("milli-or-mega", "mbq may be either", "C22", "370 mbq", fault="activity_ambiguous"),
    kiln("two-units", "the same activity twice", "C23", "100 mCi (3.7 GBq)",
         note="read_beside_not_used", entry=bq("3700000000")),
    kiln("two-activities", "two activities that differ", "C24", "100 mCi (37 GBq)",
         fault="read_two_activities_differ"),
    kiln("unit-in-format", "the unit is part of the number format", "C25",
         Formatted(3.7, '0" GBq"'), note="read_own_unit", entry=bq("3700000000")),
    kiln("formula", "a formula with its stored result", "C26", Formula("50*2", "100"),
         entry=bq("3700000000"), book_note="opened_formulas"),
    kiln("formula-without-result", "a formula that was never worked out", "C27",
         Formula("A1*2", None), fault="read_formula_without_result"),
    kiln("error-value", "a broken reference", "C28", "#REF!", fault="read_error_value"),
)  # fmt: skip

DATES = (
    kiln("order-settled", "one date of the column settles the order", "D29", "25/12/2010",
         entry={"source.reference_on": "2010-12-25"}),
    kiln("order-taken", "03/04/05 in a column that is settled", "D30", "03/04/05",
         note="read_order_settled_dmy", entry={"source.reference_on": "2005-04-03"}),
    kiln("serial-day", "an Excel serial without its date format", "D31", 40330,
         note="read_day_from_number", entry={"source.reference_on": "2010-06-01"}),
    kiln("month-only", "a month with a year of two digits", "D32", "May-12",
         note="read_open_reference_precision",
         entry={"source.reference_on": "2012-05-31", "source.reference_precision": "month"}),
    kiln("year-only", "a year", "D33", 2014,
         note="read_open_reference_precision",
         entry={"source.reference_on": "2014-12-31", "source.reference_precision": "year"}),
    kiln("reference-1974", "a reference date of 1974", "D34", date(1974, 5, 1),
         entry={"source.reference_on": "1974-05-01"}),
    kiln("impossible-day", "31 February", "D35", "31/02/2011", fault="date_not_understood"),
    kiln("ordinal", "3rd March 2012", "D36", "3rd March 2012",
         entry={"source.reference_on": "2012-03-03"}),
    kiln("midnight", "a date with a time as text", "D37", "2012-05-03 00:00:00",
         entry={"source.reference_on": "2012-05-03"}),
    kiln("last-century", "a year of two digits of the last century", "D38", "3-May-74",
         note="read_year_of_two_digits", entry={"source.reference_on": "1974-05-03"}),
    kiln("no-reference", "no reference date", "D39", None,
         note="read_open_reference", entry={"source.reference_on": "None"}),
)  # fmt: skip

SERIALS = (
    kiln("lost-zeros", "a serial read as a number", "E40", 12345,
         note="read_serial_was_number",
         entry={"source.serial": "12345", "source.remark": "serial read as a number: 12345"}),
    kiln("kept-zeros", "a number whose format shows the zeros", "E41", Formatted(123, "00000"),
         entry={"source.serial": "00123"}),
    kiln("point-zero", "a serial that became 12346.0", "E42", "12346.0",
         note="read_serial_was_number", entry={"source.serial": "12346"}),
    kiln("rounded-serial", "a serial rounded to 1.23E+10", "E43", "1.23E+10",
         note="read_serial_rounded", entry={"source.serial": ""}),
    kiln("serial-became-date", "a serial that became a date", "E44", date(2025, 3, 12),
         note="read_serial_became_date", entry={"source.serial": ""}),
    kiln("illegible", "a serial that nobody can read", "E45", "illegible (painted over)",
         note="read_open_serial",
         entry={"source.serial_unknown_because": "illegible (painted over)"}),
    kiln("serial-not-known", "n/a for the serial", "E46", "n/a", note="read_open_serial",
         entry={"source.serial": ""}),
    kiln("cyrillic", "Cyrillic letters that look Latin", "E47", "\u0410\u0412-123",
         note="read_signs_put_right", entry={"source.serial": "AB-123"}),
    kiln("full-width", "full-width letters and digits", "E48", "ＱＦ－７",
         note="read_signs_put_right", entry={"source.serial": "QF-7"}),
    kiln("zero-width", "a zero-width space inside", "E49", "QF-\u200b149",
         note="read_signs_put_right", entry={"source.serial": "QF-149"}),
    kiln("equals-sign", "a text that begins with =", "E50", "=SN-44",
         entry={"source.serial": "=SN-44"}),
    kiln("repeated-serial", "the serial of the row above", "E51", "=SN-44",
         entry={"source.serial": "=SN-44"}),
    kiln("slash-serial", "one serial with a slash", "E52", "CS-1/07",
         entry={"source.serial": "CS-1/07"}, entries=1),
    kiln("two-in-one-cell", "two sources in one cell", "E53", "A123 / A124",
         question="split:Kiln!53", entries=2,
         entry={"source.serial": "A123", "source.activity_bq": "3700000000"}),
    kiln("two-with-line-break", "two serials and a line break", "E54", "B201\nB202",
         question="split:Kiln!54", entries=2, note="read_activity_of_all",
         entry={"source.serial": "B201", "source.activity_bq": "None"}),
)  # fmt: skip

NUCLIDES = (
    kiln("mass-first", "137Cs", "B55", "137Cs", entry={"source.nuclide": "Cs-137"}),
    kiln("name-in-words", "Caesium 137", "B56", "Caesium  137", entry={"source.nuclide": "Cs-137"}),
    kiln("assembly", "Am241Be", "B57", "Am241Be", entry={"source.nuclide": "Am-241/Be"}),
    kiln("two-nuclides", "two nuclides with one serial", "B58", "Cs-137 / Am-241:Be", entries=2,
         note="read_activity_of_all", entry={"source.nuclide": "Cs-137"}),
    kiln("nuclide-slip", "swapped digits", "B59", "Cs-173", fault="nuclide_unknown"),
)  # fmt: skip

RESULTS = (
    kiln("less-than", "<185", "H60", "<185", entry={"wipe.result.figures.less_than_bq": "185.0"}),
    kiln("below-detection", "BDL from a laboratory, without a figure", "H61", "BDL",
         entry={"wipe.result.figures.not_detected": "True",
                "wipe.result.figures.detection_limit_bq": "None"}),
    kiln("only-ok", "a word for a result", "H62", "OK", note="read_word_only",
         entry={"wipe.result.passed": "True", "wipe.claimed": "passed"}),
    kiln("not-detected", "ND with the limit beside it", "H63", "ND (< 4)",
         entry={"wipe.result.figures.less_than_bq": "4.0"}),
    kiln("result-in-uci", "0.002 uCi in a column of Bq", "H64", "0.002 uCi",
         entry={"wipe.result.figures.activity_bq": "74.0"}),
    kiln("plus-minus", "a figure with its uncertainty", "H65", "12 ± 3 (k=2)",
         entry={"wipe.result.figures.expanded_uncertainty_bq": "3.0",
                "wipe.result.figures.coverage_factor": "2.0"}),
    kiln("only-fail", "a failure without a figure", "H66", "FAIL",
         entry={"wipe.result.passed": "False", "wipe.claimed": "failed"}),
    kiln("fail-with-figure", "a small figure that the list calls a failure", "H67", "FAIL (3 Bq)",
         note="read_failed_with_figure", entry={"wipe.result.passed": "False"}),
    kiln("cpm-alone", "counts per minute and nothing else", "H68", "12 cpm",
         note="read_rate_alone", entry={"wipe": "None"}),
    kiln("more-than", "a result of more than", "H69", "> 200", fault="read_result_more_than"),
    kiln("awaited", "a result that is not back", "H70", "awaited",
         note="read_result_pending", entry={"wipe": "None"}),
    kiln("wiped-in-a-month", "a wipe of which only the month is known", "G71", "Jun 2024",
         note="read_first_day_taken", entry={"wipe.on": "2024-06-01"}),
)  # fmt: skip

SHAPES = (
    kiln("title", "a decorated title above the heads", "A1", "Quillon Ferry Cement: sources",
         skipped="read_skipped_above"),
    kiln("two-line-heads", "heads over two lines, the upper merged", "G4", "Last leak test",
         column=("H", "result", "Bq")),
    kiln("sheet-is-place", "a sheet per building and no column for the place", "A6", "LG-6",
         entry={"place": "Kiln"}, file_note="read_sheet_is_place"),
    kiln("merged-gauge", "one gauge cell merged over two sources", "A72", Look("merge", "A72:A73"),
         row=73, entry={"gauge": "LG-72"}),
    kiln("hidden-row", "a hidden row", "A74", Look("hide_row"), note="read_hidden_row"),
    kiln("struck-through", "a row struck through", "A75", Look("strike"),
         question="struck", skipped="read_skipped_struck"),
    kiln("hidden-column", "a hidden column", "F4", Look("hide_column"),
         book_note="opened_hidden_columns", row=6, entry={"source.maker": "Invented Sources"}),
    kiln("coloured", "a colour with a meaning", "A6", Look("colour"),
         book_note="opened_colours_not_read"),
    kiln("footnote", "a line below the list", "A78", "Checked by the adviser in May",
         skipped="read_skipped_foot"),
    kiln("total", "a total below the list", "A77",
         Look("whole_row", ["Total", None, Formula("SUM(C6:C75)", "6800")]),
         skipped="read_skipped_total"),
    mill("order-asked", "03/04/05 in a column that nothing settles", "G2", "03/04/05",
         question="date_order", entry={"source.reference_on": "2005-04-03"}),
    mill("mark-asked", "1,500 in a column that nothing settles", "E3", "1,500",
         question="decimal_mark", entry={"source.activity_text": "1.500 mCi"}),
    mill("unit-column", "the unit in a column of its own", "F4", "GBq", entry=bq("50000000000")),
    mill("ditto", "a ditto mark", "I5", '"', note="read_ditto", entry={"source.model": "rod R"}),
    mill("quantity", "two sources in one row by number", "K6", 2, question="split:Raw mill!6",
         entries=2, entry={"source.serial": ""}),
    mill("goes-on", "a second source under the gauge above", "A7",
         Look("whole_row", [None, None, None, "Co-60", "60", "mCi", "2009-05-12", "RM-7"]),
         note="read_goes_on", entry={"gauge": "DG-6", "place": "Raw mill, Level 6"}),
    mill("building-and-room", "a place in two columns", "B8", "Crusher house",
         entry={"place": "Crusher house, Level 8"}),
    mill("tick", "a tick for a pass", "N9", "✓", note="read_word_only",
         entry={"wipe.claimed": "passed"}),
    mill("cross", "a cross in a pass column", "N10", "x", question="cross",
         entry={"wipe.result.passed": "False"}),
    mill("disposed", "a source that the list calls gone", "Q11", "disposed of 2019",
         question="gone", skipped="read_skipped_gone"),
    mill("post-dated", "a nominal activity dated after arrival", "G12", "2012-01-01",
         entry={"source.reference_on": "2012-01-01", "received_on": "2011-02-14"}),
    mill("repeated-heads", "the heads once more in the list", "A13",
         Look("whole_row", ["No.", "Building", "Room", "Radionuclide", "Original activity"]),
         skipped="read_skipped_heads"),
    mill("not-used", "an activity that the register works out itself", "P1",
         "Current activity (MBq)", column=("P", "", "MBq")),
    mill("due-not-used", "a due date of the list is no due date here", "O1", "Next due",
         column=("O", "", "")),
    mill("arrived-in-a-month", "a month for the day of arrival", "L14", "March 2011",
         note="read_last_day_taken", entry={"received_on": "2011-03-31"}),
    mill("wiped-without-result", "a wipe date and no result", "N15", None,
         note="read_wipe_without_result", entry={"wipe": "None"}),
    other("Old store", "hidden-sheet", "a hidden sheet", "A2", Look("hide_sheet"),
          book_note="opened_hidden_sheet"),
    other("Old store", "by-content", "a head that says only Source above nuclides", "A1", "Source",
          column=("A", "nuclide", "")),
    other("Old store", "unit-asked", "a bare number and no unit anywhere", "C3", "37",
          question="unit:activity:act.", entry=bq("37000000")),
    other("Old store", "section-title", "a title inside the list that names the place", "A4",
          Look("whole_row", ["Building 3"]), skipped="read_skipped_title"),
    other("Old store", "place-from-title", "no place in the row below a title", "E5", None,
          note="read_place_from_title", entry={"place": "Building 3"}),
    other("Old store", "subtotal", "a subtotal in the list", "A6",
          Look("whole_row", ["Subtotal", 4, "148"]), skipped="read_skipped_total"),
    other("Phone list", "no-list", "a sheet that is no list of anything here", "A1", "Telephone",
          file_note="read_sheet_not_read"),
)  # fmt: skip

MEASUREMENTS = (
    other("Instruments", "per-cent", "an efficiency in per cent by its head", "K2", 22,
          entry={"calibration.efficiencies.0.efficiency": "0.22"}, question="efficiency_basis"),
    other("Instruments", "basis-in-head", "the basis of an efficiency in its head", "L1",
          "Eff. Sr-90 4π", row=2, entry={"calibration.efficiencies.1.basis": "per_decay",
                                         "calibration.efficiencies.1.efficiency": "0.31"}),
    other("Instruments", "kind-asked", "a monitor of which nobody says what it measures", "C5",
          "model 12", question="monitor_kind:model 12", entry={"monitor_kind": "dose_rate"}),
    other("Cal history", "failed-calibration", "a calibration that failed", "E3", "FAIL",
          entry={"passed": "False"}),
    other("Leak tests 2024", "raw-counts", "counts, times, background and counter", "D2", 431,
          question="unit:seconds:count time",
          entry={"result.gross": "[(431.0, 600.0)]", "result.background": "[(400.0, 600.0)]",
                 "result.counter": "WC-1"}),
    other("Leak tests 2024", "no-counter", "counts without a counter and a word", "H3",
          Look("whole_row", [date(2024, 3, 5), "QF-7", "Cs-137", 431, 10, 400, 10, None, None, None,
                             "pass", "the technician"]),
          note="read_counts_incomplete", entry={"result.passed": "True"}),
    other("Leak tests 2024", "result-unit-asked", "a bare figure for a result", "I4", "2.5",
          question="unit:result:result", entry={"remark": "stated in the list: 2.5 Bq"}),
    other("Leak tests 2024", "two-wiped", "one wipe of two sources", "B5", "QF-8; QF-9",
          note="read_wipe_of_several", entry={"subjects": "('QF-8', 'QF-9')"}),
    csv("windows-1252", "letters of Windows-1252", "A1",
        "Prüfbericht der Prüfstelle für Quillon Ferry", file_note="opened_windows_1252",
        skipped="read_skipped_above"),
    csv("comma-in-csv", "a decimal comma between semicolons", "D3", "1,5",
        entry={"result.figures.activity_bq": "1.5",
               "result.figures.expanded_uncertainty_bq": "0.4"}),
    csv("dotted-date", "a date with points that the column settles", "A4", "17.03.2024",
        entry={"on": "2024-03-17"}),
    csv("comma-settled", "1,250 in a column that shows the decimal comma", "D8", "1,250",
        note="read_decimal_settled_comma", entry={"result.figures.activity_bq": "1.25"}),
    csv("less-than-comma", "less than, with a comma", "D5", "<0,5",
        entry={"result.figures.less_than_bq": "0.5"}),
    csv("line-break-in-quotes", "a line break inside quotes", "F6", "first wipe,\nsecond floor",
        entry={"remark": "first wipe, second floor"}),
    csv("separator-in-quotes", "the separator inside quotes", "F7", "pole; ladder",
        entry={"remark": "pole; ladder"}),
    Mess("calendar-1904", "days counted from 1904", PORTABLES, "Portables", "D2", 40000,
         {"file_note": "opened_1904", "note": "read_day_from_number",
          "entry": {"source.reference_on": "2013-07-07"}}),
    Mess("two-in-a-portable", "two rows for one portable gauge", PORTABLES, "Portables", "A3",
         "PG-1", {"entry": {"gauge": "PG-1", "source.nuclide": "Am-241/Be"}}),
    Mess("utf-16-tabs", "UTF-16 with tabs", EXPORT, "wipes-export", "C2", "< 4 Bq",
         {"entry": {"result.figures.less_than_bq": "4.0", "result.laboratory": "Testing body"}}),
)  # fmt: skip

MESSES = (*ACTIVITIES, *DATES, *SERIALS, *NUCLIDES, *RESULTS, *SHAPES, *MEASUREMENTS)
