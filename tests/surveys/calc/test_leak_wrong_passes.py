"""Ways to a pass that nothing measured: each is closed. Own decisions, stricter than the rule."""

from __future__ import annotations

import pytest
from scipy import stats

from inventory.calc.errors import DomainError
from surveys.calc.counting import Count, agree
from surveys.calc.leak import Counted, Factor, Limit, Reported, judge

LIMIT = Limit(185.0)
COUNTER = Factor(0.12, 0.06)


def verdict_of(result):
    return judge(result, LIMIT, nuclide="Cs-137", most_counts_per_decay=1.944).value


def test_a_long_clean_recount_does_not_wash_a_leak_away():
    leaking = verdict_of(Counted(((2400, 60.0),), ((30, 60.0),), COUNTER))
    washed = verdict_of(Counted(((2400, 60.0), (18000, 36000.0)), ((30, 60.0),), COUNTER))

    assert leaking.finding == "fail_confirmed"
    assert washed.finding == "inconclusive_counts_differ"
    assert washed.act_as_on_a_leak is True


def test_recounts_that_agree_pool_and_pass():
    pooled = verdict_of(Counted(((31, 60.0), (28, 60.0), (35, 60.0)), ((30, 60.0),), COUNTER))

    assert pooled.outcome == "pass"


def test_backgrounds_that_differ_never_clear():
    said = verdict_of(Counted(((300, 60.0),), ((30, 60.0), (3000, 60.0)), COUNTER))

    assert said.outcome == "inconclusive"


@pytest.mark.parametrize("number", [2, 3, 5, 10])
def test_the_bound_of_agreement_is_the_999_quantile(number):
    """scipy's chi-squared: a series just inside it agrees, one just outside differs."""
    exact = stats.chi2.ppf(0.999, number - 1)
    base = 10_000
    for share, expected in ((0.97, True), (1.03, False)):
        # one count above and one below by d gives chi2 = 2 d^2 / base
        d = round((share * exact * base / 2) ** 0.5)
        counts = [base + d, base - d, *[base] * (number - 2)]
        assert agree([Count(one, 60.0) for one in counts]) is expected


def test_a_sign_slip_in_a_report_does_not_pass():
    said = verdict_of(
        Reported(activity_bq=-500.0, expanded_uncertainty_bq=2.0, coverage_factor=2.0)
    )

    assert (said.outcome, said.finding) == ("inconclusive", "inconclusive_background")


def test_a_percentage_is_no_coverage_factor():
    with pytest.raises(DomainError) as refused:
        verdict_of(Reported(activity_bq=170.0, expanded_uncertainty_bq=100.0, coverage_factor=95.0))

    assert refused.value.code == "coverage_factor_too_large"
