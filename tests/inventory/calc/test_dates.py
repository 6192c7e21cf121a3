import contextlib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.dates import add_months, parse_date
from inventory.calc.errors import DomainError


@pytest.mark.parametrize(
    ("text", "on", "precision"),
    [
        ("2019-05-03", date(2019, 5, 3), "day"),
        ("2019/05/03", date(2019, 5, 3), "day"),
        ("3 May 2019", date(2019, 5, 3), "day"),
        ("03 May 2019", date(2019, 5, 3), "day"),
        ("3rd may 2019", date(2019, 5, 3), "day"),
        ("03-MAY-2019", date(2019, 5, 3), "day"),
        ("May 3, 2019", date(2019, 5, 3), "day"),
        ("1 Sept. 2019", date(2019, 9, 1), "day"),
        ("29 Feb 2000", date(2000, 2, 29), "day"),
        # The last day: the highest activity on every later day.
        ("2019-05", date(2019, 5, 31), "month"),
        ("May 2019", date(2019, 5, 31), "month"),
        ("2020-02", date(2020, 2, 29), "month"),
        ("2100-02", date(2100, 2, 28), "month"),
        ("2019", date(2019, 12, 31), "year"),
        ("1958", date(1958, 12, 31), "year"),
    ],
)
def test_it_reads_what_certificates_say(text, on, precision):
    read = parse_date(text)

    assert (read.text, read.on, read.precision) == (text, on, precision)


@pytest.mark.parametrize(
    ("text", "earliest"),
    [
        ("2019-05-03", date(2019, 5, 3)),
        ("2019-05", date(2019, 5, 1)),
        ("2019", date(2019, 1, 1)),
    ],
)
def test_it_knows_the_earliest_day_too(text, earliest):
    assert parse_date(text).earliest == earliest


@pytest.mark.parametrize("text", ["03/04/05", "03/04/2005", "3.4.2005", "03-04-2005", "25/12/05"])
def test_it_refuses_bare_numbers(text):
    with pytest.raises(DomainError) as error:
        parse_date(text, "reference")

    assert (error.value.code, error.value.field) == ("date_ambiguous", "reference")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "soon",
        "2019-13",
        "2019-02-29",
        "31 Apr 2019",
        "0000",
        "12019",
        "May 19",
        "2019-5-3T00:00",
        "3 Mai 2019",
        "٢٠١٩",
        "9" * 10_000,
    ],
)
def test_it_refuses_what_is_no_date(text):
    with pytest.raises(DomainError) as error:
        parse_date(text)

    assert error.value.code == "date_not_understood"


@given(st.text(max_size=40))
def test_it_reads_or_refuses_any_text(text):
    with contextlib.suppress(DomainError):
        assert parse_date(text).earliest <= parse_date(text).on


@pytest.mark.parametrize(
    ("day", "months", "expected"),
    [
        (date(2025, 1, 31), 1, date(2025, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2024, 2, 29), 48, date(2028, 2, 29)),
        (date(2025, 8, 31), 6, date(2026, 2, 28)),
        (date(2025, 3, 31), -1, date(2025, 2, 28)),
        (date(9999, 7, 1), 6, date.max),
        (date(2025, 1, 1), 10**12, date.max),
        (date(2025, 1, 1), -(10**12), date.min),
        (date(9999, 7, 1), 5, date(9999, 12, 1)),
    ],
)
def test_it_adds_calendar_months(day, months, expected):
    assert add_months(day, months) == expected
