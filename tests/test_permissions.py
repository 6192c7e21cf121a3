"""Who may open which page: a table of its own, every address in it."""

from __future__ import annotations

import hashlib
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.urls import URLPattern, get_resolver, reverse

from config import permissions
from config.accounts.models import Role, SiteRole
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done
from inventory.ledger.models import Record
from inventory.requirements.booking import Appointment, Line, book
from inventory.schedule import actions
from inventory.schedule.showing import digest
from inventory.schedule.versions import draft_of
from tests import factories, loading
from tests.inventory import ledger_world
from tests.inventory.rules.invented import row_table
from tests.inventory.schedule import world as schedules
from tests.inventory.schedule.test_pages import ADOPTION, row_form, setting_form
from tests.inventory.schedule.test_settings import decayed_source, put
from tests.pages import TODAY, browser, staff, stop_clock

PEOPLE = (
    *("anonymous", "no role", "technician", "manager", "inspector", "rps"),
    *("rps of another site", "role ended yesterday"),
)
LOG_IN = "to log in"


def row(*statuses: Any) -> dict[str, Any]:
    return dict(zip(PEOPLE, statuses, strict=True))


READ = row(LOG_IN, 404, 200, 200, 200, 200, 404, 404)
ENTER = row(LOG_IN, 404, 200, 403, 403, 200, 404, 404)
DECIDE = row(LOG_IN, 404, 403, 403, 403, 200, 404, 404)
EVERYBODY = row(200, 200, 200, 200, 200, 200, 200, 200)
#: With one site, home goes there at once; somebody without one stays on it.
HOME = row(LOG_IN, 200, 302, 302, 302, 302, 302, 200)
#: Nobody logs out by following a link, and nobody who has logged in sees the form again.
GET = {
    "healthz": EVERYBODY,
    "login": row(200, 302, 302, 302, 302, 302, 302, 302),
    "logout": row(LOG_IN, 405, 405, 405, 405, 405, 405, 405),
    "home": HOME,
    "due": READ,
    "sources": READ,
    "things": READ,
    "movements": READ,
    "item": READ,
    "record": READ,
    "record-correct": ENTER,
    "record-accept": DECIDE,
    "wipe-new": ENTER,
    "session-new": ENTER,
    "session": READ,
    "session-accept": DECIDE,
    "counters": READ,
    "wipes-send": ENTER,
    "awaited": READ,
    "report-new": ENTER,
    "wipe-give-up": ENTER,
    "laboratories": READ,
    "laboratory": READ,
    "laboratory-new": DECIDE,
    "calibration-new": ENTER,
    "movement-new": ENTER,
    "check-new": ENTER,
    "happening-new": ENTER,
    "monitor-new": DECIDE,
    "item-new": DECIDE,
    "item-describe": DECIDE,
    "followups": READ,
    "followup": READ,
    "followup-close": DECIDE,
    "followup-steps": DECIDE,
    "followup-step-new": ENTER,
    "followup-step-done": ENTER,
    "followup-step-withdraw": DECIDE,
    "followup-step-reopen": ENTER,
    "book": ENTER,
    "unbook": ENTER,
    "not-done": ENTER,
    "ahead": READ,
    "ahead-file": READ,
    "shutdown-new": ENTER,
    "shutdown-change": ENTER,
    "shutdown-take-back": ENTER,
    "document-new": ENTER,
    "document-attach": ENTER,
    "document": READ,
    "chart": READ,
    "nuclides": READ,
    "nuclide": READ,
    "load-new": DECIDE,
    "load-template": DECIDE,
    "load-file": DECIDE,
    "load-done": DECIDE,
    "schedule": READ,
    "schedule-differences": READ,
    "schedule-effects": READ,
    "schedule-rule-sets": DECIDE,
    "schedule-draft": DECIDE,
    "schedule-adopt": DECIDE,
    "schedule-kind-new": DECIDE,
    "schedule-row-new": DECIDE,
    "schedule-row": DECIDE,
    "schedule-row-change": DECIDE,
    "schedule-row-remove": DECIDE,
    "compare": READ,
    "settings": READ,
    "setting-new": DECIDE,
    "setting-end": DECIDE,
    "change-confirm": DECIDE,
    "registers": READ,
    "register": READ,
    "register-file": READ,
}
WRITTEN = 302
WRITE = row(LOG_IN, 404, WRITTEN, 403, 403, WRITTEN, 404, 404)
DECISION = row(LOG_IN, 404, 403, 403, 403, WRITTEN, 404, 404)
POST = {
    "record-correct": WRITE,
    "record-accept": DECISION,
    "wipe-new": WRITE,
    "session-new": WRITE,
    "session-accept": DECISION,
    "wipes-send": WRITE,
    "report-new": WRITE,
    "wipe-give-up": WRITE,
    "laboratory-new": DECISION,
    "calibration-new": WRITE,
    "movement-new": WRITE,
    "check-new": WRITE,
    "happening-new": WRITE,
    "monitor-new": DECISION,
    "item-new": DECISION,
    "item-describe": DECISION,
    "followup-close": DECISION,
    "followup-steps": DECISION,
    "followup-step-new": WRITE,
    "followup-step-done": WRITE,
    "followup-step-withdraw": DECISION,
    "followup-step-reopen": WRITE,
    "book": WRITE,
    "unbook": WRITE,
    "not-done": WRITE,
    "shutdown-new": WRITE,
    "shutdown-change": WRITE,
    "shutdown-take-back": WRITE,
    "document-new": WRITE,
    "document-attach": WRITE,
    "load-new": DECISION,
    "load-file": DECISION,
    "schedule-rule-sets": DECISION,
    "schedule-draft": DECISION,
    "schedule-adopt": DECISION,
    "schedule-kind-new": DECISION,
    "schedule-row-new": DECISION,
    "schedule-row": DECISION,
    "schedule-row-change": DECISION,
    "schedule-row-remove": DECISION,
    "setting-new": DECISION,
    "setting-end": DECISION,
    "change-confirm": DECISION,
}
#: A new monitor is described and received in one act.
RECORDS = {"session-new": 2, "monitor-new": 2, "followup-steps": 2}
#: A file that was brought or discarded has written nothing yet.
RECORDS |= {"load-new": 0, "load-file": 0}
OF_AN_ITEM = (
    *("item", "calibration-new", "movement-new", "happening-new", "item-describe"),
    *("followup", "followup-close", "followup-steps", "followup-step-new", "followup-step-done"),
    *("followup-step-withdraw", "followup-step-reopen", "book", "unbook", "not-done"),
    *("compare", "settings", "setting-new", "setting-end", "change-confirm"),
)


@pytest.fixture(scope="module")
def built(django_db_setup, django_db_blocker):
    """The world of all tests here, made once: every test works in a transaction inside its own."""
    with pytest.MonkeyPatch.context() as patch, django_db_blocker.unblock(), transaction.atomic():
        stop_clock(patch)
        patch.setattr("reports.pdf.render", lambda register, paper: b"%PDF-")
        yield make_world()
        transaction.set_rollback(True)


@pytest.fixture
def world(built, db):
    return built


def make_world() -> Any:
    world: Any = ledger_world.build()
    world.elsewhere = factories.make_site()
    world.leaking = factories.record_wipe(
        world.source, world.counter, TODAY - timedelta(60), gross=ledger_world.LOUD
    )
    technician = staff(world.site, Role.TECHNICIAN)
    world.entered = factories.record_wipe(
        world.source, world.counter, TODAY - timedelta(59), by=technician, act={"accepted": False}
    )
    world.steps = plan(world)
    world.laboratory = factories.make_laboratory(world.site)
    world.sent = factories.send_wipe(world.source, world.laboratory, TODAY - timedelta(62))
    world.session = factories.count_session(
        world.counter, [world.source], TODAY - timedelta(57), by=technician, act={"accepted": False}
    )
    decide(world)
    world.file = loading.waiting_file(world.site, loading.line("L-1"))
    world.loaded = load_old_file(world)
    return world


def decide(world: Any) -> None:
    """An adopted schedule with a row of its own, a draft of the next one that was gone through, a
    setting, and a source below that row's activity by decay."""
    site = world.site
    schedules.drafted(site)
    exempt = row_table(id="leak.small", result="not_required", when={"activity_bq": {"below": 1e4}})
    why = {"loosened_because": "small", "decided_by": "A. Adviser", "decided_on": "2026-01-05"}
    actions.add_row(site, exempt | why, **schedules.act(site))
    schedules.adopted(site)
    schedules.drafted(site)
    world.small = decayed_source(site)
    world.setting = put(world.source, 6, "adds")


def load_old_file(world: Any) -> Record:
    """A file that was loaded before anybody looks."""
    loaded: Record = loading.load_file(world.site, loading.line("L-2"))
    return loaded


def plan(world: Any) -> list[FollowUpStep]:
    """A booking, and a second follow-up with one step done and one open."""
    by = world.rps
    appointment = Appointment(TODAY + timedelta(9))
    book([Line(world.source, "leak_test")], appointment, by=by, at=factories.tick())
    world.second = factories.record_wipe(
        world.source, world.counter, TODAY - timedelta(58), gross=ledger_world.LOUD
    )
    follow_up = FollowUp.objects.get(opened_by=world.second)
    add_steps(follow_up, [Task("Isolate."), Task("Tell.")], Act(by, factories.tick()))
    done, still = FollowUpStep.objects.of(follow_up)
    mark_done(done, Act(by, factories.tick()), on=TODAY - timedelta(57))
    return [done, still]


def person(who: str, world: Any) -> Any:
    if who == "anonymous":
        return None
    if who == "no role":
        return factories.make_user()
    if who == "rps of another site":
        return staff(world.elsewhere, Role.RPS)
    if who == "role ended yesterday":
        user = staff(world.site, Role.RPS)
        SiteRole.objects.filter(user=user).update(until_on=TODAY - timedelta(1))
        return user
    return staff(world.site, Role(who))


def address(name: str, world: Any, site: str = "thornmere") -> str:
    args: dict[str, list[Any]] = {
        "item": [world.source.code],
        "record": [world.entered.seq],
        "session": [world.session.seq],
        "session-accept": [world.session.seq],
        "laboratory": [world.laboratory.code],
        "report-new": [world.laboratory.code],
        "wipe-give-up": [world.sent.seq],
        "record-correct": [world.entered.seq],
        "record-accept": [world.entered.seq],
        "followup": [world.source.code, world.second.seq],
        "followup-close": [world.source.code, world.leaking.seq],
        "followup-steps": [world.source.code, world.second.seq],
        "followup-step-new": [world.source.code, world.second.seq],
        "followup-step-done": [world.source.code, world.second.seq, world.steps[1].added_by.seq],
        "followup-step-withdraw": [
            *(world.source.code, world.second.seq, world.steps[1].added_by.seq),
        ],
        "followup-step-reopen": [world.source.code, world.second.seq, world.steps[0].added_by.seq],
        "not-done": [world.source.code, "leak_test"],
        "ahead-file": ["csv"],
        "shutdown-change": [world.shutdown.seq],
        "shutdown-take-back": [world.shutdown.seq],
        "document-new": [world.source.code],
        "document-attach": [world.entered.seq],
        "document": [world.wipe.seq, hashlib.sha256(ledger_world.CERTIFICATE).hexdigest()],
        "chart": [world.source.code, "decay"],
        "nuclide": ["Cs-137"],
        "calibration-new": [world.counter.code],
        "movement-new": [world.source.code],
        "check-new": ["shutter_check"],
        "happening-new": [world.source.code],
        "item-new": ["location"],
        "item-describe": [world.gauge.code],
        "load-file": [world.file.pk],
        "load-done": [world.loaded.seq],
        "register": ["leak"],
        "register-file": ["leak", "csv"],
        "schedule-row": ["leak.small"],
        "schedule-row-change": ["leak.small"],
        "schedule-row-remove": ["leak.small"],
        "compare": [world.source.code],
        "settings": [world.source.code],
        "setting-new": [world.source.code],
        "setting-end": [world.source.code, world.setting.seq],
        "change-confirm": [world.small.code, "leak_test"],
    }
    if name in ("healthz", "login", "logout", "home"):
        return reverse(name)
    chosen = f"?line={world.source.code}:leak_test" if name in ("book", "unbook") else ""
    return reverse(name, args=[site, *args.get(name, [])]) + chosen


def found(response: Any) -> Any:
    to_log_in = response.status_code == 302 and response["Location"].startswith("/login/")
    return LOG_IN if to_log_in else response.status_code


def document() -> dict[str, Any]:
    file = SimpleUploadedFile("note.txt", b"seen on paper")
    return {"title": "Note", "document_kind": "other", "file": file}


def entry(name: str, world: Any) -> dict[str, Any]:
    """What a good form sends."""
    sent = {"request_key": str(uuid.uuid4()), "seen": "9999"}
    wipe = {
        **{"sources": world.source.code, "wiped_on": "2026-02-20", "sampled_by": "B. Sampler"},
        **{"why": "routine", "way": "declared", "declared": "passed", "declared_by": "C. Maker"},
    }
    return sent | {
        "load-new": {"file": SimpleUploadedFile("new.csv", loading.content(loading.line("L-9")))},
        "load-file": {"do": "discard"},
        "wipes-send": {
            **{"laboratory": world.laboratory.code, "sent_on": "2026-02-20", "why": "routine"},
            **{"wiped_on": "2026-02-20", "wiped_by": "B. Sampler"},
            **{"wipes-TOTAL_FORMS": "1", "wipes-INITIAL_FORMS": "0"},
            "wipes-0-sources": world.source.code,
        },
        "report-new": {
            **{"reported_on": "2026-02-20", "results-TOTAL_FORMS": "1"},
            **{"results-INITIAL_FORMS": "1", "results-0-wipe": str(world.sent.seq)},
            **{"results-0-says": "less_than", "results-0-figure": "3 Bq"},
        },
        "wipe-give-up": {"on": "2026-02-20", "reason": "lost in the post"},
        "laboratory-new": {
            **{"name": "Other Laboratory", "on": "2026-02-20"},
            **{"limits-TOTAL_FORMS": "0", "limits-INITIAL_FORMS": "0"},
        },
        "record-correct": wipe | {"because": "misread"},
        "record-accept": {"reason": "seen on paper"},
        "wipe-new": wipe,
        "session-accept": {"wipe": str(world.session.seq + 1)},
        "session-new": {
            **{"do": "record", "rows": "8", "counter": world.counter.code},
            **{"counted_on": "2026-02-20", "counted_by": "A. Counter", "seconds": "600"},
            **{"background_counts": "389", "background_seconds": "600"},
            **{"wiped_on": "2026-02-20", "sampled_by": "B. Sampler"},
            **{"wipes-1-what": world.source.code, "wipes-1-gross": "431"},
        },
        "followup-close": {"on": "2026-02-20", "reason": "wiped again"},
        "followup-steps": {"steps": ["0", "2"]},
        "followup-step-new": {"text": "Ask the maker."},
        "followup-step-done": {"on": "2026-02-20"},
        "followup-step-withdraw": {"reason": "not needed"},
        "followup-step-reopen": {"reason": "not done after all"},
        "book": {"booked_for": "2026-03-20", "line": f"{world.source.code}:leak_test"},
        "unbook": {"reason": "firm fell ill", "line": f"{world.source.code}:leak_test"},
        "not-done": {"on": "2026-02-20", "because": "furnace running"},
        "shutdown-new": {"name": "Stop", "begins_on": "2026-08-03", "ends_on": "2026-08-24"},
        "shutdown-change": {
            **{"name": "Stop", "begins_on": "2026-08-03", "ends_on": "2026-09-02"},
            "reason": "parts are late",
        },
        "shutdown-take-back": {"reason": "the order book is full"},
        "document-new": document(),
        "document-attach": document(),
        "calibration-new": {
            **{"on": "2026-02-20", "verdict": "passed"},
            **{"efficiencies-TOTAL_FORMS": "0", "efficiencies-INITIAL_FORMS": "0"},
        },
        "monitor-new": {
            **{"tag": "CM-9", "monitor_kind": "dose_rate"},
            **{"to": world.store.code, "on": "2026-02-20"},
        },
        "check-new": {"on": "2026-02-20", f"{world.gauge.code}-result": "pass"},
        "happening-new": {"on": "2026-02-20", "what": "damage"},
        "movement-new": {"verb": "removed", "to": world.store.code, "on": "2026-02-20"},
        "item-new": {"name": "Hall", "place_kind": "workshop", "on": "2026-02-20"},
        "item-describe": {"tag": "G-2", "how": "correction", "reason": "misread"},
        "schedule-rule-sets": {"main": "gb:2", "do": "record"},
        "schedule-draft": {"do": "discard"},
        "schedule-adopt": ADOPTION,
        "schedule-kind-new": {"title": "Warning lamp", "subject": "gauge"},
        "schedule-row-new": row_form(id="own.leak", requirement="leak_test", mode="adds"),
        "schedule-row": {"row": f"leak.small|{_digest(world)}", "who": ""},
        "schedule-row-change": row_form(when1_name="portable", when1_how="is", when1_value="yes"),
        "schedule-row-remove": {"loosened_because": ""},
        "setting-new": setting_form(mode="adds", authority="permit"),
        "setting-end": {"on": "2026-03-02", "reason": "misread"},
        "change-confirm": {"on": "2026-03-02", "reason": "checked"},
    }.get(name, {})


def _digest(world: Any) -> str:
    """The row of the draft as its page shows it."""
    draft = draft_of(world.site)
    (row,) = (row for row in draft.rules.rows if row.id == "leak.small") if draft else ()
    return digest(row)


def names_of_the_resolver() -> set[str]:
    def walk(patterns: Any) -> Any:
        for pattern in patterns:
            if isinstance(pattern, URLPattern):
                yield pattern.name
            else:
                yield from walk(pattern.url_patterns)

    return set(walk(get_resolver().url_patterns))


def test_every_address_is_in_both_tables():
    assert names_of_the_resolver() == set(GET) == set(permissions.TABLE)


@pytest.mark.parametrize("who", PEOPLE)
def test_reading_is_answered_as_the_table_says(world, who):
    client = browser(person(who, world))
    answers = {name: found(client.get(address(name, world))) for name in GET}
    assert answers == {name: expected[who] for name, expected in GET.items()}


@pytest.mark.parametrize("name", POST)
@pytest.mark.parametrize("who", PEOPLE)
def test_writing_is_answered_as_the_table_says(world, who, name):
    client, before = browser(person(who, world)), Record.objects.count()
    response = client.post(address(name, world), entry(name, world))
    assert found(response) == POST[name][who]
    written = RECORDS.get(name, 1) if POST[name][who] == WRITTEN else 0
    assert Record.objects.count() == before + written


@pytest.mark.parametrize("name", sorted(GET.keys() - POST.keys() - {"login", "logout", "healthz"}))
def test_a_page_that_only_shows_writes_nothing_when_posted_to(world, name):
    before = Record.objects.count()
    browser(world.rps).post(address(name, world))
    assert Record.objects.count() == before


@pytest.mark.parametrize(
    "name",
    [
        *(*OF_AN_ITEM, "record", "record-correct", "session"),
        *("shutdown-change", "shutdown-take-back"),
    ],
)
@pytest.mark.parametrize("under", ["thornmere", "elsewhere"])
def test_what_belongs_to_another_site_does_not_exist(world, name, under):
    elsewhere = factories.make_site("elsewhere")
    person = staff(elsewhere, Role.RPS)
    # Its own records must not have the number that is asked for.
    assert not Record.objects.filter(site=elsewhere, seq=world.entered.seq).exists()
    client = browser(person)
    assert client.get(address(name, world, under)).status_code == 404
    assert client.post(address(name, world, under), entry(name, world)).status_code == 404


def test_another_site_is_not_there_even_for_a_person_of_both(world):
    elsewhere = factories.make_site("elsewhere")
    factories.give_role(world.rps, elsewhere, Role.RPS)
    client = browser(world.rps)
    assert client.get(address("item", world)).status_code == 200
    assert client.get(address("item", world, "elsewhere")).status_code == 404
    assert client.get(address("record", world, "elsewhere")).status_code == 404


def test_a_site_that_does_not_exist_answers_like_one_without_a_role(world):
    client = browser(factories.make_user())
    assert client.get("/nowhere/").status_code == client.get("/thornmere/").status_code == 404


def test_an_address_that_nobody_put_into_the_table_is_refused(world, monkeypatch):
    monkeypatch.delitem(permissions.TABLE, "sources")
    assert browser(world.rps).get(address("sources", world)).status_code == 403


def test_a_follow_up_of_another_item_is_not_found_under_this_one(world):
    other = reverse("followup-close", args=["thornmere", world.gauge.code, world.leaking.seq])
    assert browser(world.rps).get(other).status_code == 404
