"""A source is received with the certificate of the maker's leak test: all of it or nothing."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

import pytest
from django.urls import reverse

from config.accounts.models import Role
from inventory import derive, knowledge
from inventory.calc.errors import DomainError
from inventory.calc.open_points import open_points
from inventory.custody.actions import Movement
from inventory.items.actions import SourceText
from inventory.ledger.models import Item, Record
from inventory.ledger.write import read_body
from surveys.leak.actions import record_leak_test
from surveys.leak.wipe import DeclaredBy, Wipe
from surveys.receipt.actions import MakersTest, receive, receive_new
from tests.factories import make_location, make_source, rps_of, tick
from tests.inventory.asking import due_on, last_good, refuses, rows_of_every_table, state
from tests.pages import TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
CAME, TESTED = date(2025, 11, 20), date(2025, 10, 6)
SEEN = "Original certificate seen, seal unbroken."


@pytest.fixture(scope="module")
def store(site):
    return make_location(site, "Store")


def a_test(**fields: Any) -> MakersTest:
    values: dict[str, Any] = {"declared_by": "Invented Sources", "document": "LT 4711"}
    return MakersTest(
        **({"on": TESTED, "accepted": True, "accept_because": SEEN} | values | fields)
    )


def arrive(site: Any, store: Item, test: MakersTest | None, **fields: Any) -> Item:
    act = {"by": rps_of(site), "at": tick(), "on": CAME, "to": store} | fields
    snapshot = SourceText(nuclide="Cs-137", serial="N-1").snapshot()
    record = receive_new(site, snapshot, kind="source", test=test, **act)
    return Item.objects.get(mentions__record=record)


def test_an_accepted_test_of_the_maker_starts_the_interval(site, store):
    source = arrive(site, store, a_test())
    kinds = source.mentions.order_by("record__seq").values_list("kind", flat=True)
    assert list(kinds) == ["described", "received", "leak_test"]
    wipe = source.mentions.get(kind="leak_test").record
    assert (wipe.effective_on, wipe.accepted_by, wipe.performed_by) == (
        *(TESTED, rps_of(site), "Invented Sources"),
    )
    detail = read_body(wipe)["detail"]
    assert (detail["document"], detail["accept_because"]) == ("LT 4711", SEEN)
    assert (last_good(source), due_on(source)) == (wipe.pk, date(2027, 10, 6))
    assert list(derive.rebuild(write=False)) == []


def test_until_it_is_accepted_it_satisfies_nothing(site, store):
    source = arrive(site, store, a_test(accepted=False))
    assert state(source) == "never_done"


def test_a_failed_test_accuses(site, store):
    assert state(arrive(site, store, a_test(passed=False))) == "failed"


def test_without_a_test_it_is_only_received(site, store):
    source = arrive(site, store, None)
    assert not source.mentions.filter(kind="leak_test").exists()


def test_a_test_older_than_the_arrival_it_came_with_is_no_open_point(site, store):
    source = arrive(site, store, a_test())

    def said() -> list[str]:
        known = knowledge.load([source.pk])[source.pk]
        points = open_points(known.snapshot_on(TODAY), known.events, TODAY, nuclide_known=True)
        return [point.code for point in points]

    assert "open_wiped_before_arrival" not in said()
    wipe = source.mentions.get(kind="leak_test").record
    right = Wipe([source], date(2025, 10, 7), DeclaredBy(True, "Invented Sources"), from_list=True)
    act: dict[str, Any] = {"by": rps_of(site), "at": tick(), "wipe": right}
    record_leak_test(site=site, replaces=wipe, because="Misread.", **act)
    assert "open_wiped_before_arrival" not in said()  # nor is what stands in its place
    older = Wipe([source], date(2025, 10, 8), DeclaredBy(True, "a seller"), from_list=True)
    record_leak_test(site=site, by=rps_of(site), at=tick(), wipe=older)
    assert "open_wiped_before_arrival" in said()  # any other is


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"accept_because": " "}, "declared_needs_reason"),
        ({"on": date(2030, 1, 1)}, "wiped_in_future"),
    ],
)
def test_what_is_wrong_with_the_test_leaves_nothing_behind(site, store, fields, code):
    with refuses(code):
        arrive(site, store, a_test(**fields))


def test_what_is_wrong_with_the_arrival_leaves_no_test_behind(site, store):
    source = make_source(site, to=store)
    again = Movement("received", source, store, CAME)
    with refuses("received_twice"):
        receive(again, a_test(), by=rps_of(site), at=tick())


def test_only_the_supervisor_accepts_it(site, store):
    technician = staff(site, Role.TECHNICIAN)
    with pytest.raises(DomainError, match="only_rps_accepts"):
        arrive(site, store, a_test(), by=technician)


def test_the_same_request_is_answered_with_what_it_wrote(site, store):
    key = uuid.uuid4()
    source = arrive(site, store, a_test(), request_key=key)
    before = Record.objects.count()
    assert arrive(site, store, a_test(), request_key=key) == source
    assert Record.objects.count() == before


# --- on pages ---------------------------------------------------------------------------------

NEW = reverse("item-new", args=["thornmere", "source"])


@pytest.fixture
def clock(monkeypatch):
    stop_clock(monkeypatch)


def entry(store: Item, **fields: Any) -> dict[str, Any]:
    key = {"request_key": str(uuid.uuid4()), "seen": "9999"}
    source = {"nuclide": "Cs-137", "serial": "N-7", "activity_text": "370 MBq"}
    source |= {"reference_text": "2025-10-01", "to": store.code, "on": "2025-11-20"}
    test = {"tested_on": "2025-10-06", "tested_by": "Invented Sources", "tested": "passed"}
    return key | source | test | {"accept": "on", "accept_because": SEEN} | fields


def refusal(client: Any, where: str, sent: dict[str, Any]) -> str:
    before = rows_of_every_table()
    response = client.post(where, sent)
    assert (response.status_code, rows_of_every_table()) == (200, before)
    return Page(response).text


def test_a_new_source_is_recorded_with_its_certificate(clock, site, store):
    client = browser(rps_of(site))
    page = Page(client.get(NEW))
    assert page.faults == []
    assert "The maker’s leak test" in page.text
    sent = entry(store, keeping="packed", document="DN 5", supplier="Invented Sources")
    assert client.post(NEW, sent).status_code == 302
    source = Item.objects.get(key__endswith="7", kind="source")
    came = source.mentions.get(kind="received").record.movement
    assert (came.keeping, came.document, came.supplier) == ("packed", "DN 5", "Invented Sources")
    assert state(source) == "good"


def test_a_visitor_says_whose_it_is_and_until_when(clock, site, store):
    client = browser(rps_of(site))
    sent = entry(store, tested_on="", tested_by="", accept="", accept_because="")
    assert "Say whose it is" in refusal(client, NEW, sent | {"expected_on": "2026-05-01"})
    sent |= {"expected_on": "2026-05-01", "owner": "Invented Radiography"}
    assert client.post(NEW, sent).status_code == 302
    came = Record.objects.get(kind="received", about__item__kind="source").movement
    assert (came.owner, came.expected_on) == ("Invented Radiography", date(2026, 5, 1))


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"tested_on": ""}, "Day of the leak test: Say on which day the source was tested"),
        ({"tested_by": ""}, "Tested by: Say who tested it"),
        ({"accept_because": ""}, "Why it can be accepted: A result that only says"),
        ({"tested_on": "2026-03-09"}, "Day of the leak test: The wipe of 9 Mar 2026 lies in the"),
    ],
)
def test_it_says_beside_the_field_what_is_wrong(clock, site, store, fields, said):
    assert said in refusal(browser(rps_of(site)), NEW, entry(store, **fields))


def test_a_technician_enters_the_certificate_and_the_supervisor_accepts_it(clock, site, store):
    source = make_source(site, received=False)
    client = browser(staff(site, Role.TECHNICIAN))
    where = reverse("movement-new", args=["thornmere", source.code])
    page = Page(client.get(where))
    names = [one.get("name") for one in page.all("input")]
    assert "tested_on" in names
    assert "accept" not in names
    sent = {**entry(store), "verb": "received"}
    assert client.post(where, sent).status_code == 302
    assert state(source) == "never_done"
    wipe = source.mentions.get(kind="leak_test").record
    accepting = {"request_key": str(uuid.uuid4()), "seen": "9999", "reason": SEEN}
    browser(rps_of(site)).post(reverse("record-accept", args=["thornmere", wipe.seq]), accepting)
    assert state(source, TODAY) == "good"  # from the day of the acceptance on
