"""The worked examples of tests/data/examples.csv for units, A/D and trend."""

import csv
import json
import math
from pathlib import Path

import pytest

from inventory.calc.category import a_over_d, category
from inventory.calc.decay import DAYS_PER_YEAR, years_until
from inventory.calc.nuclides import read_nuclides
from inventory.calc.units import parse_activity, surface_to_bq_per_cm2, to_unit

EXAMPLES = Path(__file__).resolve().parents[2] / "data" / "examples.csv"
TABLE = read_nuclides()

with EXAMPLES.open(encoding="utf-8", newline="") as file:
    ROWS = {row["id"]: row for row in csv.DictReader(file)}


def units(inputs):
    if inputs["unit"] == "dpm/100cm2":
        return {"Bq_per_cm2": surface_to_bq_per_cm2(inputs["value"], inputs["unit"])}
    bq = parse_activity(f"{inputs['activity']} {inputs['unit']}").bq
    return {unit: to_unit(bq, unit) for unit in ("Bq", "kBq", "uCi", "nCi", "pCi", "dpm")}


def sums(inputs):
    assert all(TABLE[name].d_tbq == d for name, d in inputs["D_TBq"].items())
    pairs = [(TABLE[name], tbq * 1e12) for name, tbq in inputs["TBq"]]
    total = a_over_d(pairs).value.value
    return {
        "fractions": [a_over_d([pair]).value.value for pair in pairs],
        "sum_A_over_D": total,
        "category": category(total, True).value,
    }


def trend(inputs):
    now_bq, minimum_bq = inputs["activity_now_GBq"] * 1e9, inputs["minimum_GBq"] * 1e9
    return {"years": years_until(now_bq, minimum_bq, inputs["T_half_y"] * DAYS_PER_YEAR).value}


ANSWERS = {
    **{name: units for name in ROWS if name.startswith("P-UNIT-")},
    "P-SUM-01": sums,
    "P-SUM-02": sums,
    "P-TREND-01": trend,
}


def within(value, expected, tolerance):
    if isinstance(expected, list):
        return len(value) == len(expected) and all(
            within(v, e, tolerance) for v, e in zip(value, expected, strict=True)
        )
    rel, absolute = tolerance.get("rel", 0.0), tolerance.get("abs", 0.0)
    return math.isclose(value, expected, rel_tol=rel, abs_tol=absolute)


@pytest.mark.parametrize("name", ANSWERS)
def test_it_gives_the_answer_of_the_worked_example(name):
    row = ROWS[name]
    answers = ANSWERS[name](json.loads(row["inputs"]))
    tolerance = json.loads(row["tolerance"])
    for key, expected in json.loads(row["expected"]).items():
        allowed = tolerance.get(key, tolerance["default"])
        assert within(answers[key], expected, allowed), f"{key}: {row['source']}"


def test_there_are_five_unit_examples():
    assert len([name for name in ANSWERS if name.startswith("P-UNIT-")]) == 5
