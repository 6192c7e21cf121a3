"""What is not at its place: the page of movements, pages of places and things on any day, out to a
job and back in two taps."""

from __future__ import annotations

import json
import re
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.urls import reverse

from config.accounts.models import Role
from inventory.calc.asof import AsOf
from inventory.custody.actions import Movement, move
from inventory.items.actions import change, snapshot_of
from inventory.ledger.models import Record
from inventory.timeline import Stay
from reports.registers.kinds import KINDS, build
from tests.factories import make_gauge, make_location, make_source, rps_of, tick
from tests.inventory.asking import place
from tests.pages import NOW, TODAY, Page, browser, staff, stop_clock

pytestmark = pytest.mark.django_db
WENT, CAME = date(2025, 12, 1), date(2025, 12, 8)
PAGE = "/thornmere/movements/"


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    stop_clock(monkeypatch)


@pytest.fixture(scope="module")
def locker(site):
    return make_location(site, "Locker")


@pytest.fixture
def client(site):
    return browser(staff(site, Role.TECHNICIAN, "technician"))


def do(item: Any, verb: str, on: date = WENT, to: Any = None, **fields: Any) -> Record:
    return move(Movement(verb, item, to, on, **fields), by=rps_of(item.site), at=tick())


def portable(site: Any, tag: str, at: Any) -> Any:
    """A gauge that is carried about."""
    gauge = make_gauge(site, tag, at=at)
    snapshot = snapshot_of(gauge.mentions.get(kind="described").record) | {"portable": True}
    act = {"by": rps_of(site), "at": tick(), "on": date(2021, 4, 1), "reason": "It has a handle."}
    change(gauge, snapshot, **act)
    return gauge


def text(client: Any, where: str, **asked: str) -> str:
    response = client.get(where, asked)
    assert response.status_code == 200
    page = Page(response)
    assert page.faults == []
    return page.text


def item_url(item: Any) -> str:
    return reverse("item", args=["thornmere", item.code])


def test_nothing_away_says_so(site, client, locker):
    make_gauge(site, "G-1", at=locker)
    assert "Everything is at its place, and nothing visits." in text(client, PAGE)


def test_it_lists_what_is_not_at_its_place_and_what_is_late(site, client, locker):
    out, sent, away, lost = (make_gauge(site, f"G-{n}", at=locker) for n in range(1, 5))
    inside = make_source(site, to=out, serial="IN-1")
    do(out, "out", away_to="River bridge", expected_on=date(2026, 2, 28))
    do(sent, "sent_away", away_to="The maker", expected_on=date(2026, 5, 1))
    do(away, "sent_away", away_to="A laboratory")
    do(away, "arrived", CAME)
    do(lost, "missing", remark="Not in the locker.")
    visitor = make_source(site, received=False, serial="VIS-1")
    do(visitor, "received", WENT, locker, owner="Invented Radiography", expected_on=TODAY)
    said = text(client, PAGE)
    assert (
        "1 missing, 1 out at a job, 1 on the way, 1 away, 1 visiting, "
        "1 past the day on which it was expected"
    ) in said
    late = "1 thing is past the day on which it was expected. See the movements"
    assert late in text(client, "/thornmere/")
    assert late not in text(client, "/thornmere/", on="2026-02-28")
    parts = ("Missing", "Out at a job", "Sent away, arrival not confirmed", "Away", "Visiting")
    places = [said.index(f" {part} ") for part in parts]
    assert places == sorted(places)
    for line in (
        f"G-1 gauge Out at River bridge since 1 Dec 2025, with {inside.label} Expected back on "
        "28 Feb 2026: 2 days late",
        "G-2 gauge Sent to The maker on 1 Dec 2025, arrival not confirmed Expected back on 1 May "
        "2026",
        "G-3 gauge Away at A laboratory since 8 Dec 2025",
        "G-4 gauge Missing since 1 Dec 2025",
        "Missing : Not in the locker.",
        f"{visitor.label} source Locker Belongs to Invented Radiography To leave on 2 Mar 2026",
    ):
        assert line in said
    page = text(client, item_url(visitor))
    assert "Belongs to Invented Radiography; visits until 2 Mar 2026" in page
    assert "Locker, visiting" in text(client, "/thornmere/registers/source/")
    assert said.count(inside.label) == 1 + said.split("Newest movements")[1].count(inside.label)


def test_what_is_past_its_day_stands_in_the_register_and_in_due(site, client, locker):
    gauge, sent = (make_gauge(site, f"G-{n}", at=locker) for n in (1, 2))
    make_source(site, to=gauge, serial="IN-1")
    do(gauge, "out", away_to="River bridge", expected_on=date(2026, 2, 28))
    do(sent, "sent_away", away_to="The maker", expected_on=TODAY)  # not yet late
    visitor = make_source(site, received=False, serial="VIS-1")
    do(visitor, "received", WENT, locker, owner="A visitor", expected_on=date(2026, 3, 1))
    late = [row for row in due_rows_of(site, TODAY) if row["requirement"] == "movement"]
    assert [(row["code"], row["due_date"], row["state"], row["sentence"]) for row in late] == [
        (gauge.code, "2026-02-28", "late", "expected back on 28 Feb 2026, 2 days late"),
        (visitor.code, "2026-03-01", "late", "was to leave on 1 Mar 2026, 1 day late"),
    ]
    assert not [row for row in due_rows_of(site, date(2026, 2, 28)) if row["code"] == gauge.code]
    register = build(KINDS["due"], site, AsOf(TODAY), by=rps_of(site), made_at=NOW)
    rows = {(row.code, row.what): row for row in register.rows}
    assert rows[gauge.code, "return"].sentence == "expected back on 28 Feb 2026, 2 days late"
    assert rows[gauge.code, "return"].where == "out at River bridge since 1 Dec 2025"
    assert rows[visitor.code, "departure"].due_on == date(2026, 3, 1)
    assert (sent.code, "return") not in rows
    assert "2 things are past the day on which they were expected." in register.totals


def due_rows_of(site: Any, on: date) -> list[dict[str, Any]]:
    out = StringIO()
    call_command("due", "--site", site.slug, "--on", on.isoformat(), "--json", stdout=out)
    rows: list[dict[str, Any]] = json.loads(out.getvalue())
    return rows


def test_it_lists_it_as_of_any_day(site, client, locker):
    gauge = make_gauge(site, "G-1", at=locker)
    do(gauge, "out", away_to="River bridge")
    do(gauge, "back", CAME)
    assert "Everything is at its place" in text(client, PAGE)
    then = text(client, PAGE, on="2025-12-05")
    assert "Out at River bridge since 1 Dec 2025" in then
    assert "As of 5 Dec 2025." in then
    assert "Back from a job" not in then  # that came later
    assert (
        "<button"
        not in Page(client.get(PAGE, {"on": "2025-12-05"}))
        .html.split("<main")[1]
        .split("Newest")[0]
    )


def test_the_newest_movements_stand_below_with_what_was_corrected(site, client, locker):
    gauge = make_gauge(site, "G-1", at=locker)
    do(gauge, "out", away_to="River bridge", expected_on=date(2026, 2, 28))
    assert "1 Dec 2025 G-1 Out to a job : River bridge. Expected back on 28 Feb 2026." in text(
        client, PAGE
    )


def test_out_to_a_job_and_back_in_two_taps(site, client, locker):
    gauge = portable(site, "P-1", locker)
    source = make_source(site, to=gauge)
    do(gauge, "out", away_to="River bridge")
    do(gauge, "back", CAME)
    first = Page(client.get(item_url(gauge)))
    (out,) = [link for link in first.links() if link.endswith("?verb=out")]
    second = Page(client.get(out))
    assert post(client, second, out.split("?")[0]).status_code == 302
    assert place(source, TODAY) == ("P-1", "")
    stay = Stay.objects.on(TODAY).get(item=source)
    assert (stay.whereabouts, stay.away_to) == ("out", "River bridge")

    first = Page(client.get(item_url(gauge)))
    assert "Out at River bridge since 2 Mar 2026" in Page(client.get(PAGE)).text
    (back,) = [link for link in first.links() if link.endswith("?verb=back")]
    assert post(client, Page(client.get(back)), back.split("?")[0]).status_code == 302
    assert place(source, TODAY) == ("P-1", "Locker")


def test_back_with_one_tap_from_the_list(site, client, locker):
    gauges = [portable(site, f"P-{n}", locker) for n in (1, 2)]
    for gauge in gauges:
        do(gauge, "out", away_to="River bridge")
    page = Page(client.get(PAGE))
    for gauge in gauges:  # each button is a form of its own
        where = reverse("movement-new", args=["thornmere", gauge.code])
        answer = post(client, page, where)
        assert (answer.status_code, answer["Location"]) == (302, PAGE)
    assert [place(gauge, TODAY) for gauge in gauges] == [("", "Locker")] * 2


def post(client: Any, page: Page, where: str) -> Any:
    """Send the form of this address as it stands."""
    forms = re.findall(r"<form[^>]*>.*?</form>", page.html, re.S)
    (form,) = [one for one in forms if f'action="{where}"' in one] or [
        one for one in forms if 'class="large"' in one
    ]
    sent = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)
        if name:
            sent[name[1]] = value[1] if value else ""
    for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form, re.S):
        chosen = re.search(r'value="([^"]*)" selected', options)
        sent[name] = chosen[1] if chosen else ""
    return client.post(where, sent)


def test_only_what_is_portable_has_the_button(site, client, locker):
    fixed, carried = make_gauge(site, "G-1", at=locker), portable(site, "P-1", locker)
    assert "Out to a job" not in text(client, item_url(fixed))
    assert "Out to a job" in text(client, item_url(carried))
    do(fixed, "out", away_to="A job")
    assert "Back from the job" in text(client, item_url(fixed))


def test_who_only_reads_is_offered_nothing(site, locker):
    gauge = portable(site, "P-1", locker)
    do(gauge, "out", away_to="A job")
    reader = browser(staff(site, Role.INSPECTOR))
    for where in (PAGE, item_url(gauge)):
        assert f"/items/{gauge.code}/move/" not in Page(reader.get(where)).html


# --- places and things on any day -----------------------------------------------------------------


def test_a_place_says_what_was_there_and_what_is_elsewhere(site, client, locker):
    gauge = make_gauge(site, "G-1", at=locker)
    stored = make_source(site, to=locker, serial="ST-1")
    do(stored, "stored", to=locker)
    do(gauge, "out", CAME, away_to="River bridge")
    where = item_url(locker)
    now = text(client, where)
    assert f"{stored.label} , in storage" in now
    assert "Was here, is elsewhere on that day G-1 : out at River bridge since 8 Dec 2025" in now
    before = text(client, where, on="2025-11-30")
    assert "in storage" not in before
    assert "Gauges here G-1" in before
    assert "elsewhere" not in before


@pytest.mark.parametrize(
    ("verb", "fields", "said"),
    [
        ("out", {"away_to": "River bridge"}, "G-1, out at River bridge since 1 Dec 2025"),
        ("sent_away", {"away_to": "Maker"}, "G-1, sent to Maker on 1 Dec 2025, arrival not confir"),
        ("missing", {}, "G-1, missing since 1 Dec 2025"),
        ("stored", {"to": "locker"}, "G-1, Locker, in storage"),
        ("transferred", {"away_to": "Buyer", "authorisation": "Permit 7"}, "not on site"),
    ],
)
def test_a_source_says_where_its_gauge_took_it(site, client, locker, verb, fields, said):
    gauge = make_gauge(site, "G-1", at=locker)
    source = make_source(site, to=gauge, serial="IN-1")
    fields = {name: locker if value == "locker" else value for name, value in fields.items()}
    do(gauge, verb, **fields)
    assert f"Where {said}" in text(client, item_url(source))
    assert "Where G-1, Locker" in text(client, item_url(source), on="2025-11-30")
    listed = text(client, "/thornmere/sources/")
    register = text(client, "/thornmere/registers/source/")
    if verb != "transferred":
        assert said in listed
        assert said in register
    else:
        assert source.label not in register


def test_its_history_says_where_it_was(site, client, locker):
    source = make_source(site, to=locker, serial="H-1")
    do(source, "sent_away", away_to="Maker")
    do(source, "arrived", CAME)
    said = text(client, item_url(source)).split("Where it was")[1]
    assert "8 Dec 2025 still there away at Maker since 8 Dec 2025" in said
    assert "1 Dec 2025 7 Dec 2025 sent to Maker on 1 Dec 2025, arrival not confirmed" in said
