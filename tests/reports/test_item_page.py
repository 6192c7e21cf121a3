"""What the pages of gauges, locations, nuclides and of another day say."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from inventory.items.models import Source
from inventory.ledger.models import Record
from inventory.ledger.write import About, Draft, writing
from reports.pages.happened import about_lines, kind_word
from tests import factories
from tests.pages import TODAY, Page, browser, stop_clock

pytestmark = pytest.mark.django_db
LOUD = [(90_000, 600.0)]


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


def see(client: Any, name: str, *args: Any, query: str = "") -> Page:
    return Page(client.get(reverse(name, args=["thornmere", *args]) + query))


def of(bq: str, nuclide: str = "Cs-137", **fields: Any) -> dict[str, Any]:
    """A source that had so much on the day of the tests."""
    day = {"reference_text": TODAY.isoformat(), "reference_on": TODAY}
    return {"nuclide": nuclide, "activity_text": f"{bq} Bq", "activity_bq": Decimal(bq), **day} | (
        fields
    )


# ---------------------------------------------------------------- gauges and locations


@pytest.fixture(scope="module")
def tank_house(site):
    return factories.make_location(site, "Tank house")


def test_a_location_adds_up_what_is_in_it_in_its_gauges_and_in_the_places_inside(
    rps, site, tank_house
):
    inner = factories.make_location(site, "Cage", within=tank_house.code)
    gauge = factories.make_gauge(site, "G-7", at=tank_house)
    factories.make_source(site, to=gauge, serial="A-1", **of("4e9"))
    factories.make_source(site, to=inner, serial="A-2", **of("3e9", "Co-60"))
    factories.make_source(site, serial="A-3", **of("9e12"))
    page = see(rps, "item", tank_house.code)
    assert "Together: 7.00 GBq on 2 Mar 2026" in page.text
    # D: Cs-137 0.1 TBq, Co-60 0.03 TBq (fixtures/nuclides.csv): 0.04 + 0.1.
    assert "A/D 0.14, category 4" in page.text
    assert "Cs-137: 4.00 GBq over D = 100 GBq is 0.04." in page.text
    assert "A-3" not in page.text
    assert {f"/thornmere/items/{one.code}/" for one in (inner, gauge)} <= set(page.links())
    assert "together for security goes by security boundaries" in page.text


def test_sources_that_are_harmless_alone_can_make_a_category_together(rps, site, tank_house):
    for number in range(3):
        factories.make_source(site, to=tank_house, serial=f"B-{number}", **of("5e8"))
    page = see(rps, "item", tank_house.code)
    assert "A/D 0.015, category 4" in page.text
    one = Source.objects.first()
    assert "category 5" in see(rps, "item", one.item.code).text


def test_what_is_not_known_makes_totals_and_category_a_lower_bound(rps, site, tank_house):
    factories.make_source(site, to=tank_house, serial="A-1", **of("4e9"))
    unknown = {"activity_text": "", "activity_bq": None}
    factories.make_source(site, to=tank_house, serial="A-2", **unknown)
    text = see(rps, "item", tank_house.code).text
    assert "Together: at least 4.00 GBq" in text
    assert "The activity of 1 source is not known." in text
    assert "A/D at least 0.04, category 4 or more dangerous" in text


def test_nothing_known_at_all_gives_no_category(rps, site, tank_house):
    factories.make_source(site, to=tank_house, **{"activity_text": "", "activity_bq": None})
    text = see(rps, "item", tank_house.code).text
    assert "Together: not known" in text
    assert "A/D at least 0, category not known" in text


def test_an_empty_gauge_says_so(rps, site):
    gauge = factories.make_gauge(site)
    text = see(rps, "item", gauge.code).text
    assert "No source is here on that day." in text
    assert "Together" not in text


def test_a_location_warns_of_a_leak_in_a_place_inside_it(rps, site, counter, tank_house):
    inner = factories.make_location(site, "Cage", within=tank_house.code)
    source = factories.make_source(site, to=inner, serial="A-1")
    factories.record_wipe(source, counter, date(2025, 12, 1), gross=LOUD)
    for place in (inner, tank_house):
        assert "Keep people away" in see(rps, "item", place.code).text


# ---------------------------------------------------------------- the list of things


def row_of(page: Page, label: str) -> str:
    rows = re.split(r"<tr", page.html)
    (found,) = [row for row in rows if f">{label}</a>" in row]
    return " ".join(re.sub(r"<[^>]*>", " ", found.split(">", 1)[1]).split())


def test_the_list_says_the_worst_of_what_is_inside_in_words(rps, site, counter, tank_house):
    outer = factories.make_location(site, "Hall")
    cage = factories.make_location(site, "Cage", within=outer.code)
    gauge = factories.make_gauge(site, "G-7", at=tank_house)
    leaking = factories.make_source(site, to=gauge, serial="A-1")
    factories.make_source(site, to=gauge, serial="A-2")
    good = factories.make_source(site, to=cage, serial="A-3")
    factories.record_wipe(leaking, counter, date(2025, 12, 1), gross=LOUD)
    factories.record_wipe(good, counter, date(2025, 12, 1))
    page = see(rps, "things")
    for name in ("G-7", "Tank house"):
        assert "2 holds 1 failed source" in row_of(page, name)
    for name in ("Cage", "Hall"):
        assert "holds" not in row_of(page, name)
        assert " 1 " in row_of(page, name)


def test_the_list_counts_every_source_in_the_worst_state(rps, site, tank_house):
    for number in range(2):
        factories.make_source(site, to=tank_house, serial=f"A-{number}")
    assert "2 holds 2 sources never tested" in row_of(see(rps, "things"), "Tank house")


# ---------------------------------------------------------------- nuclides


def test_a_source_leads_to_its_nuclide_with_every_value_and_where_it_comes_from(rps, site):
    source = factories.make_source(site, serial="K-1")
    factories.make_source(site, serial="K-2", nuclide="Co-60")
    assert "/thornmere/nuclides/Cs-137/" in see(rps, "item", source.code).links()
    page = see(rps, "nuclide", "Cs-137")
    assert "Half-life 30.018 y" in page.text
    assert "DDEP/LNHB" in page.text
    assert "Ba-137m, 0.944 per decay of Cs-137" in page.text
    assert "D-value 100 GBq 2013/59/Euratom Annex III" in page.text
    assert "Exemption activity 10.0 kBq" in page.text
    assert "How a wipe can be counted beta/gamma" in page.text
    assert "K-1" in page.text
    assert "K-2" not in page.text


def test_every_nuclide_of_the_table_has_a_page_under_any_of_its_names(rps, site):
    from inventory.nuclides.read import nuclides

    for name in nuclides():
        page = see(rps, "nuclide", name)
        assert page.faults == []
        assert f"<h1>{name}</h1>" in page.html
        assert "None" not in page.text
    for name in ("137Cs", "cs137", "Am-241:Be"):
        assert rps.get(reverse("nuclide", args=["thornmere", name])).status_code == 200


@pytest.mark.parametrize("name", ["Xx-999", "x" * 500, "../../due"])
def test_a_nuclide_that_the_table_does_not_have_does_not_exist(rps, site, name):
    assert rps.get(f"/thornmere/nuclides/{name}/").status_code == 404


def test_the_list_adds_up_by_nuclide_what_is_on_site(rps, site):
    factories.make_source(site, serial="A-1", **of("4e9"))
    factories.make_source(site, serial="A-2", **of("3e9"))
    factories.make_source(site, serial="A-3", **of("1e6", "Co-60", activity_bq=None))
    factories.make_source(site, serial="A-4", received=False, nuclide="Kr-85")
    page = see(rps, "nuclides")
    rows = page.text.split("Others in the nuclide table")[0]
    assert "Cs-137 30.018 y gamma 2 7.00 GBq on 2 Mar 2026" in rows
    assert re.search(r"Co-60 \S+ y gamma 1 not known", rows)
    assert "Kr-85" not in rows


# ---------------------------------------------------------------- another day, other kinds


def test_the_page_of_another_day_says_what_held_then_and_warns_of_now(rps, site, counter):
    store, hall = (factories.make_location(site, name) for name in ("Store", "Hall"))
    source = factories.make_source(site, to=store, serial="K-1")
    gauge = factories.make_gauge(site, "G-7", at=hall)
    factories.install(source, gauge, date(2025, 6, 1))
    factories.record_wipe(source, counter, date(2025, 12, 1), gross=LOUD)
    then = see(rps, "item", source.code, query="?on=2025-05-31").text
    assert "As of 31 May 2025" in then
    assert "Where Store" in then
    assert "never done" in then
    assert "Keep people away" in then
    assert "Every result, newest first" not in then
    assert "G-7, Hall" in see(rps, "item", source.code).text
    text = see(rps, "item", gauge.code, query="?on=2025-05-31").text
    assert "No source is here on that day." in text
    assert text.count("K-1") == text.count("K-1: Failed or suspected leak") == 1  # of now


@pytest.mark.parametrize("query", ["?on=yesterday", "?on=0001-01-01", "?on=9999-12-31"])
@pytest.mark.parametrize("kind", ["source", "gauge", "monitor", "location"])
def test_the_page_of_a_thing_bears_any_day(rps, site, counter, kind, query):
    gauge = factories.make_gauge(site)
    items = {
        "source": factories.make_source(site, to=gauge),
        "gauge": gauge,
        "monitor": counter,
        "location": factories.make_location(site),
    }
    page = see(rps, "item", items[kind].code, query=query)
    assert page.faults == []
    assert items[kind].label in page.text


def test_a_kind_of_record_that_nobody_has_put_in_words_reads_like_one(rps, site):
    source = factories.make_source(site)
    with writing(site, by=factories.rps_of(site), at=factories.tick()) as ledger:
        record = ledger.append(
            Draft("shutter_greased", ledger.today, [About(source)], reason="squeaked")
        )
    assert kind_word("shutter_greased") == "shutter greased"
    page = see(rps, "item", source.code)
    assert f"Shutter greased (record {record.seq})" in page.text
    assert "squeaked" in page.text
    assert list(about_lines(record, source, record.about.get(), {})) == ["squeaked"]
    assert "Shutter greased" in see(rps, "record", record.seq).text
    assert Record.objects.filter(kind="shutter_greased").count() == 1
