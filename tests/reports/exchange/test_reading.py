"""Reading lists: one thing at a time, from a few lines of CSV."""

from __future__ import annotations

import random
import string
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from inventory.calc.nuclides import read_nuclides
from reports.exchange.opening import open_book, open_path
from reports.exchange.reading import heads, understand
from reports.exchange.reading import nuclide as reading_nuclide
from reports.exchange.reading.vocabulary import PHRASES
from reports.exchange.understood import CountsStated, Decisions, LoadFault, Row, Understood
from surveys.leak.wipe import DeclaredBy, FromLaboratory

FIXTURES = Path(__file__).parents[3] / "fixtures"
TABLE = read_nuclides()
HEADS = "Nuclide,Activity,Serial,Location"


@pytest.fixture(autouse=True)
def shipped_nuclides(monkeypatch):
    monkeypatch.setattr(reading_nuclide, "nuclides", lambda: TABLE)


def read(text: str, answers: Mapping[str, str] | None = None, **decided: Any) -> Understood:
    decisions = Decisions(answers=answers or {}, **decided)
    return understand(open_book("list.csv", text.encode()), decisions)


def source(heads_: str, row: str, answers: Mapping[str, str] | None = None) -> Any:
    """The source of a list with one row, which must be good."""
    (found,) = read(f"{heads_}\n{row}\n", answers).rows
    assert not found.faults, found.faults
    return found.entries[0].source


def only(text: str, answers: Mapping[str, str] | None = None) -> Row:
    (found,) = read(text, answers).rows
    return found


def codes(steps: Any) -> list[str]:
    return [step.code for step in steps]


def faults(row: Row) -> list[str]:
    return codes(fault.text for fault in row.faults)


# ---------------------------------------------------------------- heads


@pytest.mark.parametrize("kind", PHRASES)
def test_every_phrase_of_the_vocabulary_names_its_own_field(kind):
    wrong = {
        " ".join(sorted(phrase)): heads.field_of(" ".join(sorted(phrase)), kind).field
        for field, phrases in PHRASES[kind].items()
        for phrase in phrases
        if heads.field_of(" ".join(sorted(phrase)), kind).field != field
    }
    assert wrong == {}


@pytest.mark.parametrize(
    ("head", "field", "unit"),
    [
        ("S/N", "serial", ""),
        ("Serial No.", "serial", ""),
        ("Act. (mCi)", "activity", "mCi"),
        ("Act. [MBq]", "activity", "MBq"),
        ("Activity, GBq", "activity", "GBq"),
        ("mCi", "activity", "mCi"),
        ("Radionuclide", "nuclide", ""),
        ("Assay date", "reference", ""),
        ("Calibrated activity date", "reference", ""),
        ("Device tag", "gauge", ""),
        ("Gauge ID", "gauge", ""),
        ("Housing", "gauge", ""),
        ("Date of last leak test", "wiped_on", ""),
        ("Leak test result (µCi)", "result", "\u03bcCi"),
        ("Wiped by", "wiped_by", ""),
        ("Number of sources", "quantity", ""),
        ("Next due", "-", ""),
        ("Current activity (MBq)", "-", "MBq"),
        ("Colour of the lid", "", ""),
    ],
)
def test_heads_of_sources(head, field, unit):
    assert heads.field_of(head, "sources").field == field
    assert heads.take_apart(head).unit == unit


def test_the_template_needs_no_question():
    found = understand(open_path(FIXTURES / "sources-sample.csv"), Decisions())
    assert found.questions == () and found.faulty == [] and len(found.rows) == 6
    assert {column.field for column in found.sheets[0].columns} >= {"serial_why", "uncertainty"}
    assert all(column.field for column in found.sheets[0].columns)


def test_a_column_that_is_needed_is_asked_for_and_the_answer_is_taken():
    text = "Stuff,Activity,Serial,Reference date\nKapsel eins,1 GBq,A-1,2010-01-01\n"
    asked = read(text)
    assert [one.key for one in asked.open_questions] == ["column:list!A"]
    assert asked.rows == ()
    answered = read(text.replace("Kapsel eins", "Cs-137"), {"column:list!A": "nuclide"})
    assert answered.rows[0].entries[0].source.nuclide == "Cs-137"


def test_the_kind_of_a_sheet_can_be_stated():
    found = read(f"{HEADS}\nCs-137,1 GBq,A-1,Store\n", {"kind:list": "other"})
    assert found.sheets[0].kind == "other" and found.rows == ()
    assert [(one.key, one.answer) for one in found.questions] == [("kind:list", "other")]


@pytest.mark.parametrize("text", ["a,b\n1,2\n", "only words\nand more\n"])
def test_a_file_without_a_list_says_so(text):
    with pytest.raises(LoadFault) as refusal:
        read(text)
    assert codes(refusal.value.faults) == ["read_no_list"]


def test_heads_without_rows_say_so():
    with pytest.raises(LoadFault) as refusal:
        read(f"{HEADS}\n")
    assert codes(refusal.value.faults) == ["read_no_rows"]


# ---------------------------------------------------------------- dates


def test_the_order_of_dates_is_asked_once_for_a_file():
    text = "Nuclide,Activity,Ref date,Date received\nCs-137,1 GBq,03/04/05,04/05/06\n"
    found = read(text)
    assert [one.key for one in found.open_questions] == ["date_order"]
    assert len(found.open_questions[0].examples) == 2
    for answer, day in (("dmy", (2005, 4, 3)), ("mdy", (2005, 3, 4)), ("ymd", (2003, 4, 5))):
        (entry,) = read(text, {"date_order": answer}).rows[0].entries
        assert entry.source.reference_on == date(*day)


@pytest.mark.parametrize(
    ("proof", "day"), [("25/12/2019", date(2005, 4, 3)), ("12/25/2019", date(2005, 3, 4))]
)
def test_one_date_settles_its_column_and_it_is_said(proof, day):
    found = read(f"Nuclide,Activity,Ref date\nCs-137,1 GBq,03/04/2005\nCs-137,1 GBq,{proof}\n")
    assert found.questions == ()
    assert found.rows[0].entries[0].source.reference_on == day
    assert any(code.startswith("read_order_settled_") for code in codes(found.rows[0].notes))


def test_two_hands_in_one_column_settle_nothing():
    text = "Nuclide,Activity,Ref date\n" + "".join(
        f"Cs-137,1 GBq,{day}\n" for day in ("03/04/2005", "25/12/2019", "12/25/2019")
    )
    found = read(text)
    assert [one.key for one in found.open_questions] == ["date_order"]
    assert [row.entries != () for row in found.rows] == [False, True, True]


@pytest.mark.parametrize(
    ("written", "on", "precision"),
    [
        ("2019-05-03", date(2019, 5, 3), "day"),
        ("3 May 2019", date(2019, 5, 3), "day"),
        ("3-May-19", date(2019, 5, 3), "day"),
        ("Friday, 3 May 2019", date(2019, 5, 3), "day"),
        ("May 3, 2019", date(2019, 5, 3), "day"),
        ("05/05/2019", date(2019, 5, 5), "day"),
        ("20190503", date(2019, 5, 3), "day"),
        ("43588", date(2019, 5, 3), "day"),
        ("May-19", date(2019, 5, 31), "month"),
        ("05/2019", date(2019, 5, 31), "month"),
        ("2019", date(2019, 12, 31), "year"),
        ("1974-05-01", date(1974, 5, 1), "day"),
        ("May-74", date(1974, 5, 31), "month"),
    ],
)
def test_dates_as_people_write_them(written, on, precision):
    found = source("Nuclide,Activity,Ref date", f'Cs-137,1 GBq,"{written}"')
    assert (found.reference_on, found.reference_precision) == (on, precision)


@pytest.mark.parametrize(
    "written", ["31/02/2011", "32 May 2019", "19-May", "soon", "1 May 1800", "Q2 2019"]
)
def test_what_is_no_date_is_at_fault(written):
    row = only(f"Nuclide,Activity,Ref date\nCs-137,1 GBq,{written}\n")
    assert faults(row)[0] in ("date_not_understood", "read_day_out_of_range")
    assert row.faults[0].field == "reference"


@pytest.mark.parametrize("written", ["n/a", "-", "unknown", "?", "TBC"])
def test_an_unknown_date_stays_unknown(written):
    assert source("Nuclide,Activity,Ref date", f"Cs-137,1 GBq,{written}").reference_on is None


def test_the_day_of_the_activity_can_stand_in_the_head_or_the_cell():
    in_head = source("Nuclide,Activity at 1 Jan 2010 (MBq),Serial", "Cs-137,100,A")
    in_cell = source("Nuclide,Activity,Serial", "Cs-137,100 MBq (1 Jan 2010),A")
    assert in_head.reference_on == in_cell.reference_on == date(2010, 1, 1)


# ---------------------------------------------------------------- numbers and units


@pytest.mark.parametrize(
    ("written", "bq"),
    [
        ("100 mCi", "3700000000"),
        ("1,5 GBq", "1500000000"),
        ("1.500,0 MBq", "1500000000"),
        ("1'500 MBq", "1500000000"),
        ("3\u202f700 MBq", "3700000000"),
        ("3.7E9 Bq", "3700000000"),
        ("3.7 x 10^9 Bq", "3700000000"),
        ("3,7·10⁹ Bq", "3700000000"),
        ("5 µCi", "185000"),
        ("5 \u03bcCi", "185000"),
        ("5 uCi", "185000"),
        ("370 MBq", "370000000"),
        ("370 mBq", "0.37"),
        ("10 mCi nominal", "370000000"),
        ("10 mCi each", "370000000"),
        ("100 mCi (3.7 GBq)", "3700000000"),
        ("222000000000 dpm", "3700000000"),
    ],
)
def test_activities_as_people_write_them(written, bq):
    found = source("Nuclide,Activity,Serial", f'Cs-137,"{written}",A')
    assert found.activity_bq == Decimal(bq)


@pytest.mark.parametrize(
    ("answer", "bq"), [("comma", Decimal("1500000")), ("point", Decimal("1500000000"))]
)
def test_a_comma_is_asked_about_once(answer, bq):
    text = 'Nuclide,Activity,Serial\nCs-137,"1,500 MBq",A\nCs-137,"2,500 MBq",B\n'
    assert [one.key for one in read(text).open_questions] == ["decimal_mark"]
    (first, _second) = read(text, {"decimal_mark": answer}).rows
    assert first.entries[0].source.activity_bq == bq


def test_a_point_is_asked_about_where_the_file_writes_decimal_commas():
    text = "Nuclide;Activity;Serial;Wipe date;Wipe result\nCs-137;1.500 MBq;A;2024-01-02;0,5 Bq\n"
    assert [one.key for one in read(text).open_questions] == ["decimal_mark"]
    (row,) = read(text, {"decimal_mark": "comma"}).rows
    assert row.entries[0].source.activity_bq == Decimal("1500000000")


def test_a_bare_number_without_any_unit_is_asked_about_and_never_guessed():
    text = f"{HEADS}\nCs-137,100,A,Store\n"
    (question,) = read(text).open_questions
    assert question.key == "unit:activity:activity"
    assert not read(text).rows[0].entries
    (row,) = read(text, {question.key: "mCi"}).rows
    assert row.entries[0].source.activity_text == "100 mCi"


@pytest.mark.parametrize("unit", ["mbq", "MBQ"])
def test_a_unit_that_could_be_mega_or_milli_is_never_chosen(unit):
    assert faults(only(f"{HEADS}\nCs-137,100 {unit},A,Store\n")) == ["activity_ambiguous"]
    head = f"Nuclide,Activity ({unit}),Serial\nCs-137,100,A\n"
    assert [one.key.startswith("unit:") for one in read(head).open_questions] == [True]


@pytest.mark.parametrize("written", ["unknown", "?", "> 5 GBq", "0 MBq", "-"])
def test_an_unknown_activity_is_loaded_as_unknown(written):
    row = only(f"{HEADS}\nCs-137,{written},A,Store\n")
    assert row.entries[0].source.activity_bq is None
    assert "read_open_activity" in codes(row.notes)


# ---------------------------------------------------------------- results of wipes

WIPED = "Nuclide,Activity,Serial,Wipe date,Wipe result,Wiped by"


def wipe(result: str, by: str = "J. Smith", answers: Mapping[str, str] | None = None) -> Any:
    row = only(f'{WIPED}\nCs-137,1 GBq,A,2024-01-02,"{result}",{by}\n', answers)
    assert not row.faults, row.faults
    return row.entries[0].wipe if row.entries else None


@pytest.mark.parametrize(
    ("written", "figures"),
    [
        ("<185 Bq", {"less_than_bq": 185.0}),
        ("< 0.005 µCi", {"less_than_bq": 185.0}),
        ("≤ 5 Bq", {"at_most_bq": 5.0}),
        ("0.002 uCi", {"activity_bq": 74.0}),
        ("600 dpm", {"activity_bq": 10.0}),
        ("0 Bq", {"activity_bq": 0.0}),
        ("-0.3 Bq", {"activity_bq": -0.3}),
        ("185 Bq ± 20", {"activity_bq": 185.0, "expanded_uncertainty_bq": 20.0}),
        (
            "1.2 ± 0.4 Bq (k=2)",
            {"activity_bq": 1.2, "expanded_uncertainty_bq": 0.4, "coverage_factor": 2.0},
        ),
        ("OK (3 Bq)", {"activity_bq": 3.0}),
        ("pass < 5 Bq", {"less_than_bq": 5.0}),
        ("ND (MDA 4 Bq)", {"not_detected": True, "detection_limit_bq": 4.0}),
    ],
)
def test_figures_of_a_result(written, figures):
    result = wipe(written).result
    assert isinstance(result, FromLaboratory)
    assert {name: getattr(result.figures, name) for name in figures} == figures
    bare = replace(result.figures, **dict.fromkeys(figures))
    assert not any(value for value in (bare.activity_bq, bare.less_than_bq, bare.at_most_bq))


@pytest.mark.parametrize(
    "word", ["OK", "pass", "Passed.", "neg", "no leak", "satisfactory", "ND", "BDL"]
)
def test_a_word_stays_a_word(word):
    found = wipe(word)
    assert isinstance(found.result, DeclaredBy) and found.result.passed
    assert found.claimed == "passed"


@pytest.mark.parametrize("word", ["FAIL", "failed", "leak", "Leaking!", "positive", "not ok"])
def test_a_failure_stays_a_failure(word):
    found = wipe(word)
    assert isinstance(found.result, DeclaredBy) and not found.result.passed


def test_a_failure_goes_before_a_small_figure():
    found = wipe("FAIL 2 Bq")
    assert found.result == DeclaredBy(False, "J. Smith", found.result.document)
    assert "2 Bq" in found.remark


@pytest.mark.parametrize("word", ["ND", "BDL", "<MDA", "not detected"])
def test_not_detected_by_a_laboratory_has_no_figure(word):
    result = wipe(word, by="Counting laboratory").result
    assert result.figures.not_detected and result.figures.detection_limit_bq is None
    assert result.figures.less_than_bq is None and result.figures.activity_bq is None


@pytest.mark.parametrize(
    "written", ["12 cpm", "34 counts", "0.2 cps", "pending", "awaited", "n/a", "-"]
)
def test_what_is_no_result_makes_no_wipe(written):
    assert wipe(written) is None


@pytest.mark.parametrize("written", ["> 200 Bq", "about right", "5 Bq/cm2", "see report"])
def test_what_cannot_be_a_result_is_at_fault(written):
    row = only(f"{WIPED}\nCs-137,1 GBq,A,2024-01-02,{written},\n")
    assert row.faults and row.entries == ()


def test_a_bare_figure_is_asked_for_its_unit():
    text = f"{WIPED}\nCs-137,1 GBq,A,2024-01-02,3.2,\n"
    (question,) = read(text).open_questions
    assert question.key == "unit:result:wipe result"
    row = only(text, {question.key: "Bq"})
    assert row.entries[0].wipe.result.figures.activity_bq == 3.2


def test_a_unit_per_area_is_no_unit_of_a_result():
    row = only(
        "Nuclide,Activity,Serial,Wipe date,Wipe result (Bq/cm2)\nCs-137,1 GBq,A,2024-01-02,3\n"
    )
    assert faults(row) == ["read_unit_per_area"]


def test_a_result_without_its_day_is_at_fault():
    assert faults(only(f"{WIPED}\nCs-137,1 GBq,A,,3 Bq,\n")) == ["read_wipe_without_day"]


# ---------------------------------------------------------------- counts

COUNTED = "Date,Serial,Nuclide,Gross counts,Count time (min),Bkg counts,Bkg time (min),Counter"


def test_counts_are_taken_whole():
    row = only(f"{COUNTED}\n2024-01-02,A,Cs-137,431,10,400,20,WC-1\n")
    (entry,) = row.entries
    assert entry.subjects == ("A",) and entry.nuclide == "Cs-137"
    assert entry.result == CountsStated(
        "WC-1", date(2024, 1, 2), [(431.0, 600.0)], [(400.0, 1200.0)]
    )


@pytest.mark.parametrize("missing", ["400", "WC-1", "20"])
def test_counts_without_background_time_or_counter_become_no_figure(missing):
    row = only(
        f"{COUNTED},Result\n"
        + "2024-01-02,A,Cs-137,431,10,400,20,WC-1,pass\n".replace(f",{missing},", ",,")
    )
    assert isinstance(row.entries[0].result, DeclaredBy)
    assert "read_counts_incomplete" in codes(row.notes)


def test_the_time_of_the_background_is_asked_for_and_not_assumed():
    heads_ = "Date,Serial,Gross counts,Count time (s),Bkg counts,Counter"
    text = f"{heads_}\n2024-01-02,A,431,600,400,WC-1\n"
    assert [one.key for one in read(text).open_questions] == ["background_time"]
    row = only(text, {"background_time": "same"})
    assert row.entries[0].result.background == [(400.0, 600.0)]
    assert faults(only(text, {"background_time": "unknown"})) == ["read_wipe_says_nothing"]


def test_rates_times_their_time_are_counts_again():
    heads_ = COUNTED.replace("Gross counts", "Gross cpm").replace("Bkg counts", "Bkg cpm")
    row = only(f"{heads_}\n2024-01-02,A,Cs-137,43.1,10,40,20,WC-1\n")
    assert row.entries[0].result.gross == [(431.0, 600.0)]
    assert row.entries[0].result.background == [(800.0, 1200.0)]


# ---------------------------------------------------------------- monitors

MONITOR = "Instrument,Type,Where kept,Cal. date,Result,Efficiency Cs-137"


@pytest.mark.parametrize(
    ("figure", "answers", "efficiency"),
    [
        ("22 %", {}, 0.22),
        ("22", {}, 0.22),
        ("0.22", {"efficiency_unit": "fraction"}, 0.22),
        ("0.22", {"efficiency_unit": "per_cent"}, 0.0022),
    ],
)
def test_efficiencies_and_what_they_are_counted_per(figure, answers, efficiency):
    text = f"{MONITOR}\nWC-1,wipe counter,Lab,2025-01-20,pass,{figure}\n"
    asked = {one.key for one in read(text).open_questions}
    assert "efficiency_basis" in asked and ("efficiency_unit" in asked) == bool(answers)
    (entry,) = only(text, {**answers, "efficiency_basis": "per_2pi_emission"}).entries
    (found,) = entry.calibration.efficiencies
    assert found.efficiency == pytest.approx(efficiency) and found.basis == "per_2pi_emission"


def test_a_day_of_calibration_without_a_result_is_asked_about():
    text = "Instrument,Type,Where kept,Cal. date,Certificate\nDR-1,dose rate,Gate,2025-01-20,K\n"
    assert [one.key for one in read(text).open_questions] == ["calibration_passed"]
    assert only(text, {"calibration_passed": "passed"}).entries[0].calibration.passed
    assert only(text, {"calibration_passed": "leave"}).entries[0].calibration is None


def test_a_due_date_of_the_list_is_not_taken_as_valid_until():
    text = f"{MONITOR},Cal due\nDR-1,dose rate,Gate,2025-01-20,pass,,2030-01-01\n"
    assert only(text).entries[0].calibration.valid_until is None


# ---------------------------------------------------------------- shapes


def test_a_blank_gauge_is_asked_about_where_no_place_tells():
    text = "Gauge,Nuclide,Activity,Serial\nG-1,Cs-137,1 GBq,A\n,Co-60,1 GBq,B\n"
    assert [one.key for one in read(text).open_questions] == ["blank_gauge:list"]
    for answer, gauge in (("above", "G-1"), ("none", "")):
        rows = read(text, {"blank_gauge:list": answer}).rows
        assert rows[1].entries[0].gauge == gauge


def test_a_title_that_is_no_place_gives_none():
    text = (
        "Nuclide,Activity,Serial\nGamma sources,,\nCs-137,1 GBq,A\nBuilding 3,,\nCs-137,1 GBq,B\n"
    )
    first, second = read(text).rows
    assert first.entries[0].place == ""
    assert second.entries[0].place == "Building 3"


@pytest.mark.parametrize(
    ("answer", "serials", "activity"),
    [
        ("each", ["A123", "A124"], Decimal(10**9)),
        ("together", ["A123", "A124"], None),
        ("one", ["A123 / A124"], Decimal(10**9)),
    ],
)
def test_two_sources_in_one_cell_are_what_their_owner_says(answer, serials, activity):
    text = f"{HEADS}\nCs-137,1 GBq,A123 / A124,Store\n"
    (question,) = read(text).open_questions
    entries = only(text, {question.key: answer}).entries
    assert [entry.source.serial for entry in entries] == serials
    assert {entry.source.activity_bq for entry in entries} == {activity}


def test_two_nuclides_with_two_serials_and_activities_need_no_question():
    text = f"{HEADS}\nCs-137 / Am-241:Be,0.3 GBq / 1.5 GBq,C-1 / A-1,Store\n"
    found = [
        (one.source.nuclide, one.source.serial, one.source.activity_bq)
        for one in only(text).entries
    ]
    assert found == [("Cs-137", "C-1", 3 * 10**8), ("Am-241/Be", "A-1", 15 * 10**8)]


def test_a_corrected_cell_is_read_in_its_place():
    text = f"{HEADS},Ref date\nCs-137,nonsense,A,Store,03/04/05\n"
    cells = {"list!B2": "3.7 GBq", "list!E2": "2005-04-03"}
    (row,) = read(text, {"date_order": "mdy"}, cells=cells).rows
    assert row.entries[0].source.activity_bq == Decimal("3700000000")
    assert row.entries[0].source.reference_on == date(2005, 4, 3)
    assert row.values["activity"].corrected and row.values["activity"].cell == "B2"


def test_an_answer_that_is_no_option_is_no_answer():
    text = f"{HEADS},Ref date\nCs-137,1 GBq,A,Store,03/04/05\n"
    assert [one.key for one in read(text, {"date_order": "xyz"}).open_questions] == ["date_order"]


@pytest.mark.parametrize(
    ("heads_", "long"),
    [
        (HEADS, 2),
        (HEADS, 1),
        (HEADS, 0),
        (HEADS, 3),
        (WIPED, 4),
        (WIPED, 3),
        (COUNTED, 3),
        (MONITOR, 5),
    ],
)
@pytest.mark.parametrize("filling", ["9", "a1 ", ",", "1,", "(", "< ", "x 1/", " 3 ± "])
def test_a_cell_without_end_is_refused_at_once(heads_, long, filling):
    good = {HEADS: "Cs-137,1 GBq,A,Store", WIPED: "Cs-137,1 GBq,A,2024-01-02,OK,B"}
    good |= {
        COUNTED: "2024-01-02,A,Cs-137,431,10,400,20,WC-1",
        MONITOR: "W,wipe,Lab,2025-01-20,pass,3",
    }
    cells = good[heads_].split(",")
    cells[long] = '"' + (filling * 30_000)[:32_000].strip() + '"'
    row = only(f"{heads_}\n{','.join(cells)}\n")
    assert faults(row) and not row.entries


def test_nothing_that_a_keyboard_can_type_breaks_the_reading():
    """Random cells: every row is read, waits or is at fault; nothing else is raised."""
    rng = random.Random(7)
    pieces = [
        "Cs-137",
        "/",
        "3.7",
        "GBq",
        "mCi",
        "<",
        "±",
        "03/04/05",
        "ND",
        "OK",
        " ",
        '""',
        "-",
        "2 x",
        "k=2",
    ]
    pieces += [
        *string.punctuation.replace('"', ""),
        "µ",
        "\u00a0",
        "é",
        "½",
        "²",
        "٣",
        "１",
        "E+10",
    ]
    for heads_ in (HEADS + ",Ref date,Wipe date,Wipe result,Uncertainty", COUNTED, MONITOR):
        lines = [heads_]
        for _ in range(400):
            cells = ["".join(rng.choices(pieces, k=rng.randint(0, 4))) for _ in heads_.split(",")]
            lines.append(",".join(f'"{cell}"' for cell in cells))
        found = read("\n".join(lines))
        assert all(row.faults or row.entries or row.notes for row in found.rows)
