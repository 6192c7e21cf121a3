"""Reference data: loaded once, and every change of it is a record."""

from __future__ import annotations

import csv
from datetime import date

import pytest

from inventory import derive, knowledge
from inventory.calc.asof import AsOf
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import FIXTURE
from inventory.items.actions import change, description_in_force, snapshot_of
from inventory.ledger.models import Record
from inventory.ledger.write import read_body
from inventory.nuclides.actions import differences, load_nuclides
from inventory.nuclides.models import CHANGED_KIND, Nuclide
from inventory.nuclides.read import nuclides
from tests.factories import make_site, make_source, make_user, rps_of, tick
from tests.inventory.asking import NOW, rows_of_every_table, state

pytestmark = pytest.mark.django_db


@pytest.fixture
def site(db):
    """Made anew for each test: the table is empty before."""
    return make_site("thornmere")


@pytest.fixture
def changed(tmp_path):
    """A function that writes the shipped table with some cells of one nuclide changed."""

    def write(nuclide, **cells):
        with FIXTURE.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        for row in rows:
            row.update(cells if row["nuclide"] == nuclide else {})
        path = tmp_path / "nuclides.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0])
            writer.writeheader()
            writer.writerows(rows)
        return path

    return write


LONGER = {"half_life": "40", "half_life_days": "14609.688"}


def changes_at(site):
    return Record.objects.filter(kind=CHANGED_KIND, site=site)


def test_loading_twice_changes_nothing(site):
    before = rows_of_every_table()
    assert load_nuclides(by=rps_of(site), at=tick()) == []
    assert rows_of_every_table() == before


def test_a_first_load_is_one_record_of_the_installation(db):
    changes = load_nuclides(by=make_user(), at=tick())
    (record,) = changes_at(None)
    assert len(changes) == Nuclide.objects.count() == len(read_body(record)["points"])
    assert all(change.before is None for change in changes)


def test_a_changed_half_life_is_recorded_where_it_matters(site, changed):
    source, other_site, third = make_source(site), make_site(), make_site()
    make_source(other_site, nuclide="Co-60")
    also = make_source(third)
    path = changed("Cs-137", **LONGER)
    loaded = load_nuclides(by=rps_of(site), at=tick(), path=path)
    assert {change.column for change in loaded} == {"half_life", "half_life_days"}
    assert changes_at(None).count() == 2  # the first load and this one
    for place, item in ((site, source), (third, also)):
        (record,) = changes_at(place)
        assert [mention.item for mention in record.about.all()] == [item]
        point = next(p for p in read_body(record)["points"] if p["column"] == "half_life")
        assert (point["before"], point["after"]) == (before_of("half_life"), "40")
    assert not changes_at(other_site).exists()


def before_of(column):
    with FIXTURE.open(encoding="utf-8", newline="") as file:
        return next(row[column] for row in csv.DictReader(file) if row["nuclide"] == "Cs-137")


def test_what_was_known_then_uses_the_value_of_then(site, changed):
    make_source(site)
    then = tick()
    before = nuclides()["Cs-137"].half_life_days
    load_nuclides(by=rps_of(site), at=tick(), path=changed("Cs-137", **LONGER))
    assert nuclides(then)["Cs-137"].half_life_days == before
    assert nuclides()["Cs-137"].half_life_days == pytest.approx(14609.688)
    assert nuclides(tick()) == nuclides()


def test_a_changed_trait_changes_what_is_due_and_not_what_was_known(site, changed):
    source = make_source(site)
    then = tick()
    load_nuclides(by=rps_of(site), at=tick(), path=changed("Cs-137", gas="yes"))
    known = knowledge.states([source.pk], AsOf(NOW, then))[source.pk, "leak_test"]
    assert (known.state, state(source)) == ("never_done", "undecided")
    assert list(derive.rebuild(write=False)) == []


def test_the_record_concerns_every_day_the_source_was_here(site, changed):
    make_source(site)
    load_nuclides(by=rps_of(site), at=tick(), path=changed("Cs-137", **LONGER))
    assert changes_at(site).get().effective_on == date(2021, 3, 1)


def test_it_says_beforehand_what_it_would_change(site, changed):
    before = rows_of_every_table()
    (one, other) = differences(changed("Cs-137", **LONGER))
    assert {one.nuclide, other.nuclide} == {"Cs-137"}
    assert rows_of_every_table() == before


def test_a_bad_file_changes_nothing(site, changed):
    before = rows_of_every_table()
    with pytest.raises(DomainError):
        load_nuclides(by=rps_of(site), at=tick(), path=changed("Cs-137", half_life="31"))
    assert rows_of_every_table() == before


def test_a_source_that_was_once_described_as_it_is_touched_too(site, changed):
    """Past days rest on what it was taken for then."""
    source = make_source(site)
    record = description_in_force(source)
    said = snapshot_of(record) | {"nuclide": "Co-60", "label": "Co-60 again"}
    change(source, said, by=rps_of(site), at=tick(), on=date(2025, 6, 1), reason="It is cobalt.")
    load_nuclides(by=rps_of(site), at=tick(), path=changed("Cs-137", **LONGER))
    (told,) = changes_at(site)
    assert [mention.item for mention in told.about.all()] == [source]
