"""Every number of a rule set comes from a fact, and stands there as it was read.

``tests/data/rule_values.csv`` names for each number the fact and the words in it; the words are
worked out here and compared with what the file says. A number that is not in that list fails, and
so does one in it that no rule set has.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inventory.calc.explain import Cite
from inventory.rules.load import FOLDER, load
from inventory.rules.schema import Bound, RuleSet
from tests.inventory.rules.rule_files import TEST_ONLY

DATA = Path(__file__).resolve().parents[2] / "data"


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


FACTS = {
    fact["id"]: fact for name in ("rule_facts.csv", "rule_facts_levels.csv") for fact in table(name)
}
VALUES = table("rule_values.csv")
#: The first version is in ``test_load_released``: it says the same as the second.
RULES = {
    path.stem: load(path)
    for folder in (FOLDER, TEST_ONLY)
    for path in sorted(folder.glob("*.toml"))
    if path.stem != "gb-1"
}
NUMBERS = {
    "rows": (
        *("months", "days", "grace_days", "unused_months", "stored_months", "fresh_months"),
        *("fresh_days", "within_days", "ceiling_months"),
    ),
    "reports": ("hours", "days", "months", "month_day"),
    "retention": ("months", "notice_days"),
    "areas": ("value", "distance_m"),
    "contamination": ("value", "averaging_cm2"),
    "monitors": ("tolerance_percent",),
}
#: What a hold has when the file does not say it: the program's, and no rule's.
USUAL_SEEN_MONTHS = 12

# --- from words to a number ---------------------------------------------------------------------

IN_WORDS: dict[str, float | str] = {
    **{"quarterly": 3, "daily": 1, "half year": 6, "once a year": 12, "one year": 12},
    **{"once per calendar year": 12, "six years": 72, "next business day": 1},
    **{"31 January": "01-31", "January": "01-31"},
}
#: The longer ones first: a dose of a year is in mSv, a rate and a dose of an hour in uSv.
UNITS = {
    **{r"mSv/y": 1, r"mSv/h": 1e3, r"mSv": 1e3, r"uSv/h": 1, r"Gy": 1e6},
    **{r"TBq": 1e12, r"MBq": 1e6, r"kBq": 1e3, r"\d m2": 1e4, r"cm2": 1, r"cm": 0.01},
    **{r"years?\b": 12, r"\b": 1},
}


def number(words: str) -> float | str:
    """The number that words of a fact say, in the unit of the rule set's field."""
    if " * " in words:
        first, second = (float(number(part)) for part in words.split(" * "))
        return first * second
    if words in IN_WORDS:
        return IN_WORDS[words]
    unit = next(factor for unit, factor in UNITS.items() if re.search(unit, words))
    found = re.search(r"\d+(\.\d+)?", words)
    assert found, words
    return float(found[0]) * unit


@pytest.mark.parametrize(
    ("words", "value"),
    [
        *(("3 years", 36), ("2 years from making", 24), ("12 or more consecutive months", 12)),
        *(("370 kBq", 370e3), ("20 TBq", 20e12), ("2 mSv/h", 2000), ("1 mSv/y", 1)),
        *(("0.02 mSv", 20), ("30 cm", 0.3), ("1 m2", 1e4), ("300 cm2", 300), ("1 m", 1)),
        *(("100 x * 0.1 alpha", 10), ("January", "01-31"), ("quarterly", 3), ("30 %", 30)),
    ],
)
def test_words_say_a_number(words, value):
    assert number(words) == (value if isinstance(value, str) else pytest.approx(value, rel=1e-12))


# --- the numbers of the rule sets ----------------------------------------------------------------


def numbers(part: str, one: Any) -> Iterator[tuple[str, float | str]]:
    """The numbers of a row, by field; 0 and nothing are none."""
    for name in NUMBERS[part]:
        if (value := getattr(one, name)) not in (None, 0, ""):
            yield name, value
    for name, wanted in getattr(one, "when", ()):
        if isinstance(wanted, Bound):
            yield f"when.{name}", wanted.value
    if getattr(one, "result", "") == "on_hold" and one.seen_months != USUAL_SEEN_MONTHS:
        yield "seen_months", one.seen_months


def found_in(rules: RuleSet) -> dict[tuple[str, str, str], float | str]:
    return {
        (part, one.id, name): value
        for part in NUMBERS
        for one in getattr(rules, part)
        for name, value in numbers(part, one)
    }


@pytest.mark.parametrize("name", RULES)
def test_every_number_is_in_the_list_of_facts(name):
    listed = {(one["part"], one["id"], one["field"]) for one in VALUES if one["rule_set"] == name}
    assert set(found_in(RULES[name])) == listed


@pytest.mark.parametrize(
    "listed", VALUES, ids=lambda one: ":".join((one["rule_set"], one["id"], one["field"]))
)
def test_a_number_is_that_of_its_fact(listed):
    rules = RULES[listed["rule_set"]]
    value = found_in(rules)[listed["part"], listed["id"], listed["field"]]
    if not listed["written"]:
        assert listed["because"]  # no fact has it, and the list says why
        return
    facts = [FACTS[fact] for fact in listed["fact"].split()]
    assert facts
    for words in listed["written"].split(" * "):
        assert any(words in as_read(fact) for fact in facts), words
    said = number(listed["written"])
    if listed["field"] == "grace_days":  # the day of January that the fact names
        said = int(str(said)[-2:])
    assert value == (said if isinstance(said, str) else pytest.approx(said, rel=1e-12))


def as_read(fact: dict[str, str]) -> str:
    return (
        f"{fact['subject']}; {fact['value']} {fact['unit']}; {fact['conditions']}; {fact['notes']}"
    )


# --- limits, basis, tables ------------------------------------------------------------------------

LIMITS = {
    **dict.fromkeys(("gb-2", "general-1", "au-1", "ch-1"), ("F036", "reaches", 200)),
    **{"ca-1": ("F035", "reaches", 200), "de-1": ("F324", "exceeds", 200)},
    **dict.fromkeys(("us_general-1", "us_specific-1", "us_states-1"), ("F032", "reaches", 185)),
    **{"us_doe-1": ("F041", "reaches", 185), "nl-1": ("F034", "exceeds", 185)},
}
COMPARES = {">=": "reaches", ">": "exceeds"}


@pytest.mark.parametrize("name", RULES)
def test_the_limit_is_that_of_its_fact(name):
    fact_id, comparator, bq = LIMITS[name]
    limit, fact = RULES[name].leak_limit, FACTS[fact_id]
    assert (limit.bq, limit.comparator, limit.required_detection_bq) == (bq, comparator, bq)
    assert re.match(rf"{bq}\b", fact["value"])
    # Where the fact has none of the two, the stricter reading is taken.
    assert COMPARES.get(fact["comparator"], "reaches") == comparator
    assert fact["clause"] in limit.cite.clause or "ISO 9978" in fact["clause"]


def test_the_unit_of_results_follows_the_clause():
    assert "microcuries" in FACTS["F114"]["conditions"]
    assert RULES["us_specific-1"].leak_limit.unit == "uCi"
    assert "microcuries" in FACTS["F116"]["conditions"]
    assert RULES["us_states-1"].leak_limit.unit == "uCi"
    assert RULES["us_specific-1"].leak_limit.action_fraction * 185 == pytest.approx(
        float(FACTS["F043"]["value"])
    )


@pytest.mark.parametrize("name", RULES)
def test_the_basis_is_from_facts(name):
    basis = RULES[name].basis
    if basis.working_life_months is not None:
        fact = FACTS["F201"]
        assert basis.working_life_months == number(f"{fact['value']} {fact['unit']}")
    if basis.pickup_fraction is not None:
        assert (
            basis.pickup_fraction == float(FACTS["F149"]["value"]) == float(FACTS["F151"]["value"])
        )
    if basis.wipe_area_cm2 is not None:
        assert FACTS["F157"]["value"].startswith(f"{basis.wipe_area_cm2:g} (room surfaces)")


def by_nuclide(first: int, last: int, column: str = "value") -> dict[str, str]:
    found = (FACTS[f"F{number}"] for number in range(first, last + 1))
    return {fact["subject"].split()[0]: fact[column] for fact in found}


#: Rule set, table, first and last fact, what a value of the fact is multiplied with.
TABLES = [
    ("ca-1", "nsrdr_1", 400, 436),
    ("de-1", "annex4_exemption", 440, 476),
    ("de-1", "annex4_surface", 510, 544),
]


@pytest.mark.parametrize(("name", "table_name", "first", "last"), TABLES)
def test_a_nuclide_table_is_that_of_the_facts(name, table_name, first, last):
    values = RULES[name].tables[table_name].bq
    facts = {nuclide: float(text) for nuclide, text in by_nuclide(first, last).items()}
    # A neutron source counts by the activity of its alpha emitter (F198).
    assert "alpha emitter activity counts" in FACTS["F198"]["conditions"]
    for nuclide in values.keys() - facts.keys():
        parent, beryllium = nuclide.split("/")
        assert beryllium == "Be"
        facts[nuclide] = facts[parent]
    assert values == pytest.approx(facts, rel=1e-12)


def test_what_canada_says_of_a_nuclide_that_is_not_listed():
    values = FACTS["F315"]["value"]
    table = RULES["ca-1"].tables["nsrdr_1"]
    assert values == "10 000 Bq; 1 000 Bq for alpha with Z>81"
    assert (table.other_bq, table.other_alpha_bq) == (1e4, 1e3)


@pytest.mark.parametrize(("name", "place"), [("category_1", 0), ("category_2", 1)])
def test_the_categories_of_the_united_states(name, place):
    facts = by_nuclide(165, 180)
    wanted = {one: float(text.split(" / ")[place]) * 1e12 for one, text in facts.items()}
    assert RULES["us_specific-1"].tables[name].bq == pytest.approx(wanted, rel=1e-12)


def test_high_activity_by_the_repealed_directive():
    wanted = {
        nuclide: float(value) * 1e9
        for nuclide, value in re.findall(r"(\S+-\d+) ([\d.]+)", FACTS["F199"]["value"])
    }
    assert FACTS["F199"]["unit"] == "GBq"
    assert RULES["nl-1"].tables["directive_2003_122"].bq == pytest.approx(wanted, rel=1e-12)
    assert RULES["nl-1"].basis.hass_on == "manufacture"


# --- clauses, and how they were read --------------------------------------------------------------

KNOWN_BY = {
    **{"regulator text read": "regulator_text", "mirror or state copy read": "copy"},
    **{"secondary page read": "secondary", "from memory": "memory"},
}
#: Rows whose clause is no fact's, with the reason.
ELSEWHERE = {
    **dict.fromkeys(
        [("gb-2", "transport.beta_gamma"), ("gb-2", "transport.alpha")],
        "the international paragraph was not seen, only a country's copy of it",
    ),
    ("gb-2", "working_life_cite"): "the page names no clause",
    ("gb-2", "calibration.default"): "the fact is that the regulation has no number",
    ("us_specific-1", "leak.first_use.radiography"): "named with its part and without a paragraph",
    ("nl-1", "leak.receipt"): "named without a paragraph",
    ("nl-1", "inspection.default"): "in the conditions of the fact of the leak test",
}


def cited(rules: RuleSet) -> Iterator[tuple[str, Cite]]:
    for part in NUMBERS:
        yield from ((one.id, one.cite) for one in getattr(rules, part))
    yield "leak_limit", rules.leak_limit.cite
    yield from ((f"tables.{name}", one.cite) for name, one in rules.tables.items())
    for name in ("hass_cite", "working_life_cite"):
        if cite := getattr(rules.basis, name):
            yield name, cite


@pytest.mark.parametrize("name", RULES)
def test_every_clause_is_that_of_a_fact_which_was_read_so(name):
    strange = []
    for one_id, cite in cited(RULES[name]):
        if cite.known_by == "own" or (name, one_id) in ELSEWHERE:
            continue
        if not any(
            len(fact["clause"]) > 1
            and fact["clause"] in f"{cite.document} {cite.clause}"
            and KNOWN_BY.get(fact["basis"]) == cite.known_by
            for fact in FACTS.values()
        ):
            strange.append((one_id, cite))
    assert strange == []


def test_the_rows_whose_clause_is_no_facts_are_there():
    for name, one_id in ELSEWHERE:
        assert one_id in dict(cited(RULES[name]))
