import contextlib
import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import DomainError
from inventory.calc.units import (
    UNITS,
    format_activity,
    parse_activity,
    parse_result,
    surface_to_bq_per_cm2,
    to_unit,
)

NBSP = "\u00a0"


@pytest.mark.parametrize(
    ("text", "bq"),
    [
        # 1 Ci = 3.7e10 Bq exactly
        ("100 mCi", 3_700_000_000),
        ("5 uCi", 185_000),
        ("5 \N{MICRO SIGN}Ci", 185_000),
        ("5 \N{GREEK SMALL LETTER MU}Ci", 185_000),
        ("0.1 Ci", 3_700_000_000),
        ("5 microcuries", 185_000),
        ("3.7GBq", 3_700_000_000),
        ("0,37 MBq", 370_000),
        ("0,370 MBq", 370_000),
        ("1.500 MBq", 1_500_000),
        ("1,500.5 MBq", 1_500_500_000),
        ("1.500,5 MBq", 1_500_500_000),
        ("1,500,000 Bq", 1_500_000),
        ("1.11E+10 Bq", 11_100_000_000),
        ("1.11e10Bq", 11_100_000_000),
        ("1.11x10^10 Bq", 11_100_000_000),
        ("1.11 × 10¹⁰ Bq", 11_100_000_000),
        ("10^6 Bq", 1_000_000),
        ("3 700 kBq", 3_700_000),
        ("3\u202f700 kBq", 3_700_000),
        ("3\u00a0700,5 kBq", 3_700_500),
        ("3'700 kBq", 3_700_000),
        ("  370   MBq ", 370_000_000),
    ],
)
def test_it_reads_what_people_write(text, bq):
    activity = parse_activity(text)

    assert activity.exact == bq
    assert activity.text == text


@pytest.mark.parametrize("text", ["5 gbq", "5 GBQ", "5 Gbq"])
def test_it_takes_any_case_where_one_unit_fits(text):
    assert parse_activity(text).exact == 5 * 10**9


def test_it_tells_milli_from_mega():
    assert parse_activity("5 mBq").exact == Fraction(5, 1000)
    assert parse_activity("5 MBq").exact == 5_000_000


@pytest.mark.parametrize("text", ["5 MCI", "5 mci", "5 mbq", "5 MBQ", "5 pbq", "1,500 MBq"])
def test_it_refuses_what_may_mean_two_things(text):
    with pytest.raises(DomainError) as error:
        parse_activity(text)

    assert error.value.code == "activity_ambiguous"
    one, other = (parse_activity(str(error.value.values[name])) for name in ("one", "other"))
    assert one.exact != other.exact


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("370", "activity_without_unit"),
        ("1e6", "activity_without_unit"),
        ("5 Sv", "activity_unit_unknown"),
        ("5 EBq", "activity_unit_unknown"),
        ("5 Bq Bq", "activity_unit_unknown"),
        # A Greek capital mu and a Cyrillic em look like mega.
        ("5 \N{GREEK CAPITAL LETTER MU}Bq", "activity_unit_unknown"),
        ("5 \N{CYRILLIC CAPITAL LETTER EM}Bq", "activity_unit_unknown"),
        ("", "activity_not_a_number"),
        ("MBq", "activity_not_a_number"),
        ("nan Bq", "activity_not_a_number"),
        ("inf Bq", "activity_not_a_number"),
        ("1.1.1 Bq", "activity_not_a_number"),
        ("3 70 kBq", "activity_not_a_number"),
        ("1,50,000 Bq", "activity_not_a_number"),
        ("٣ Bq", "activity_not_a_number"),
        ("1e999999999 Bq", "activity_not_a_number"),
        ("1e-999999999 Bq", "activity_not_a_number"),
        ("1e99 Bq", "activity_not_a_number"),
        ("1e31 Bq", "activity_not_a_number"),
        ("1" * 10_000 + " Bq", "activity_not_a_number"),
        ("0 Bq", "activity_not_positive"),
        ("-5 Bq", "activity_not_positive"),
        ("\N{MINUS SIGN}5 Bq", "activity_not_positive"),
    ],
)
def test_it_refuses_with_a_code(text, code):
    with pytest.raises(DomainError) as error:
        parse_activity(text)

    assert error.value.code == code
    assert error.value.field == "activity"
    assert len(str(error.value.values["text"])) < 70


@given(st.text(max_size=80))
def test_it_reads_or_refuses_any_text(text):
    with contextlib.suppress(DomainError):
        assert parse_activity(text).exact > 0


@given(st.integers(1, 10**9), st.integers(0, 6), st.sampled_from(["MBq", "uCi", "dpm", "TBq"]))
def test_it_keeps_every_digit(whole, places, unit):
    number = Decimal(whole).scaleb(-places)

    assert parse_activity(f"{number:f} {unit}").exact == (Fraction(number) * UNITS[unit])


def test_a_result_may_be_zero_or_negative():
    assert parse_result("-3,2 Bq").exact == Fraction(-32, 10)
    assert parse_result("0 Bq").exact == 0


def test_its_decimal_is_exact_where_it_ends():
    assert parse_activity("0.0000000123456789 uCi").decimal == Decimal("0.0004567901193")
    # 200/60 Bq has no end: 28 digits
    assert parse_activity("200 dpm").decimal == Decimal("3.333333333333333333333333333")


@pytest.mark.parametrize(
    ("bq", "text"),
    [
        (185, "185 Bq"),
        (3.7e9, "3.70 GBq"),
        (3.7e8, "370 MBq"),
        (1.11e10, "11.1 GBq"),
        (999.4, "999 Bq"),
        (999.6, "1.00 kBq"),
        (0.0025, "2.50 mBq"),
        (2.5e-6, "2.50 µBq"),
        (0, "0 Bq"),
        (-3.2, "\N{MINUS SIGN}3.20 Bq"),
        (1e-20, "1.00×10⁻²⁰ Bq"),
        (2e18, "2.00×10¹⁸ Bq"),
    ],
)
def test_it_writes_three_significant_figures(bq, text):
    assert format_activity(bq) == text.replace(" ", NBSP)


@given(st.floats(1e-30, 1e29))
def test_what_it_writes_is_the_same_activity(bq):
    written = parse_activity(format_activity(bq, digits=6))

    assert math.isclose(written.bq, bq, rel_tol=1e-5)


def test_it_does_not_write_what_is_no_number():
    with pytest.raises(ValueError, match="finite"):
        format_activity(math.inf)


def test_it_converts_on_output():
    assert to_unit(185.0, "uCi") == 0.005  # 10 CFR 35.67(c): 185 Bq (0.005 uCi)
    assert to_unit(185.0, "dpm") == 11_100
    with pytest.raises(DomainError):
        to_unit(185.0, "rem")


def test_it_converts_surface_activity():
    # 1,000 dpm/100 cm2 = 1/6 Bq/cm2
    assert surface_to_bq_per_cm2(1000, "dpm/100 cm²") == pytest.approx(1 / 6)
    assert surface_to_bq_per_cm2(4, "kBq/m2") == 0.4
    with pytest.raises(DomainError):
        surface_to_bq_per_cm2(1, "dpm")
