"""The levels that a decaying activity falls below, against the logarithm instead of bisection."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from inventory.calc.nuclides import read_nuclides
from inventory.calc.thresholds import CATEGORY, EXEMPTION, crossings, lacking, thresholds

TABLE = read_nuclides()
REFERENCE = date(2020, 11, 1)


def by_logarithm(activity_bq: float, below_bq: float, half_life_days: float) -> date:
    """The day after t = T ln(A/B)/ln 2, the solution of A 2^(-t/T) = B."""
    days = half_life_days * math.log(activity_bq / below_bq) / math.log(2)
    return REFERENCE + timedelta(days=math.floor(days) + 1)


@pytest.mark.parametrize("name", ["Co-60", "Cs-137", "Kr-85", "Ir-192", "Pm-147", "Sr-90"])
@pytest.mark.parametrize("activity_bq", [2.5e5, 3.7e9, 7.4e11, 1.3e14])
def test_each_level_is_crossed_on_the_day_that_the_logarithm_gives(name, activity_bq):
    nuclide = TABLE[name]
    for one in crossings(activity_bq, REFERENCE, nuclide):
        days = nuclide.half_life_days * math.log2(activity_bq / one.threshold.bq)
        if days > (date.max - REFERENCE).days:
            assert one.first_on is None
        else:
            expected = by_logarithm(activity_bq, one.threshold.bq, nuclide.half_life_days)
            assert one.first_on == expected


def test_the_levels_are_a_thousand_ten_one_and_a_hundredth_of_d_and_exemption():
    # Cs-137: D = 0.1 TBq and exemption 1e4 Bq (fixtures/nuclides.csv, which names its sources).
    found = [(one.kind, one.bq) for one in thresholds(TABLE["Cs-137"])]
    levels = [(CATEGORY, pytest.approx(bq)) for bq in (1e14, 1e12, 1e11, 1e9)]
    assert found == [*levels, (EXEMPTION, 1e4)]


def test_a_level_that_was_never_reached_is_not_crossed():
    found = crossings(3.7e9, REFERENCE, TABLE["Cs-137"])
    assert [one.threshold.times_d for one in found] == [0.01, None]


def test_an_activity_at_a_level_is_not_yet_below_it():
    (first, *_rest) = crossings(1e9, REFERENCE, TABLE["Cs-137"])
    assert first.first_on == REFERENCE + timedelta(days=1)


def test_what_is_not_known_gives_no_level_and_says_so():
    nuclide = TABLE["Cs-137"]
    assert lacking(nuclide) == []
    bare = replace(nuclide, d_tbq=None, exempt_bq=None)
    assert thresholds(bare) == []
    assert [one.code for one in lacking(bare)] == [
        "threshold_d_unknown",
        "threshold_exemption_unknown",
    ]


def test_a_d_value_from_memory_is_no_boundary():
    nuclide = replace(TABLE["Cs-137"], d_source="from memory")
    assert [one.kind for one in thresholds(nuclide)] == [EXEMPTION]
    assert lacking(nuclide)[0].code == "threshold_d_unknown"


def test_a_nuclide_without_a_d_value_says_that_it_is_unlimited():
    nuclide = replace(TABLE["Cs-137"], d_tbq=None, d_unlimited=True)
    assert lacking(nuclide)[0].code == "threshold_d_unlimited"
