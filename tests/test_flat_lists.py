"""No page asks the database more often when there is more to show."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from config import permissions
from config.accounts.models import Role
from reports.registers.kinds import KINDS
from tests import factories
from tests.pages import browser, staff, stop_clock

FEW, MANY = 3, 60
FIRST = date(2021, 4, 1)
#: Pages that show no list of the site.
WITHOUT_A_LIST = {"document", "document-new", "document-attach", "healthz", "login", "logout"}


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)
    # Drawing asks nothing: the register is complete before it begins.
    monkeypatch.setattr("reports.pdf.render", lambda register, paper: str(register.rows).encode())


class Site:
    """A site whose sources sit in gauges, every third one late, every third one leaking."""

    def __init__(self, site: Any, counter: Any) -> None:
        self.site, self.counter, self.sources = site, counter, []
        self.rps = factories.rps_of(site)
        self.technician = staff(site, Role.TECHNICIAN)
        self.place = factories.make_location(site, "Tank house")
        factories.calibrate(counter, FIRST)

    def grow(self, size: int) -> None:
        while len(self.sources) < size:
            self._one_more(len(self.sources))

    def _one_more(self, number: int) -> None:
        gauge = factories.make_gauge(self.site, at=self.place, on=FIRST)
        serial = "" if number % 3 == 2 else f"F-{number}"
        source = factories.make_source(self.site, to=gauge, on=FIRST, serial=serial)
        self.sources.append(source)
        if number % 3 == 1:
            factories.record_wipe(source, self.counter, FIRST + timedelta(200))
        if number % 3 == 2:
            self.leak(source, FIRST + timedelta(300))

    def leak(self, source: Any, on: date) -> None:
        factories.record_wipe(source, self.counter, on, gross=[(90_000, 600.0)])

    def happen(self, times: int) -> None:
        """Records of every sort about the first source."""
        first, gauges = self.sources[0], [factories.make_gauge(self.site) for _ in range(2)]
        for number in range(times):
            on = date(2025, 9, 2) + timedelta(number)
            if number % 3 == 0:
                factories.install(first, gauges[number % 2], on)
            elif number % 3 == 1:
                factories.record_wipe(
                    first, self.counter, on, by=self.technician, act={"accepted": False}
                )
            else:
                self.leak(first, on)


@pytest.fixture
def growing(site, counter):
    growing = Site(site, counter)
    growing.grow(FEW)
    return growing


def queries(site: Site, addresses: Mapping[str, str]) -> dict[str, int]:
    """How often each address asks the database."""
    client, counts = browser(site.rps), {}
    client.get("/")  # what is asked once per session or process
    for name, address in addresses.items():
        with CaptureQueriesContext(connection) as asked:
            assert client.get(address).status_code == 200
        counts[name] = len(asked)
    return counts


LISTS = (
    "due",
    "sources",
    "sources?q=cs",
    "registers",
    *(f"register {kind}" for kind in KINDS),
    *(f"register {kind}?on=2026-01-20&known=2026-02-20" for kind in KINDS),
    *(f"register-file source {ending}" for ending in ("csv", "pdf", "xlsx")),
    "wipe-new",
    "session-new",
    "counters",
    "things",
    "things?q=g&kind=gauge",
    "nuclides",
    "nuclide Cs-137",
    "monitor-new",
)
#: Forms about one thing, with the choice of places.
FORMS = ("movement-new", "item-describe", "calibration-new", "item-new")


def addresses(names: Iterable[str]) -> dict[str, str]:
    out = {}
    for name in names:
        page, *query = name.split("?")
        page, *args = page.split()
        out[name] = "?".join([reverse(page, args=["thornmere", *args]), *query])
    return out


@pytest.mark.django_db
def test_lists_ask_as_often_for_many_sources_as_for_few(growing):
    leaking = growing.sources[2]
    args = ["thornmere", leaking.code, leaking.mentions.get(kind="leak_test").record.seq]
    pages = addresses(LISTS) | {"followup-close": reverse("followup-close", args=args)}
    pages |= {"place": reverse("item", args=["thornmere", growing.place.code])}
    of = (leaking.code, growing.place.code, growing.counter.code, "source")
    pages |= {
        name: reverse(name, args=["thornmere", one]) for name, one in zip(FORMS, of, strict=True)
    }
    few = queries(growing, pages)
    growing.grow(MANY)
    assert queries(growing, pages) == few


@pytest.mark.django_db
def test_the_page_of_an_item_asks_as_often_for_a_long_history_as_for_a_short_one(growing):
    growing.happen(FEW)
    args = ["thornmere", growing.sources[0].code]
    page = {"item": reverse("item", args=args), "chart": reverse("chart", args=[*args, "leak"])}
    few = queries(growing, page)
    growing.happen(MANY - FEW)
    assert queries(growing, page) == few


@pytest.mark.django_db
def test_a_record_asks_as_often_for_many_sources_as_for_few(growing):
    growing.grow(MANY)
    few, many = (wiped(growing, size) for size in (FEW, MANY))
    assert queries(growing, few) == queries(growing, many)
    assert previewed(growing, FEW) == previewed(growing, MANY)


def wiped(site: Site, size: int) -> dict[str, str]:
    record = factories.record_wipe(
        *(site.sources[:size], site.counter, date(2025, 11, 1)),
        **{"by": site.technician, "act": {"accepted": False}},
    )
    names = ("record", "record-correct", "record-accept")
    return {name: reverse(name, args=["thornmere", record.seq]) for name in names}


def previewed(site: Site, size: int) -> int:
    """How often working out one wipe over so many sources asks."""
    sent = {
        **{"do": "preview", "seen": "9999", "request_key": str(uuid.uuid4())},
        **{"wiped_on": "2026-02-20", "why": "routine", "sampled_by": "B. Sampler"},
        **{"way": "counts", "counter": site.counter.code},
        **{"gross_counts": "431", "gross_seconds": "600"},
        **{"background_counts": "389", "background_seconds": "600"},
        "sources": [one.code for one in site.sources[:size]],
    }
    with CaptureQueriesContext(connection) as asked:
        response = browser(site.rps).post(reverse("wipe-new", args=["thornmere"]), sent)
    assert response.context["preview"]
    return len(asked)


@pytest.mark.django_db
def test_a_session_asks_as_often_for_many_wipes_as_for_few(growing):
    growing.grow(MANY)
    few, many = (counted(growing, size) for size in (FEW, MANY))
    assert queries(growing, few) == queries(growing, many)
    assert worked_out(growing, FEW) == worked_out(growing, MANY)


def counted(site: Site, size: int) -> dict[str, str]:
    session = factories.count_session(
        site.counter,
        site.sources[:size],
        date(2025, 11, 2),
        by=site.technician,
        act={"accepted": False},
    )
    names = ("session", "session-accept")
    return {name: reverse(name, args=["thornmere", session.seq]) for name in names}


def worked_out(site: Site, size: int) -> list[int]:
    """How often the page asks when it works out so many rows, and when the head changes."""
    sent = {
        **{"rows": "60", "counter": site.counter.code, "seconds": "600"},
        **{"counted_on": "2026-02-20", "counted_by": "A. Counter"},
        **{"background_counts": "389", "background_seconds": "600"},
        **{"wiped_on": "2026-02-20", "sampled_by": "B. Sampler"},
        **{"seen": "9999", "request_key": str(uuid.uuid4())},
    }
    for number, source in enumerate(site.sources[:size], 1):
        sent |= {f"wipes-{number}-what": source.code, f"wipes-{number}-gross": "431"}
    counts = []
    for do in ({"do": "preview"}, {"do": "head"}, {"do": "row", "row": "2"}):
        with CaptureQueriesContext(connection) as asked:
            response = browser(site.rps).post(reverse("session-new", args=["thornmere"]), sent | do)
        assert response.content.decode().count('class="verdict"') == (1 if "row" in do else size)
        counts.append(len(asked))
    return counts


@pytest.mark.django_db
def test_home_asks_as_often_for_many_sites_as_for_few(growing):
    def open_sites(count: int) -> None:
        for _ in range(count):
            factories.give_role(growing.rps, factories.make_site(), Role.RPS)

    open_sites(FEW)
    few = queries(growing, {"home": "/"})
    open_sites(9)
    assert queries(growing, {"home": "/"}) == few


def test_every_page_is_counted_here():
    here = {name.split("?")[0].split()[0] for name in LISTS} | {
        *("item", "home", "followup-close", "chart"),
    }
    records = {"session", "session-accept", "record", "record-correct", "record-accept"}
    assert here | records | set(FORMS) | WITHOUT_A_LIST == set(permissions.TABLE)
