import json
import math
from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

CS_137 = {
    "nuclide": "Cs-137",
    "activity": "100 mCi",
    "reference": "2000-02-29",
    "on": "2025-02-28",
}


def decay(**options):
    out = StringIO()
    call_command("decay", **{**CS_137, **options}, stdout=out)
    return out.getvalue()


def as_data(**options):
    return json.loads(decay(**options, json=True))


def test_it_answers_programs_in_the_terms_of_the_field():
    # 100 mCi = 3.7 GBq; 9131 days; DDEP half-life 30.018 y of 365.2422 d; D = 0.1 TBq
    left = math.exp(-math.log(2) * 9131 / (30.018 * 365.2422))

    assert as_data() == {
        "nuclide": "Cs-137",
        "activity_as_stated": "100 mCi",
        "reference_date": "2000-02-29",
        "on_date": "2025-02-28",
        "activity_bq": pytest.approx(3.7e9 * left, rel=1e-8),
        "activity_text": "2.08\u00a0GBq",
        "fraction": pytest.approx(left, rel=1e-8),
        "elapsed_days": 9131,
        "half_life_days": pytest.approx(30.018 * 365.2422, rel=1e-8),
        "half_life_source": "DDEP/LNHB evaluation, Monographie BIPM-5",
        "a_over_d": pytest.approx(3.7e9 * left / 1e11, rel=1e-8),
        "category": 4,
        "until_date": None,
    }


def test_it_decays_backwards_too():
    data = as_data(reference="2025-02-28", on="2000-02-29")

    assert data["elapsed_days"] == -9131
    assert data["fraction"] > 1


def test_it_finds_the_day_below_a_threshold():
    # 3.7 GBq to 1 GBq takes T log2(3.7) days
    days = math.ceil(30.018 * 365.2422 * math.log2(3.7))

    found = date.fromisoformat(as_data(until="1 GBq")["until_date"])
    assert found == date(2000, 2, 29) + timedelta(days=days)


def test_a_threshold_above_the_stated_activity_is_passed_at_once():
    assert as_data(until="10 GBq")["until_date"] == "2000-02-29"


def test_a_threshold_beyond_the_calendar_has_no_day():
    assert as_data(nuclide="U-238", until="1 Bq")["until_date"] is None


@pytest.mark.parametrize("nuclide", ["I-129", "U (depleted)", "Ce-139"])
def test_it_has_no_category_where_d_is_unlimited_or_unknown(nuclide):
    data = as_data(nuclide=nuclide)

    assert (data["a_over_d"], data["category"]) == (None, None)


def test_it_uses_the_last_day_of_a_month():
    assert as_data(reference="2000-02")["reference_date"] == "2000-02-29"
    assert "29 Feb 2000 (last day of 2000-02)" in decay(reference="2000-02")


def test_it_shows_people_a_table_and_the_reasons():
    shown = decay(until="1 GBq")

    for part in ("Cs-137", "100 mCi", "30.018 y (10963.8404 d)", "First below 1 GBq", "Why:"):
        assert part in shown
    assert "no sentence for" not in shown


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"nuclide": "Co-6O"}, "the nearest name there is Co-60"),
        ({"nuclide": "1e999"}, "1e999"),
        ({"activity": "100"}, "has no unit"),
        ({"activity": "1500.5"}, "“1500.5” has no unit"),
        ({"activity": "1e999"}, "not an activity"),
        ({"activity": "1,500 MBq"}, "1500 MBq or as 1.500 MBq"),
        ({"activity": "5\n\nrem"}, "“rem” in “5 rem” is not a unit"),
        ({"activity": "0 Bq"}, "not above zero"),
        ({"reference": "03/04/2005"}, "more than one date"),
        ({"on": "soon\nor late"}, "“soon or late” is not a date"),
        ({"until": "-1 Bq"}, "not above zero"),
        ({"nuclide": "I-131", "on": "0001-01-01"}, "too far back"),
    ],
)
def test_it_says_what_is_wrong_in_one_sentence(options, words):
    with pytest.raises(CommandError) as error:
        decay(**options)

    assert words in str(error.value)
    assert "\n" not in str(error.value)
