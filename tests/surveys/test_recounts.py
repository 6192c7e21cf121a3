"""Counting a wipe again never makes it newer, cleaner or another one."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from inventory.ledger.models import Record
from inventory.ledger.write import read_body
from surveys.sessions.acceptance import wipes_of
from tests import factories
from tests.pages import browser, stop_clock

pytestmark = pytest.mark.django_db
ON = date(2025, 12, 1)
POOLED = {"gross_counts": "431 + 425", "gross_seconds": "600 + 600"}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def sources(site):
    return [factories.make_source(site, serial=f"K-{n}") for n in (1, 2)]


@pytest.fixture
def rps(site):
    return browser(factories.rps_of(site))


@pytest.fixture
def counted(counter, sources):
    return wipes_of(factories.count_session(counter, sources[:1], ON))[0]


def recounted(rps: Any, record: Record, **change: str) -> Any:
    address = reverse("record-correct", args=["thornmere", record.seq]) + "?recount=1"
    form = rps.get(address).context["form"]
    names = [one.name for one in form if one.value() not in (None, "", False)]
    sent = {name: form[name].value() for name in names} | change
    return rps.post(address, {**sent, "do": "record", "seen": "9999"})


def newer(record: Record) -> Record | None:
    return Record.objects.filter(replaces=record).first()


def test_a_recount_keeps_the_day_on_which_it_was_wiped(rps, counted):
    """Otherwise a count of today would make an old wipe good for another interval."""
    response = recounted(rps, counted, **POOLED, wiped_on="2026-02-20")
    assert "wiped_on" in response.context["form"].errors
    assert newer(counted) is None


def test_a_recount_is_of_the_same_sources(rps, sources, counted):
    response = recounted(rps, counted, **POOLED, sources=str(sources[1].pk))
    assert "sources" in response.context["form"].errors
    assert newer(counted) is None


BACKGROUNDS = {
    "another one": {"background_counts": "4000", "background_seconds": "600"},
    "another time": {"background_counts": "389", "background_seconds": "60"},
}


@pytest.mark.parametrize("background", BACKGROUNDS)
def test_a_recount_keeps_the_earlier_background(rps, counted, background):
    response = recounted(rps, counted, **POOLED, **BACKGROUNDS[background])
    assert "background_counts" in response.context["form"].errors
    assert newer(counted) is None


def test_a_recount_may_add_a_background_of_its_own(rps, counted):
    both = {"background_counts": "389 + 401", "background_seconds": "600 + 600"}
    recounted(rps, counted, **POOLED, **both)
    record = newer(counted)
    assert record is not None
    assert read_body(record)["detail"]["background"] == [["389", "600.0"], ["401", "600.0"]]


def test_a_day_of_counting_before_the_new_calibration_does_not_set_the_first_count_apart(
    rps, counter, counted
):
    """What is pooled is settled by the day of the new count, not by today."""
    factories.calibrate(counter, date(2026, 1, 4))
    alone = {"gross_counts": "425", "gross_seconds": "600", "because": "again"}
    response = recounted(rps, counted, **alone, counted_on="2025-12-02")
    assert "gross_counts" in response.context["form"].errors
    assert newer(counted) is None


def test_a_failure_that_cannot_be_pooled_is_not_replaced_by_a_later_lower_count(
    rps, counter, sources
):
    old = wipes_of(factories.count_session(counter, [(sources[0], 90_000)], ON))[0]
    factories.calibrate(counter, date(2026, 1, 4))
    alone = {"gross_counts": "425", "gross_seconds": "600"}
    response = recounted(rps, old, **alone, because="counted again")
    assert "gross_counts" in response.context["form"].errors
    assert newer(old) is None
