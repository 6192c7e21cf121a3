"""A small world with at least one row in every table of evidence."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import connection

from config.accounts.models import Role, Site, User
from inventory.followups.actions import close_follow_up
from inventory.followups.models import FollowUp, FollowUpStep
from inventory.followups.step_actions import Act, Task, add_steps, mark_done
from inventory.items.actions import correct, description_in_force, snapshot_of
from inventory.ledger import triggers
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, writing
from inventory.requirements.booking import Appointment, Line, book, not_done
from inventory.schedule.settings import Wanted, make_setting
from inventory.shutdowns.actions import Plan
from inventory.shutdowns.actions import plan as plan_shutdown
from surveys.leak.actions import accept_leak_test
from tests import factories

CERTIFICATE = b"certificate of an invented laboratory"
LOUD = [(90_000, 600.0)]


@dataclass
class World:
    """Who and what there is."""

    site: Site
    rps: User
    store: Item
    gauge: Item
    source: Item
    counter: Item
    corrected: Record
    wipe: Record
    entered: Record
    accepted: Record
    leaking: Record
    closed: Record
    shutdown: Record


def build(slug: str = "thornmere") -> World:
    """A site where a source leaked, with a correction, an acceptance and a closing."""
    site = factories.make_site(slug)
    rps = factories.rps_of(site)
    store = factories.make_location(site, "Store")
    gauge = factories.make_gauge(site, "G-1", at=store)
    source = factories.make_source(site, to=store, serial="K-1")
    factories.install(source, gauge, date(2021, 4, 1))
    described = description_in_force(source)
    snapshot = snapshot_of(described) | {"maker": "Right maker"}
    corrected = correct(described, snapshot, by=rps, at=factories.tick(), reason="misread")
    counter = factories.make_monitor(site, tag="WC-1")
    wipe = factories.record_wipe(
        source,
        counter,
        date(2025, 10, 1),
        attachments=[Upload("report.pdf", CERTIFICATE)],
        remark="remark one",
        act={"request_key": uuid.uuid4()},
    )
    technician = factories.make_user()
    factories.give_role(technician, site, Role.TECHNICIAN)
    entered = factories.record_wipe(
        source, counter, date(2025, 11, 1), by=technician, act={"accepted": False}
    )
    accepted = accept_leak_test(entered, by=rps, at=factories.tick(), reason="seen")
    leaking = factories.record_wipe(source, counter, date(2025, 12, 1), gross=LOUD)
    plan(source, rps, FollowUp.objects.get(opened_by=leaking))
    factories.send_wipe(source, factories.make_laboratory(site), date(2025, 12, 10))
    factories.count_session(counter, [source], date(2025, 10, 15))
    stop = Plan("Summer stop", store, date(2026, 8, 3), date(2026, 8, 24))
    shutdown = plan_shutdown(site, stop, by=rps, at=factories.tick())
    decide_and_check(gauge, source, rps)
    closed = close_follow_up(
        FollowUp.objects.get(opened_by=leaking),
        by=rps,
        at=factories.tick(),
        on=date(2025, 12, 20),
        reason="wiped again",
    )
    return World(
        *(site, rps, store, gauge, source, counter),
        *(corrected, wipe, entered, accepted, leaking, closed, shutdown),
    )


def plan(source: Item, rps: User, follow_up: FollowUp) -> None:
    """A step of the follow-up, done; the next wipe booked, and once not done."""
    add_steps(follow_up, [Task("Isolate.", "A. Keeper")], Act(rps, factories.tick()))
    step = FollowUpStep.objects.get(item=source)
    mark_done(step, Act(rps, factories.tick()), on=date(2025, 12, 2), note="locked")
    line, day = Line(source, "leak_test"), date(2027, 1, 8)
    book([line], Appointment(day, "B. Booked"), by=rps, at=factories.tick())
    not_done(line, by=rps, at=factories.tick(), on=date(2025, 12, 3), because="furnace running")


def decide_and_check(gauge: Item, source: Item, rps: User) -> None:
    """A check and something that happened; a setting and a confirmation."""
    factories.record_check(gauge, "shutter_check", date(2025, 12, 5))
    factories.record_happening(gauge, "servicing", date(2025, 12, 4))
    label = {
        "months": 12,
        "mode": "replaces",
        "document": "Label",
        "clause": "on the housing",
        "known_by": "own",
    }
    wanted = Wanted("leak_test", label, "label", date(2025, 12, 6))
    make_setting(source, wanted, by=rps, at=factories.tick())
    with writing(source.site, by=rps, at=factories.tick()) as ledger:
        detail = {"requirement": "leak_test", "row": "leak.default"}
        about = [About(source)]
        ledger.append(
            Draft("change_confirmed", date(2025, 12, 7), about, detail=detail, accepted=True)
        )


@contextmanager
def triggers_off() -> Iterator[None]:
    """As the owner of the database can: nothing refuses a change meanwhile."""
    connection.check_constraints()  # PostgreSQL alters no table with something still pending
    triggers.remove(connection)
    yield
    connection.check_constraints()
    triggers.install(connection)


def tamper(statement: str, *values: Any) -> None:
    """One SQL statement with the triggers off; it must change something."""
    with triggers_off(), connection.cursor() as cursor:
        cursor.execute(statement, values or None)
        assert cursor.rowcount


def sql(statement: str, *values: Any) -> None:
    """Run SQL behind the back of everything; parameters are written %s."""
    with connection.cursor() as cursor:
        cursor.execute(statement, values or None)
