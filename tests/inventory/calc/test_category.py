import pytest

from inventory.calc.category import a_over_d, above_exemption, category
from inventory.calc.nuclides import read_nuclides

TABLE = read_nuclides()


def summed(*pairs):
    return a_over_d([(TABLE[name], tbq * 1e12) for name, tbq in pairs])


@pytest.mark.parametrize(
    ("sum_a_over_d", "number"),
    # RS-G-1.9: 1000, 10, 1, 0.01, each reached by equality
    [
        (1000.0, 1),
        (999.9, 2),
        (10.0, 2),
        (9.99, 3),
        (1.0, 3),
        (1.0 - 1e-10, 3),  # 0.1 + 0.2 + 0.7 must reach 1
        (1.0 - 1e-8, 4),
        (0.01, 4),
        (0.00999, 5),
    ],
)
def test_a_category_begins_where_its_limit_is_reached(sum_a_over_d, number):
    assert category(sum_a_over_d, True).value == number


def test_there_is_no_category_at_or_below_exemption():
    assert category(0.001, False).value is None
    assert category(0.0, False).value is None


def test_unknown_exemption_is_not_fine():
    found = category(0.001, None)

    assert found.value == 5
    assert found.steps[0].code == "category_5_exemption_unknown"


def test_the_same_nuclide_is_added_first():
    found = summed(("Cs-137", 0.05), ("Co-60", 0.015), ("Cs-137", 0.05))

    assert found.value.value == pytest.approx(1.5)
    assert [step.values["nuclide"] for step in found.steps[0].because] == ["Cs-137", "Co-60"]


def test_an_unlimited_nuclide_counts_nothing():
    found = summed(("I-129", 100), ("Cs-137", 0.05))

    assert found.value.value == pytest.approx(0.5)
    assert not found.value.at_least


def test_an_unknown_d_value_makes_it_at_least():
    # The D-value of Ce-139 is from memory only
    found = summed(("Ce-139", 100), ("Cs-137", 0.05))

    assert found.value.value is None
    assert found.value.known_sum == pytest.approx(0.5)
    assert found.value.unknown == ("Ce-139",)
    assert found.steps[0].code == "a_over_d_at_least"


def test_nothing_has_an_a_over_d_of_zero():
    assert summed().value.value == 0


def test_exemption_adds_fractions():
    # 1E4 Bq Cs-137 and 1E5 Bq Co-60 are each exempt (StrlSchV Annex 4 Table 1 column 2)
    cs, co = TABLE["Cs-137"], TABLE["Co-60"]

    assert above_exemption([(cs, 1e4)]) is False
    assert above_exemption([(cs, 1.001e4)]) is True
    assert above_exemption([(cs, 6e3), (co, 6e4)]) is True
