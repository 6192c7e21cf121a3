"""Every role walks the site along its own links: whatever is offered is open."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from config.accounts.models import Role, Site
from inventory.ledger.models import Item, Record
from tests import factories, loading
from tests.inventory import ledger_world
from tests.pages import Page, browser, staff, stop_clock
from tests.walk import walk

HOSTILE = "<script>alert(1)</script>\"'><img src=x> $\\frac{$ =1+1 \u202e"


def found_by(client: Any, starts: list[str]) -> dict[str, list[str]]:
    """What a person reaches; each page answers, is open to them, and is closed where it must be."""

    def read(address: str) -> str | None:
        response = client.get(address, follow=True)
        assert response.status_code == 200, (address, response.status_code)
        if not response["Content-Type"].startswith("text/html"):
            b"".join(response) if response.streaming else response.content
            return None
        page = Page(response)
        assert page.faults == [], address
        assert "<script>alert" not in page.html, address
        assert "<img src=x>" not in page.html, address
        return page.html

    return walk(read, starts, each=3)


@pytest.fixture
def clock(monkeypatch):
    stop_clock(monkeypatch)
    monkeypatch.setattr("reports.pdf.render", lambda register, paper: b"%PDF-")


@pytest.fixture
def bare(db) -> Site:
    return factories.make_site("thornmere", schedule=False)


@pytest.mark.parametrize("role", Role)
def test_a_site_on_which_there_is_nothing_yet_opens_every_page_it_offers(clock, bare, role):
    reached = found_by(browser(staff(bare, role)), ["/thornmere/"])
    assert {"due", "sources", "things", "registers", "register-file"} <= reached.keys()


@pytest.mark.parametrize("role", Role)
def test_nobody_is_offered_a_page_that_is_closed_to_them(clock, db, role):
    world = ledger_world.build()
    loading.load_file(world.site, loading.line("L-2"))
    loading.waiting_file(world.site, loading.line("L-3"))
    before = Record.objects.count()
    reached = found_by(browser(staff(world.site, role)), ["/thornmere/"])
    assert {"item", "record", "followups", "document"} <= reached.keys()
    assert Record.objects.count() == before


def test_no_text_becomes_markup_anywhere(clock, db):
    site = factories.make_site("thornmere")
    store = factories.make_location(site, HOSTILE[:60])
    gauge = factories.make_gauge(site, HOSTILE[:60], at=store)
    source = factories.make_source(site, to=gauge, serial=HOSTILE[:60], maker=HOSTILE[:60])
    counter = factories.make_monitor(site, tag=HOSTILE[:60])
    factories.record_wipe(
        source, counter, date(2025, 12, 1), remark=HOSTILE, gross=ledger_world.LOUD
    )
    factories.make_laboratory(site, name=HOSTILE[:60])
    loading.waiting_file(site, loading.line(HOSTILE[:40].replace(",", "")), name="<img src=x>.csv")
    rps = factories.rps_of(site)
    rps.first_name = HOSTILE[:60]
    rps.save()
    starts = ["/thornmere/"]
    starts += [f"/thornmere/items/{code}/" for code in Item.objects.values_list("code", flat=True)]
    starts += [f"/thornmere/records/{seq}/" for seq in Record.objects.filter(site=site)
               .values_list("seq", flat=True)]  # fmt: skip
    reached = found_by(browser(rps), starts)
    assert {"item", "record", "load-file"} <= reached.keys()


def test_who_has_not_logged_in_sees_no_site_in_the_head(client):
    said = client.get("/login/").content.decode()
    assert 'class="site-name"' not in said and "<nav" not in said
