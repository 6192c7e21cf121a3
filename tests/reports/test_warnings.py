"""Whoever stands at a gauge or sits at the form is told what must not be overlooked."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from inventory.calc.errors import DomainError
from surveys.leak.actions import accept_leak_test
from tests import factories
from tests.pages import stop_clock

pytestmark = pytest.mark.django_db
NOVEMBER = date(2025, 11, 3)
FAILING = [(90_000, 600.0)]


@pytest.fixture
def client(client, site, monkeypatch):
    stop_clock(monkeypatch)
    client.force_login(factories.rps_of(site))
    return client


@pytest.fixture(scope="module")
def gauge(site):
    return factories.make_gauge(site, "LG-1")


@pytest.fixture(scope="module")
def source(site, gauge):
    return factories.make_source(site, to=gauge, serial="K-1")


def seen(client, name: str, *args: object, query: str = "") -> str:
    return client.get(reverse(name, args=["thornmere", *args]) + query).content.decode()


def test_the_gauge_and_its_place_warn_of_the_source_inside(client, gauge, source, counter):
    assert "Keep people away" not in seen(client, "item", gauge.code)
    factories.record_wipe(source, counter, NOVEMBER, gross=FAILING)
    place = gauge.stays.get().location
    for item in (gauge, place):
        page = seen(client, "item", item.code)
        assert "Keep people away" in page and "Cs-137 K-1" in page


def test_the_form_of_a_wipe_warns_of_a_source_that_failed(client, source, counter):
    factories.record_wipe(source, counter, NOVEMBER, gross=FAILING)
    page = seen(client, "wipe-new", query=f"?source={source.code}")
    assert "A wipe that passes does not end this" in page


def test_what_cannot_be_relied_on_says_so_before_it_says_passes(client, site, source):
    late = factories.make_monitor(site, calibrated_on=date(2023, 1, 5))
    sent = {
        **{"sources": [source.code], "wiped_on": "2025-11-03", "sampled_by": "A", "why": "routine"},
        **{"way": "counts", "counter": late.code, "gross_counts": "431", "gross_seconds": "600"},
        **{"background_counts": "389", "background_seconds": "600", "do": "preview"},
        **{"request_key": "0f0e7e0e-6a7b-4a53-9f10-9c3a5a1d2b3c", "seen": "99"},
    }
    page = client.post(reverse("wipe-new", args=["thornmere"]), sent).content.decode()
    assert page.index("Not relied on: the counter&#x27;s calibration was late") < page.index(
        "Passes:"
    )


def test_a_wipe_is_not_accepted_once_its_calibration_was_corrected(site, source, counter):
    calibration = counter.used_in.get(kind="calibration")
    entered = factories.record_wipe(source, counter, NOVEMBER, act={"accepted": False})
    factories.record_calibration(
        counter,
        factories.Certificate(on=calibration.effective_on, passed=False),
        by=factories.rps_of(site),
        at=factories.tick(),
        accepted=True,
        replaces=calibration,
        reason="Read again: out of tolerance.",
    )
    with pytest.raises(DomainError) as refused:
        accept_leak_test(entered, by=factories.rps_of(site), at=factories.tick(), reason="")
    assert refused.value.code == "calibration_changed_since"


@pytest.mark.parametrize("query", ["?on=2025-13-45", "?on=03/04/2025", "?known=garbage"])
@pytest.mark.parametrize("ending", ["csv", "pdf", "xlsx"])
def test_a_file_of_an_unreadable_day_is_refused(client, site, ending, query):
    answer = client.get(reverse("register-file", args=["thornmere", "source", ending]) + query)
    assert answer.status_code == 400 and answer["Content-Type"].startswith("text/plain")


def test_what_was_known_is_part_of_the_number(client, site):
    names = {
        client.get(reverse("register-file", args=["thornmere", "source", "csv"]) + query)[
            "Content-Disposition"
        ]
        for query in ("?on=2026-03-01", "?on=2026-03-01&known=2026-02-01")
    }
    assert len(names) == 2


def test_a_table_cannot_be_asked_for_less_than_a_page(client, site):
    for query in ("?per_page=-1", "?page=-7", "?page=x&per_page=0"):
        assert client.get(reverse("sources", args=["thornmere"]) + query).status_code == 200
