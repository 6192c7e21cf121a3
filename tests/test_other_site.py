"""A person of two sites names things of the one in forms of the other: nothing is written."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from config.accounts.models import Role
from inventory.ledger.models import Record
from surveys.leak.models import SENT_KIND
from tests import factories
from tests.pages import browser, stop_clock
from tests.test_permissions import address, entry, make_world

CASES = {
    ("session-new", "counter"): "counter",
    ("session-new", "wipes-1-what"): "source",
    ("wipes-send", "wipes-0-sources"): "source",
    ("wipes-send", "laboratory"): "laboratory",
    ("wipe-new", "sources"): "source",
    ("movement-new", "to"): "store",
    ("monitor-new", "to"): "store",
    ("book", "line"): "line",
    ("unbook", "line"): "line",
}


@pytest.fixture
def here(db, monkeypatch) -> Any:
    stop_clock(monkeypatch)
    return make_world()


@pytest.fixture
def there(here) -> Any:
    site = factories.make_site("beyond")
    factories.give_role(here.rps, site, Role.RPS)
    store = factories.make_location(site, "Far")
    source = factories.make_source(site, to=store, serial="FAR-1")
    counter = factories.make_monitor(site, tag="FC-1")
    laboratory = factories.make_laboratory(site)
    return SimpleNamespace(
        store=store.code,
        source=source.code,
        counter=counter.code,
        laboratory=laboratory.code,
        line=f"{source.code}:leak_test",
        sent=factories.send_wipe(source, laboratory, date(2025, 12, 1)),
    )


@pytest.mark.parametrize("case", CASES, ids="-".join)
def test_a_thing_of_another_site_in_a_form_writes_nothing_and_tells_nothing(here, there, case):
    name, field = case
    before = Record.objects.count()
    sent = entry(name, here) | {field: getattr(there, CASES[case])}
    response = browser(here.rps).post(address(name, here), sent)
    assert response.status_code in (200, 404)
    assert Record.objects.count() == before
    assert b"FAR-1" not in response.content


def test_a_wipe_that_is_away_from_another_site_takes_no_result_here(here, there):
    assert not Record.objects.filter(site=here.site, seq=there.sent.seq, kind=SENT_KIND).exists()
    before = Record.objects.count()
    sent = entry("report-new", here) | {"results-0-wipe": str(there.sent.seq)}
    response = browser(here.rps).post(address("report-new", here), sent)
    assert response.status_code == 200
    assert Record.objects.count() == before
