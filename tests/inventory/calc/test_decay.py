import csv
import math
from datetime import date, timedelta
from pathlib import Path

import pytest
import radioactivedecay as rd
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.decay import activity_on, first_day_below, fraction, years_until
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import read_nuclides

TABLE = read_nuclides()
DATA = Path(__file__).resolve().parents[2] / "data"
CS_137_DAYS = TABLE["Cs-137"].half_life_days

with (DATA / "nuclides_test_only.csv").open(encoding="utf-8", newline="") as file:
    #: ICRP 107 half-life in days, spread of the evaluations in %; test data, never shipped
    ICRP_107 = {
        row["nuclide"]: (
            float(row["icrp107_days_test_only"]),
            float(row["spread_pct_against_icrp107_test_only"]),
        )
        for row in csv.DictReader(file)
    }
PLAIN = [name for name, nuclide in TABLE.items() if nuclide.kind == "nuclide"]

# --- against independent answers -----------------------------------------------------------


@pytest.mark.parametrize("name", PLAIN)
def test_it_decays_as_radioactivedecay_does(name):
    half_life_days = rd.Nuclide(name).half_life("d")
    for halvings in (0.01, 1, 10):
        days = halvings * half_life_days
        theirs = rd.Inventory({name: 1.0}, "Bq").decay(days, "d").activities("Bq")[name]
        assert fraction(days, half_life_days) == pytest.approx(theirs, rel=1e-6)


@pytest.mark.parametrize("name", TABLE)
def test_its_half_life_lies_within_the_spread_of_the_evaluations(name):
    icrp_days, spread_pct = ICRP_107[name]
    bound = (spread_pct + 0.0006) / 100  # the spread is printed to 0.001 %, days to 9 digits

    assert abs(TABLE[name].half_life_days / icrp_days - 1) <= bound


@pytest.mark.parametrize("name", TABLE)
def test_a_decayed_activity_differs_by_no_more_than_that_spread_allows(name):
    icrp_days, spread_pct = ICRP_107[name]
    s = (spread_pct + 0.0006) / 100
    for halvings in (0.1, 1, 3, 10):
        days = halvings * icrp_days
        ratio = fraction(days, TABLE[name].half_life_days) / fraction(days, icrp_days)
        bound = math.expm1(math.log(2) * halvings * s / (1 - s))
        assert abs(ratio - 1) <= bound * (1 + 1e-9)


def test_its_test_data_are_those_of_radioactivedecay():
    for name in PLAIN:
        assert ICRP_107[name][0] == pytest.approx(rd.Nuclide(name).half_life("d"), rel=1e-8)


# --- days ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reference_on", "on", "days"),
    [
        (date(2000, 2, 29), date(2025, 2, 28), 9131),  # 25 x 365 + 6 leap days, 29 Feb to 28 Feb
        (date(2024, 2, 28), date(2024, 3, 1), 2),
        (date(2100, 2, 28), date(2100, 3, 1), 1),
        (date(1955, 12, 31), date(1970, 1, 1), 5115),
        (date(2020, 1, 1), date(2019, 12, 31), -1),
        (date(2020, 1, 1), date(2020, 1, 1), 0),
    ],
)
def test_it_counts_whole_days(reference_on, on, days):
    decayed = activity_on(1e9, reference_on, on, CS_137_DAYS)

    assert decayed.steps[0].values["elapsed_days"] == days
    assert decayed.value == pytest.approx(1e9 * math.exp(-math.log(2) * days / CS_137_DAYS))


def test_it_was_more_before_the_reference_date():
    assert activity_on(1e9, date(2020, 1, 1), date(1960, 1, 1), CS_137_DAYS).value > 3.9e9


def test_it_says_which_half_life_it_used():
    decayed = activity_on(1e9, date(2020, 1, 1), date(2030, 1, 1), 1925.22816, "an evaluation")

    ground = decayed.steps[0].because[0]
    assert ground.values["half_life_days"] == 1925.22816
    assert ground.cite.document == "an evaluation"


def test_nothing_is_left_after_very_many_half_lives():
    assert activity_on(1e15, date.min, date.max, TABLE["I-131"].half_life_days).value == 0.0


@pytest.mark.parametrize("activity_bq", [1e9, 1e-300])
def test_it_refuses_a_past_that_has_no_number(activity_bq):
    with pytest.raises(DomainError) as error:
        activity_on(activity_bq, date.max, date.min, TABLE["I-131"].half_life_days)

    assert error.value.code == "decay_not_finite"


def test_it_refuses_a_product_that_has_no_number():
    with pytest.raises(DomainError, match="decay_not_finite"):
        activity_on(1e30, date(2022, 6, 1), date(2000, 1, 1), 8.0)


@pytest.mark.parametrize("half_life_days", [0.0, -1.0, math.inf, math.nan])
def test_it_refuses_a_half_life_that_is_none(half_life_days):
    with pytest.raises(DomainError, match="half_life_not_positive"):
        fraction(1, half_life_days)


@pytest.mark.parametrize("activity_bq", [-1.0, math.inf, math.nan])
def test_it_refuses_an_activity_that_is_none(activity_bq):
    with pytest.raises(DomainError, match="activity_not_finite"):
        activity_on(activity_bq, date(2020, 1, 1), date(2020, 1, 2), 10.0)


dates = st.dates(date(1900, 1, 1), date(2200, 1, 1))
half_lives = st.floats(200, 2e12)


@given(st.floats(1e-3, 1e18), dates, dates, half_lives)
def test_decay_there_and_back_is_where_it_began(activity_bq, there_on, back_on, half_life_days):
    there = activity_on(activity_bq, there_on, back_on, half_life_days).value
    back = activity_on(there, back_on, there_on, half_life_days).value

    assert back == pytest.approx(activity_bq, rel=1e-9)


# --- thresholds ----------------------------------------------------------------------------


def test_it_finds_the_first_day_below():
    # 8 half-lives of 10 d take 256 Bq to exactly 1 Bq on day 80, which is not below 1 Bq
    start = date(2024, 1, 1)

    assert first_day_below(256.0, start, 1.0, 10.0).value == start + timedelta(days=81)
    assert first_day_below(256.0, start, 1.0 + 1e-6, 10.0).value == start + timedelta(days=80)


def test_equality_at_the_reference_date_is_not_below():
    # "equals or exceeds" the level: 2013/59/Euratom Art. 4, high-activity sealed source
    assert first_day_below(1e11, date(2024, 1, 1), 1e11, CS_137_DAYS).value == date(2024, 1, 2)
    assert first_day_below(1e11, date(2024, 1, 1), 1.1e11, CS_137_DAYS).value == date(2024, 1, 1)


def test_a_slow_decay_waits_until_it_differs():
    # U-238 loses 1e-9 in T x 1.44e-9 = 2354 days
    days = TABLE["U-238"].half_life_days * -math.log2(1 - 1e-9)
    first = first_day_below(1e6, date(2024, 1, 1), 1e6, TABLE["U-238"].half_life_days).value

    assert (first - date(2024, 1, 1)).days == math.ceil(days) == 2355


def test_it_has_no_day_beyond_the_calendar():
    last_but_one = date.max - timedelta(days=1)
    assert first_day_below(2.0, last_but_one, 1.5, 1.0).value == date.max
    assert first_day_below(2.0, date.max, 1.5, 1.0).value is None

    never = first_day_below(1e9, date(2024, 1, 1), 1.0, TABLE["U-238"].half_life_days)

    assert never.value is None
    assert never.steps[0].code == "never_below"


@given(
    st.floats(1.0, 1e15),
    dates,
    st.floats(1e-3, 1e16),
    st.floats(1.0, 1e6),
)
def test_it_is_truly_the_first_day(activity_bq, reference_on, below_bq, half_life_days):
    first = first_day_below(activity_bq, reference_on, below_bq, half_life_days).value

    def is_below(on):
        value = activity_on(activity_bq, reference_on, on, half_life_days).value
        return value < below_bq and not math.isclose(value, below_bq, rel_tol=1e-9)

    assert is_below(first) if first else not is_below(date.max)
    if first and first > reference_on:
        assert not is_below(first - timedelta(days=1))


@pytest.mark.parametrize("below_bq", [0.0, -1.0, math.nan, math.inf])
def test_it_refuses_a_threshold_that_is_none(below_bq):
    with pytest.raises(DomainError, match="threshold_not_positive"):
        first_day_below(1e9, date(2024, 1, 1), below_bq, CS_137_DAYS)


def test_years_until_is_zero_when_it_is_there_already():
    assert years_until(1.0, 2.0, CS_137_DAYS).value == 0
    assert years_until(2.0, 1.0, 365.2422).value == pytest.approx(1)
