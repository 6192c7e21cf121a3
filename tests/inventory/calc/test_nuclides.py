import csv
import dataclasses
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import DomainError
from inventory.calc.nuclides import (
    FIXTURE,
    PARENT_WITH_DAUGHTER,
    normalise,
    read_nuclides,
    resolve,
)

TABLE = read_nuclides()
ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Cs-137", "Cs-137"),
        ("cs-137", "Cs-137"),
        ("CS 137", "Cs-137"),
        ("Cs137", "Cs-137"),
        ("137Cs", "Cs-137"),
        ("¹³⁷Cs", "Cs-137"),
        ("Cs\N{NON-BREAKING HYPHEN}137", "Cs-137"),
        ("Cs\N{EN DASH}137", "Cs-137"),
        ("Caesium-137", "Cs-137"),
        ("Cesium 137", "Cs-137"),
        ("Tc 99m", "Tc-99m"),
        ("TC-99M", "Tc-99m"),
        ("99mTc", "Tc-99m"),
        ("⁹⁹ᵐTc", "Tc-99m"),
        ("Tc-99", "Tc-99"),
        ("110mAg", "Ag-110m"),
        # Not metastable nitrogen, oxygen or phosphorus
        ("54Mn", "Mn-54"),
        ("99Mo", "Mo-99"),
        ("147Pm", "Pm-147"),
        ("Strontium 90", "Sr-90"),
        ("Sr-90/Y-90", "Sr-90"),
        ("Sr90 + Y90", "Sr-90"),
        ("Y-90", "Y-90"),
        ("tritium", "H-3"),
        ("Am241/Be", "Am-241/Be"),
        ("Am-241:Be", "Am-241/Be"),
        ("241Am-Be", "Am-241/Be"),
        ("Am-241 (Be)", "Am-241/Be"),
        ("AmBe", "Am-241/Be"),
        ("Am/Be", "Am-241/Be"),
        ("Am-241", "Am-241"),
        ("Pu-238/Be", "Pu-238/Be"),
        ("DU", "U (depleted)"),
        ("depleted uranium", "U (depleted)"),
    ],
)
def test_it_finds_the_nuclide_that_people_write(text, name):
    assert resolve(text, TABLE).name == name


@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ("Co-6O", "Co-60"),
        ("Cs-173", "Cs-137"),
        ("Cs-137m", "Cs-137"),
        ("Cs-1377", "Cs-137"),
        ("Ag-108", "Ag-108m"),
        ("Co-6-0", "Co-60"),
        ("\N{CYRILLIC CAPITAL LETTER ES}s-137", "Cs-137"),
        ("Ir-912", "Ir-192"),
    ],
)
def test_it_refuses_a_slip_and_offers_the_nearest(text, nearest):
    with pytest.raises(DomainError) as error:
        resolve(text, TABLE)

    assert error.value.code == "nuclide_unknown"
    assert error.value.values == {"text": text, "nearest": nearest}


@pytest.mark.parametrize("text", ["", "Co", "Cs-134/Cs-137", "Y-90/Sr-90", "Cf-252/Be", "x" * 9999])
def test_it_refuses_what_names_no_single_nuclide(text):
    with pytest.raises(DomainError):
        resolve(text, TABLE)


@given(st.text(max_size=50))
def test_it_finds_or_refuses_any_text(text):
    try:
        resolve(text, TABLE)
    except DomainError as error:
        assert error.values["nearest"] in TABLE


def test_it_leaves_its_own_names_alone():
    for name in TABLE:
        assert normalise(name) == name


def test_a_daughter_beside_its_parent_is_one_of_its_daughters():
    for pair, parent in PARENT_WITH_DAUGHTER.items():
        assert pair.partition("/")[2] in dict(TABLE[parent].daughters)


# --- the table -----------------------------------------------------------------------------


def test_it_reads_every_row():
    kinds = [n.kind for n in TABLE.values()]

    assert (kinds.count("nuclide"), kinds.count("source assembly"), kinds.count("material")) == (
        67,
        4,
        1,
    )


@pytest.mark.parametrize(
    ("name", "counts"), [("Sr-90", 2), ("Cs-137", 1.944), ("Ra-226", 6.0), ("Co-60", 1)]
)
def test_a_decay_gives_at_most_one_count_per_nuclide_of_the_chain(name, counts):
    # e_max of the leak test: 1 + the sum of the daughters' ratios
    assert TABLE[name].most_counts_per_decay == pytest.approx(counts, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "d_tbq"),
    # 2013/59/Euratom Annex III; category 2 of 10 CFR 73 App. I is ten times D
    [("Co-60", 0.03), ("Cs-137", 0.1), ("Am-241/Be", 0.06), ("Ir-192", 0.08), ("Sr-90", 1.0)],
)
def test_the_d_values_are_those_of_the_annex(name, d_tbq):
    assert TABLE[name].d_tbq == d_tbq
    assert TABLE[name].cfr37_category_2_tbq == pytest.approx(10 * d_tbq)


def test_unlimited_is_not_unknown():
    assert (TABLE["I-129"].d_tbq, TABLE["I-129"].d_unlimited) == (None, True)
    assert (TABLE["Ce-139"].hass_tbq, TABLE["Ce-139"].hass_unlimited) == (None, False)


def test_a_d_value_from_memory_is_no_basis_for_a_category():
    assert TABLE["Ce-139"].category_d_tbq is None
    assert TABLE["Cs-137"].category_d_tbq == 0.1


def test_it_is_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError):
        TABLE["Cs-137"].half_life_days = 1.0


def changed(tmp_path, column, value):
    """The shipped table with one cell of its first row changed."""
    with FIXTURE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    rows[0][column] = value
    path = tmp_path / "nuclides.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return path


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("half_life_days", "12.3"),  # must be half_life times its unit
        ("half_life_days", ""),
        ("half_life", "-1"),
        ("half_life_unit", "a"),
        ("half_life_uncertainty_unit", "d"),
        ("alpha_emitter", "maybe"),
        ("D_TBq", "nan"),
        ("exempt_Bq", "many"),
        ("kind", ""),
        ("daughters_in_equilibrium", "Y-90"),
    ],
)
def test_it_names_the_row_and_column_of_a_bad_cell(tmp_path, column, value):
    with pytest.raises(DomainError) as error:
        read_nuclides(changed(tmp_path, column, value))

    assert error.value.code == "nuclide_row_bad"
    assert error.value.values == {"row": 2, "column": column, "text": value}


def test_it_refuses_a_name_that_stands_twice(tmp_path):
    with pytest.raises(DomainError) as error:
        read_nuclides(changed(tmp_path, "aliases", "AmBe"))

    assert error.value.code == "nuclide_name_twice"


def test_it_refuses_a_table_without_a_column(tmp_path):
    path = tmp_path / "nuclides.csv"
    path.write_text("nuclide,aliases\nCs-137,\n", encoding="utf-8")

    with pytest.raises(DomainError) as error:
        read_nuclides(path)

    assert error.value.code == "nuclide_column_missing"


def test_no_shipped_file_holds_icrp_107_columns():
    # Their licence is for educational, research and not-for-profit purposes only.
    folders = ("fixtures", "inventory", "surveys", "reports", "config")
    for path in (p for folder in folders for p in (ROOT / folder).rglob("*.csv")):
        header = path.read_bytes().partition(b"\n")[0]
        assert b"_test_only" not in header, path
