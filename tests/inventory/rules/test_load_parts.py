"""What stands in a rule set beside its rows: basis, words, tables, reports, retention, areas,
contamination, monitors; and what is refused of each."""

from __future__ import annotations

import pytest

from inventory.rules.load import load
from inventory.rules.schema import Basis, Bound, RuleSet
from tests.inventory.rules.rule_files import GOOD, fault_of, fault_with, write

CITE = 'document = "Invented rules"\nclause = "9"\nknown_by = "own"\n'
EQ = f'[tables.eq]\ntitle = "Exempt"\nother_bq = 1e4\nother_alpha_bq = 1e3\n{CITE}'
EQ += '[tables.eq.bq]\n"Cs-137" = 1e4\n"Ni-63" = 1e8\n'
REPORT = f'[[report]]\nid = "r"\ntrigger = "missing"\ntell = "authority"\nform = "written"\n{CITE}'
KEEP = f'[[retention]]\nid = "k"\nrecord_kind = "leak_test"\n{CITE}'
AREA = f'[[area]]\nid = "a"\nname = "controlled"\nquantity = "rate"\ncomparator = "above"\n{CITE}'
LEVEL = f"""[[contamination]]
id = "c"
purpose = "transport"
nuclides = "alpha"
kind = "removable"
unit = "Bq/cm2"
comparator = "at_most"
{CITE}"""
MONITOR = f'[[monitor]]\nid = "m"\napplies_to = "calibration"\ncomparator = "at_most"\n{CITE}'
BASIS = "[basis]\n"
WORKING_LIFE = f"{BASIS}working_life_months = 180\n{CITE}"
HASS = f"[basis.hass]\n{CITE}"


def read(folder, *tables: str) -> RuleSet:
    return load(write(folder, "\n".join((GOOD, *tables))))


def test_a_file_without_them_has_none(tmp_path):
    rules = read(tmp_path)
    assert rules.basis == Basis()
    assert (rules.reports, rules.retention, rules.areas) == ((), (), ())
    assert (rules.contamination, rules.monitors, rules.words, rules.tables) == ((), (), {}, {})


def test_the_basis(tmp_path):
    assert read(tmp_path, WORKING_LIFE).basis.working_life_cite.clause == "9"
    rules = read(
        tmp_path,
        f'{BASIS}activity_on = "reference"\nhass_on = "manufacture"\nhass_comparator = "above"\n'
        f'hass_table = "eq"\npickup_fraction = 0.1\nwipe_area_cm2 = 100\n{HASS}',
        EQ,
    )
    basis = rules.basis
    assert (basis.activity_on, basis.hass_on, basis.hass_comparator) == (
        *("reference", "manufacture"),
        "above",
    )
    assert (basis.hass_table, basis.hass_cite.clause) == ("eq", "9")
    assert (basis.pickup_fraction, basis.wipe_area_cm2) == (0.1, 100.0)
    assert (basis.working_life_months, basis.working_life_cite) == (None, None)


def test_the_words(tmp_path):
    assert read(tmp_path, '[words]\nadviser = "expert"').words == {"adviser": "expert"}


def test_a_nuclide_table(tmp_path):
    table = read(tmp_path, EQ).tables["eq"]
    assert (table.name, table.title, table.cite.clause) == ("eq", "Exempt", "9")
    assert (table.value("Ni-63"), table.value("P-32"), table.value("Np-237", alpha=True)) == (
        *(1e8, 1e4),
        1e3,
    )


def test_a_table_without_a_fallback_says_nothing_of_others(tmp_path):
    table = read(tmp_path, EQ.replace("other_bq = 1e4\nother_alpha_bq = 1e3\n", "")).tables["eq"]
    assert table.value("P-32") is None
    assert table.value("Np-237", alpha=True) is None


@pytest.mark.parametrize(
    ("more", "deadline"),
    [
        ("at_once = true", (True, None, None, None, "")),
        ("at_once = false", (False, None, None, None, "")),
        ("hours = 24", (False, 24, None, None, "")),
        ("days = 5", (False, None, 5, None, "")),
        ("months = 6", (False, None, None, 6, "")),
        ('month_day = "01-31"', (False, None, None, None, "01-31")),
    ],
)
def test_a_report(tmp_path, more, deadline):
    content = 'content = ["model", "serial"]\nwhen = { hass = true }\n'
    (row,) = read(tmp_path, REPORT + content + more).reports
    assert (row.at_once, row.hours, row.days, row.months, row.month_day) == deadline
    assert (row.trigger, row.tell, row.form) == ("missing", "authority", "written")
    assert (row.content, row.when) == (("model", "serial"), (("hass", True),))


@pytest.mark.parametrize(
    ("more", "kept"),
    [
        ('kept_from = "record"\nmonths = 36', ("record", 36, "", 0)),
        ('kept_from = "next_record"\nmonths = 0\nalternative = "g"', ("next_record", 0, "g", 0)),
        ('kept_from = "for_ever"', ("for_ever", 0, "", 0)),
        ('kept_from = "licence_end"\nmonths = 12\nnotice_days = 90', ("licence_end", 12, "", 90)),
    ],
)
def test_retention(tmp_path, more, kept):
    (row,) = read(tmp_path, KEEP + more).retention
    assert (row.kept_from, row.months, row.alternative, row.notice_days) == kept


def test_an_area(tmp_path):
    more = 'value = 7.5\ndistance_m = 0.3\naveraging = "8 h"'
    (row,) = read(tmp_path, AREA + more).areas
    assert (row.quantity, row.value, row.comparator) == ("rate", 7.5, "above")
    assert (row.distance_m, row.averaging) == (0.3, "8 h")


def test_a_level_of_contamination(tmp_path):
    (row,) = read(tmp_path, f"{LEVEL}value = 0.4\naveraging_cm2 = 300").contamination
    assert (row.value, row.unit, row.averaging_cm2) == (0.4, "Bq/cm2", 300.0)


def test_a_tolerance_of_a_monitor(tmp_path):
    more = "tolerance_percent = 20\nqualified_person = true\n"
    more += "when = { quotient = { table = 'eq', below = 1 } }"
    (row,) = read(tmp_path, MONITOR + more, EQ).monitors
    assert (row.tolerance_percent, row.comparator, row.qualified_person) == (20.0, "at_most", True)
    assert row.when == (("quotient", Bound("below", 1.0, "eq")),)


WRONG = {
    "working life without clause": (f"{BASIS}working_life_months = 180", "basis.document: is miss"),
    "clause without working life": (f"{BASIS}{CITE}", "basis.clause: is not a field"),
    "working life 0": (f"{BASIS}working_life_months = 0", "basis.working_life_months: expected a"),
    "activity on": (f'{BASIS}activity_on = "easter"', "basis.activity_on: expected one of day"),
    "scheme": (f'{BASIS}category_scheme = "x"', "basis.category_scheme: expected one of iaea"),
    "hass without clause": (f'{BASIS}hass_on = "manufacture"', "basis.hass: is missing"),
    "hass table": (f'{BASIS}hass_table = "eq"\n{HASS}', "basis.hass_table: expected one of"),
    "hass more": (f"{HASS}x = 1", "basis.hass.x: is not a field"),
    "pick-up of more than all": (
        f"{BASIS}pickup_fraction = 2",
        "basis.pickup_fraction: expected a",
    ),
    "wipe area 0": (f"{BASIS}wipe_area_cm2 = 0", "basis.wipe_area_cm2: expected a number above 0"),
    "basis no table": ("[[basis]]\nx = 1", "xx-3.toml, basis: expected a table"),
    "word unknown": ('[words]\nboss = "x"', "words.boss: is not a word to choose"),
    "word empty": ('[words]\nadviser = ""', "words.adviser: is empty, expected a text"),
    "word no text": ("[words]\nadviser = 1", "words.adviser: expected a text, found 1"),
    "table without clause": (EQ.replace('clause = "9"\n', ""), "tables.eq.clause: is missing"),
    "table without title": (EQ.replace('title = "Exempt"\n', ""), "tables.eq.title: is missing"),
    "table without values": (EQ.split("[tables.eq.bq]")[0], "tables.eq.bq.Cs-137: is missing"),
    "table value 0": (EQ.replace("= 1e8", "= 0"), "tables.eq.bq.Ni-63: expected a number above 0"),
    "table value endless": (EQ.replace("= 1e8", "= inf"), "tables.eq.bq.Ni-63: expected a number"),
    "table value text": (EQ.replace("= 1e8", '= "unlimited"'), "tables.eq.bq.Ni-63: expected a n"),
    "table fallback 0": (EQ.replace("other_bq = 1e4", "other_bq = 0"), "tables.eq.other_bq: expec"),
    "table name": (EQ.replace("tables.eq", 'tables."a b"'), "tables.'a b': expected a name"),
    "table more": (EQ.replace("title", "name = 1\ntitle"), "tables.eq.name: is not a field"),
    "report without deadline": (
        REPORT,
        "report[1].at_once: expected exactly one of at_once, hours",
    ),
    "report with two": (f"{REPORT}days = 5\nhours = 1", "report[1].days: expected exactly one of"),
    "report both": (f"{REPORT}at_once = true\ndays = 5", "report[1].days: expected exactly one of"),
    "report in 0 days": (f"{REPORT}days = 0", "report[1].days: expected a whole number from 1"),
    "report on no day": (
        f'{REPORT}month_day = "02-30"',
        "report[1].month_day: expected a day of ev",
    ),
    "report on a leap day": (f'{REPORT}month_day = "02-29"', "report[1].month_day: expected a day"),
    "report on a date": (f'{REPORT}month_day = "31 Jan"', "report[1].month_day: expected a day of"),
    "report trigger": (
        REPORT.replace("missing", "x") + "days = 1",
        "report[1].trigger: expected one",
    ),
    "report form": (REPORT.replace("written", "x") + "days = 1", "report[1].form: expected one of"),
    "report content": (f"{REPORT}days = 1\ncontent = []", "report[1].content: is an empty list"),
    "report clause": (
        REPORT.replace('clause = "9"', "") + "days = 1",
        "report[1].clause: is missing",
    ),
    "report condition": (
        f"{REPORT}days = 1\nwhen = {{ quotient = {{ table = 'no', below = 1 }} }}",
        "report[1].when.quotient.table: expected one of",
    ),
    "report more": (f"{REPORT}days = 1\nweeks = 1", "report[1].weeks: is not a field"),
    "reports no list": ("[report]\nid = 'r'", "xx-3.toml, report: expected [[report]], a list of"),
    "report twice": (
        f"{REPORT}days = 1\n{REPORT}days = 1",
        "xx-3.toml, report r: the id is used twice",
    ),
    "keep for no time": (
        f'{KEEP}kept_from = "record"\nmonths = 0',
        "retention[1].months: expected a whole number from 1 to 1200, found 0",
    ),
    "keep without months": (f'{KEEP}kept_from = "disposal"', "retention[1].months: is missing"),
    "keep for ever and a day": (
        f'{KEEP}kept_from = "for_ever"\nmonths = 1',
        "retention[1].months: is not a field",
    ),
    "keep from": (f'{KEEP}kept_from = "x"\nmonths = 1', "retention[1].kept_from: expected one of"),
    "keep what": (
        KEEP.replace("leak_test", "leek") + 'kept_from = "record"\nmonths = 1',
        "retention[1].record_kind: expected one of leak_test",
    ),
    "keep notice": (
        f'{KEEP}kept_from = "record"\nmonths = 1\nnotice_days = -1',
        "retention[1].notice_days: expected a whole number from 0",
    ),
    "area without value": (AREA, "area[1].value: is missing, expected a number"),
    "area 0": (f"{AREA}value = 0", "area[1].value: expected a number above 0"),
    "area distance": (f"{AREA}value = 1\ndistance_m = -1", "area[1].distance_m: expected a number"),
    "area quantity": (
        AREA.replace('"rate"', '"dose"') + "value = 1",
        "area[1].quantity: expected one of rate, hour_dose, day_average, year_dose",
    ),
    "area comparator": (
        AREA.replace('"above"', '">"') + "value = 1",
        "area[1].comparator: expected one of below",
    ),
    "level unit": (
        LEVEL.replace("Bq/cm2", "Bq") + "value = 1",
        "contamination[1].unit: expected one of Bq/cm2",
    ),
    "level kind": (
        LEVEL.replace("removable", "loose") + "value = 1",
        "contamination[1].kind: expected one of removable",
    ),
    "level purpose": (
        LEVEL.replace("transport", "fun") + "value = 1",
        "contamination[1].purpose: expected one of transport",
    ),
    "level class": (
        LEVEL.replace('"alpha"', '"gamma"') + "value = 1",
        "contamination[1].nuclides: expected one of beta_gamma",
    ),
    "level area": (f"{LEVEL}value = 1\naveraging_cm2 = 0", "contamination[1].averaging_cm2: expec"),
    "tolerance 0": (
        f"{MONITOR}tolerance_percent = 0",
        "monitor[1].tolerance_percent: expected a n",
    ),
    "tolerance 101": (f"{MONITOR}tolerance_percent = 101", "up to 100, found 101.0"),
    "tolerance of": (
        MONITOR.replace('"calibration"', '"shutter"') + "tolerance_percent = 1",
        "monitor[1].applies_to: expected one of calibration, function_check",
    ),
    "tolerance at least": (
        MONITOR.replace("at_most", "at_least") + "tolerance_percent = 1",
        "monitor[1].comparator: expected one of at_most, below",
    ),
    "qualified": (
        f'{MONITOR}tolerance_percent = 1\nqualified_person = "yes"',
        "monitor[1].qualified_person: expected true or false, found 'yes'",
    ),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_is_refused(tmp_path, case):
    table, sentence = WRONG[case]
    fault = fault_with(tmp_path, table)
    assert fault.startswith("xx-3.toml")
    assert sentence in fault
    assert "\n" not in fault


def test_a_part_with_a_strange_name_is_one_line(tmp_path):
    assert fault_of(tmp_path, '"a\\nb" = 1\n' + GOOD) == (
        "xx-3.toml, 'a\\nb': is not a part of a rule set"
    )
