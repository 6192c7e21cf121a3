"""No page asks the database more often when there is more to show."""

from __future__ import annotations

import copy
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
from inventory.custody.actions import Movement, move
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done
from inventory.requirements.booking import Appointment, Line, book, not_done
from inventory.shutdowns.actions import Plan, plan
from inventory.timeline import Stay
from reports.registers.kinds import KINDS
from surveys.awaited.waiting import waiting
from tests import factories, loading
from tests.inventory.schedule import world as schedules
from tests.inventory.schedule.test_settings import put
from tests.pages import browser, staff, stop_clock

FEW, MANY = 3, 12
FIRST = date(2021, 4, 1)
BOOKED = date(2026, 6, 12)
#: Pages that show no list of the site.
WITHOUT_A_LIST = {"document", "document-new", "document-attach", "healthz", "login", "logout"}
WITHOUT_A_LIST |= {"change-confirm"}


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
        self.plan(source, number)

    def plan(self, source: Any, number: int) -> None:
        """Every second line booked, two of three not done; steps for what leaks."""
        by, line = self.rps, Line(source, "leak_test")
        if number % 2:
            book([line], Appointment(BOOKED, f"Firm {number}"), by=by, at=factories.tick())
        if number % 3 < 2:
            act = {"by": by, "at": factories.tick(), "on": FIRST + timedelta(400)}
            not_done(line, because="furnace running", **act)
        for follow_up in FollowUp.objects.filter(item=source).select_related("item__site"):
            tasks = [Task("Isolate."), Task("Tell the persons named in the local rules.")]
            add_steps(follow_up, tasks, Act(by, factories.tick()))
            step = FollowUpStep.objects.of(follow_up)[0]
            mark_done(step, Act(by, factories.tick()), on=FIRST + timedelta(301))

    def shutdowns(self, count: int) -> Any:
        """So many planned shutdowns of the place, which overlap."""
        for number in range(count):
            what = Plan(f"Stop {number}", self.place, BOOKED, BOOKED + timedelta(number))
            record = plan(self.site, what, by=self.rps, at=factories.tick())
        return record

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


@pytest.fixture(scope="module")
def small(site, counter):
    small = Site(site, counter)
    small.grow(FEW)
    return small


@pytest.fixture
def growing(small):
    return copy.deepcopy(small)


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
    "due?state=late&state=never_done&booked=-&q=f-&group=round&ahead=90",
    "due?booked=%2B&group=kind",
    "ahead",
    "ahead?kind=leak_test&months=12&on=2026-01-20",
    "ahead-file csv",
    "shutdown-new",
    "followups",
    "sources",
    "sources?q=cs",
    "registers",
    *(f"register {kind}" for kind in KINDS),
    *(f"register {kind}?on=2026-01-20&known=2026-02-20" for kind in KINDS),
    *(f"register-file source {ending}" for ending in ("csv", "pdf", "xlsx")),
    "wipe-new",
    "session-new",
    "counters",
    "wipes-send",
    "wipes-send?due=1",
    "laboratory-new",
    "things",
    "things?q=g&kind=gauge",
    "movements",
    "movements?on=2026-01-20",
    "check-new accounting_check",
    "check-new shutter_check",
    "nuclides",
    "nuclide Cs-137",
    "monitor-new",
    "load-new",
)
#: Forms about a planned shutdown.
SHUTDOWNS = ("shutdown-change", "shutdown-take-back")
#: Forms about one thing, with the choice of places.
FORMS = ("movement-new", "item-describe", "calibration-new", "item-new", "happening-new")


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
    steps = FollowUpStep.objects.filter(item=leaking)
    done, still = steps.order_by("done_on").values_list("added_by__seq", flat=True)
    pages |= {
        name: reverse(name, args=[*args, *step])
        for name, step in {
            **{"followup": [], "followup-steps": [], "followup-step-new": []},
            **{"followup-step-done": [still], "followup-step-withdraw": [still]},
            **{"followup-step-reopen": [done]},
        }.items()
    }
    pages |= {"not-done": reverse("not-done", args=[*args[:2], "leak_test"])}
    pages |= {"place": reverse("item", args=["thornmere", growing.place.code])}
    of = (leaking.code, growing.place.code, growing.counter.code, "source", leaking.code)
    pages |= {
        name: reverse(name, args=["thornmere", one]) for name, one in zip(FORMS, of, strict=True)
    }
    pages |= {"installed": f"{pages['movement-new']}?verb=installed"}
    few = queries(growing, pages)
    growing.grow(MANY)
    assert queries(growing, pages) == few


@pytest.mark.django_db
def test_what_is_not_at_its_place_asks_as_often_for_much_as_for_little(growing):
    pages = addresses(["movements"]) | {
        "place": reverse("item", args=["thornmere", growing.place.code])
    }
    go_away(growing, range(FEW))
    few = queries(growing, pages)
    growing.grow(MANY)
    go_away(growing, range(FEW, MANY))
    assert queries(growing, pages) == few


def go_away(site: Site, numbers: Iterable[int]) -> None:
    """Gauges go out, away and missing with what is inside; visitors come."""
    for number in numbers:
        gauge = Stay.objects.live().get(item=site.sources[number]).gauge
        verb = ("out", "sent_away", "missing")[number % 3]
        whom = "" if verb == "missing" else f"Firm {number}"
        visitor = factories.make_source(site.site, received=False, on=FIRST)
        for movement in (
            Movement(verb, gauge, None, date(2025, 11, 1), away_to=whom, expected_on=BOOKED),
            Movement("received", visitor, site.place, date(2025, 12, 2), owner="Contractor"),
        ):
            move(movement, by=site.rps, at=factories.tick())


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
def test_wipes_that_are_away_ask_as_often_for_many_as_for_few(growing):
    laboratory = factories.make_laboratory(growing.site)
    pages = {name: reverse(name, args=["thornmere"]) for name in AWAY}
    for name in ("laboratory", "report-new"):
        pages[name] = reverse(name, args=["thornmere", laboratory.code])
    first = [sent_away(growing, laboratory, 0, FEW)[0]]
    pages["wipe-give-up"] = reverse("wipe-give-up", args=["thornmere", first[0]])
    few = queries(growing, pages), entered(growing, laboratory, FEW)
    growing.grow(MANY)
    sent_away(growing, laboratory, FEW, MANY)
    assert (queries(growing, pages), entered(growing, laboratory, MANY)) == few


AWAY = ("awaited", "laboratories")


def sent_away(site: Site, laboratory: Any, start: int, end: int) -> list[int]:
    """The numbers of wipes sent, one for each of these sources."""
    sent = [
        factories.send_wipe(source, laboratory, date(2025, 11, 3))
        for source in site.sources[start:end]
    ]
    return [record.seq for record in sent]


def entered(site: Site, laboratory: Any, size: int) -> int:
    """How often working out a report over so many wipes asks."""
    sent = {
        **{"do": "preview", "seen": "9999", "request_key": str(uuid.uuid4())},
        **{"reported_on": "2026-02-20", "results-TOTAL_FORMS": str(size)},
        **{"results-INITIAL_FORMS": str(size)},
    }
    for number, record in enumerate(waiting(site.site)[:size]):
        sent |= {f"results-{number}-wipe": record.seq, f"results-{number}-says": "not_detected"}
    with CaptureQueriesContext(connection) as asked:
        address = reverse("report-new", args=["thornmere", laboratory.code])
        response = browser(site.rps).post(address, sent)
    assert len(response.context["preview"]) == size
    return len(asked)


@pytest.mark.django_db
def test_home_asks_as_often_for_many_sites_as_for_few(growing):
    def open_sites(count: int) -> None:
        for _ in range(count):
            factories.give_role(growing.rps, factories.make_site(), Role.RPS)

    open_sites(FEW)
    few = queries(growing, {"home": "/"})
    open_sites(9)
    assert queries(growing, {"home": "/"}) == few


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["book", "unbook"])
def test_a_plan_asks_as_often_for_many_lines_as_for_few(growing, name):
    growing.grow(MANY)

    def pages(size: int) -> dict[str, str]:
        chosen = "&".join(f"line={one.code}:leak_test" for one in growing.sources[:size])
        return {name: f"{reverse(name, args=['thornmere'])}?{chosen}"}

    assert queries(growing, pages(FEW)) == queries(growing, pages(MANY))


@pytest.mark.django_db
def test_what_a_manager_sees_asks_as_often_for_many_sources_as_for_few(growing):
    page = {"due": reverse("due", args=["thornmere"])}
    growing.rps = staff(growing.site, Role.MANAGER)
    few = queries(growing, page)
    growing.rps = factories.rps_of(growing.site)
    growing.grow(MANY)
    growing.rps = staff(growing.site, Role.MANAGER)
    assert queries(growing, page) == few


#: Pages of the schedule, with a draft of the next one.
SCHEDULE = (
    *("schedule", "schedule-differences", "schedule-effects", "schedule-rule-sets"),
    *("schedule-draft", "schedule-adopt", "schedule-kind-new", "schedule-row-new"),
)
ROWS = ("schedule-row", "schedule-row-change", "schedule-row-remove")
SETTINGS = ("compare", "settings", "setting-new", "setting-end")


@pytest.mark.django_db
def test_the_schedule_asks_as_often_for_many_sources_as_for_few(growing):
    schedules.drafted(growing.site)
    source = growing.sources[0]
    record = put(source, 6, "adds")
    pages = addresses(SCHEDULE)
    pages |= {name: reverse(name, args=["thornmere", "leak.default"]) for name in ROWS}
    for name in SETTINGS:
        more = [record.seq] if name == "setting-end" else []
        pages[name] = reverse(name, args=["thornmere", source.code, *more])
    few = queries(growing, pages)
    growing.grow(MANY)
    for one in growing.sources[1:9]:
        put(one, 6, "adds")
    assert queries(growing, pages) == few


@pytest.mark.django_db
def test_what_lies_ahead_asks_as_often_for_many_shutdowns_as_for_few(growing):
    record = growing.shutdowns(FEW)
    pages = {"ahead": reverse("ahead", args=["thornmere"])}
    pages |= {name: reverse(name, args=["thornmere", record.seq]) for name in SHUTDOWNS}
    few = queries(growing, pages)
    growing.grow(MANY)
    growing.shutdowns(MANY)
    assert queries(growing, pages) == few


#: Pages of files that were brought.
LOADING = ("load-file", "load-done")


@pytest.mark.django_db
def test_a_file_asks_as_often_for_many_rows_as_for_few(growing):
    counts = []
    for size in (FEW, MANY):
        lines = loading.serials(range(size * 10, size * 11))
        loaded = loading.load_file(growing.site, *lines)
        waiting = loading.waiting_file(growing.site, *lines, loading.line("new"))
        args = (waiting.pk, loaded.seq)
        pages = {
            name: reverse(name, args=["thornmere", one])
            for name, one in zip(LOADING, args, strict=True)
        }
        counts.append(queries(growing, pages))
    assert counts[0] == counts[1]


def test_every_page_is_counted_here():
    here = {name.split("?")[0].split()[0] for name in LISTS} | {
        *("item", "home", "followup-close", "chart", "book", "unbook", "not-done"),
        *("followup", "followup-steps", "followup-step-new", "followup-step-done"),
        *("followup-step-withdraw", "followup-step-reopen"),
    }
    here |= {*LOADING, "load-template", *SHUTDOWNS}
    here |= {*SCHEDULE, *ROWS, *SETTINGS}
    here |= {*AWAY, "laboratory", "report-new", "wipe-give-up"}
    records = {"session", "session-accept", "record", "record-correct", "record-accept"}
    assert here | records | set(FORMS) | WITHOUT_A_LIST == set(permissions.TABLE)
