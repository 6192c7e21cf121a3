"""Factories with working defaults: a test sets only what it is about."""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from config.accounts.models import Role, Site, SiteRole, User
from inventory.calc.units import parse_activity
from inventory.custody.actions import Movement, move
from inventory.evidence.actions import record_checks
from inventory.evidence.actions import record_happening as record_happening_action
from inventory.evidence.entries import Check, Incident, Result
from inventory.items.actions import SourceText, describe_new, gauge_snapshot, location_snapshot
from inventory.items.actions import open_site as open_site_action
from inventory.items.snapshots import permit_snapshot, person_snapshot
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import writing
from inventory.nuclides.actions import load_nuclides
from inventory.requirements.actions import set_schedule
from surveys.awaited.sending import Parcel, Taken, send_wipes
from surveys.laboratories.actions import laboratory_snapshot
from surveys.leak.actions import record_leak_test
from surveys.leak.wipe import Counted, Wipe
from surveys.monitors.actions import Certificate, monitor_snapshot, record_calibration
from surveys.monitors.in_force import Efficiency
from surveys.sessions.actions import record_session
from surveys.sessions.session import Session
from surveys.sessions.session import Taken as Swab

#: The first moment of the tests' world; every write is some seconds later than the one before.
START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
STEP = timedelta(seconds=5)
_moments = itertools.count(1)
_numbers = itertools.count(1)

EFFICIENCIES = (
    Efficiency("Cs-137", 0.31, 0.1),
    Efficiency("Co-60", 0.28, 0.1),
    Efficiency("Am-241", 0.25, 0.1),
    Efficiency("Sr-90", 0.45, 0.1),
)


def tick() -> datetime:
    """A moment later than every one before."""
    return START + STEP * next(_moments)


def begin_again() -> None:
    """The next moment is the first again."""
    global _moments
    _moments = itertools.count(1)


def make_user(username: str = "", **fields: Any) -> User:
    name = username or f"user{next(_numbers)}"
    return User.objects.create_user(name, password="correct horse battery", **fields)


def give_role(user: User, site: Site, role: Role, from_on: date = date(2020, 1, 1)) -> SiteRole:
    return SiteRole.objects.create(user=user, site=site, role=role, from_on=from_on)


def make_site(slug: str = "", by: User | None = None, schedule: bool = True, **fields: Any) -> Site:
    """A site with its nuclides, a supervisor and the first rule set as draft schedule."""
    by = by or make_user()
    load_nuclides(by=by, at=tick())
    number = next(_numbers)
    values = {"name": f"Site {number}", "time_zone": "Europe/London", "address": ""} | fields
    site = open_site_action(slug=slug or f"site-{number}", by=by, at=tick(), **values)
    SiteRole.objects.filter(user=by, site=site).update(from_on=date(2020, 1, 1))
    if schedule:
        set_schedule(site, by=by, at=tick(), rule_set="gb", version=1, from_on=date(2018, 1, 1))
    return site


def rps_of(site: Site) -> User:
    return User.objects.filter(site_roles__site=site, site_roles__role=Role.RPS).earliest("pk")


def make_item(site: Site, kind: str, snapshot: dict[str, Any], on: date) -> Item:
    with writing(site, by=rps_of(site), at=tick()) as ledger:
        return describe_new(ledger, kind, snapshot, on)


def make_location(site: Site, name: str = "", **fields: Any) -> Item:
    name = name or f"Area {next(_numbers)}"
    return make_item(site, ItemKind.LOCATION, location_snapshot(name, **fields), date(2020, 1, 1))


def make_gauge(site: Site, tag: str = "", at: Item | None = None, on: date | None = None) -> Item:
    tag = tag or f"G-{next(_numbers)}"
    on = on or date(2021, 3, 1)
    gauge = make_item(site, ItemKind.GAUGE, gauge_snapshot(tag), on)
    receive(gauge, at or make_location(site), on)
    return gauge


def make_source(
    site: Site,
    *,
    to: Item | None = None,
    on: date = date(2021, 3, 1),
    received: bool = True,
    **fields: Any,
) -> Item:
    number = next(_numbers)
    values: dict[str, Any] = {
        "nuclide": "Cs-137",
        "maker": "Maker",
        "model": "M1",
        "serial": f"S-{number}",
        "activity_text": "3.7 GBq",
        "activity_bq": Decimal("3.7e9"),
        "reference_text": "2020-11-01",
        "reference_on": date(2020, 11, 1),
        "reference_precision": "day",
    }
    snapshot = SourceText(**(values | fields)).snapshot()
    source = make_item(site, ItemKind.SOURCE, snapshot, on)
    if received:
        receive(source, to or make_location(site), on)
    return source


def receive(item: Item, to: Item, on: date) -> Record:
    return move(Movement("received", item, to, on), by=rps_of(item.site), at=tick())


def install(item: Item, gauge: Item, on: date) -> Record:
    return move(Movement("installed", item, gauge, on), by=rps_of(item.site), at=tick())


def make_monitor(
    site: Site,
    *,
    calibrated_on: date | None = date(2025, 9, 1),
    on: date = date(2021, 1, 1),
    **fields: Any,
) -> Item:
    tag = fields.pop("tag", f"WC-{next(_numbers)}")
    kind = fields.pop("monitor_kind", "wipe_counter")
    snapshot = monitor_snapshot(tag, monitor_kind=kind, **fields)
    monitor = make_item(site, ItemKind.MONITOR, snapshot, on)
    receive(monitor, make_location(site), on)
    if calibrated_on is not None:
        calibrate(monitor, calibrated_on)
    return monitor


def calibrate(monitor: Item, on: date, **fields: Any) -> Record:
    values: dict[str, Any] = {"passed": True, "efficiencies": EFFICIENCIES} | fields
    return record_calibration(
        monitor, Certificate(on=on, **values), by=rps_of(monitor.site), at=tick(), accepted=True
    )


def make_wipe(sources: Item | list[Item], counter: Item, on: date, **fields: Any) -> Wipe:
    """A clean wipe of 600 s against a background of 600 s."""
    gross = fields.pop("gross", [(431, 600.0)])
    background = fields.pop("background", [(389, 600.0)])
    return Wipe(
        sources=sources if isinstance(sources, list) else [sources],
        wiped_on=on,
        result=Counted(counter, fields.pop("counted_on", on), gross, background, "A. Counter"),
        sampled_by="B. Sampler",
        **fields,
    )


def record_wipe(
    source: Item | list[Item], counter: Item, on: date, *, by: User | None = None, **fields: Any
) -> Record:
    """Record a wipe as the supervisor, accepted; ``act`` holds arguments of the action."""
    act: dict[str, Any] = {"accepted": True} | fields.pop("act", {})
    wipe = make_wipe(source, counter, on, **fields)
    site = wipe.sources[0].site
    return record_leak_test(
        site=site, by=by or rps_of(site), at=act.pop("at", tick()), wipe=wipe, **act
    )


def make_laboratory(site: Site, name: str = "Hill Laboratory", **fields: Any) -> Item:
    """A laboratory that states 5 Bq for Cs-137 and 20 Bq for everything else."""
    values: dict[str, Any] = {
        "general_limit": parse_activity("20 Bq"),
        "limits": [("Cs-137", parse_activity("5 Bq"))],
    }
    snapshot = laboratory_snapshot(name, **(values | fields))
    return make_item(site, ItemKind.LABORATORY, snapshot, date(2020, 1, 1))


def send_wipe(
    sources: Item | list[Item],
    laboratory: Item,
    on: date,
    *,
    sent_on: date | None = None,
    chase_on: date | None = None,
    by: User | None = None,
    **fields: Any,
) -> Record:
    """One wipe, taken on a day and sent on the next."""
    covered = sources if isinstance(sources, list) else [sources]
    sent_on = sent_on or on + timedelta(days=1)
    parcel = Parcel(laboratory, sent_on, chase_on or sent_on + timedelta(days=21))
    taken = Taken(covered, on, "B. Sampler", **fields)
    by = by or rps_of(laboratory.site)
    return send_wipes(laboratory.site, parcel, [taken], by=by, at=tick())


def make_permit(site: Site, number: str = "", **fields: Any) -> Item:
    values: dict[str, Any] = {"issued_by": "An authority"} | fields
    snapshot = permit_snapshot(number or f"P-{next(_numbers)}", **values)
    return make_item(site, ItemKind.PERMIT, snapshot, date(2020, 1, 1))


def make_person(site: Site, name: str = "", **fields: Any) -> Item:
    values: dict[str, Any] = {"duty": "supervisor", "since": date(2020, 1, 1)} | fields
    snapshot = person_snapshot(name or f"Keeper {next(_numbers)}", **values)
    return make_item(site, ItemKind.PERSON, snapshot, date(2020, 1, 1))


def record_check(
    items: Item | list[Item],
    requirement: str,
    on: date,
    outcome: str = "pass",
    *,
    by: User | None = None,
    **fields: Any,
) -> Record:
    """Record a check as the supervisor, accepted; ``act`` holds arguments of the action."""
    act: dict[str, Any] = {"accepted": True} | fields.pop("act", {})
    done = items if isinstance(items, list) else [items]
    found = fields.pop("found", "")
    results = [Result(one, outcome, found) for one in done]
    site = done[0].site
    check = Check(requirement, on, results, **fields)
    return record_checks(site, check, by=by or rps_of(site), at=act.pop("at", tick()), **act)


def record_happening(
    item: Item, what: str, on: date, *, by: User | None = None, **fields: Any
) -> Record:
    act: dict[str, Any] = fields.pop("act", {})
    incident = Incident(item, what, on, **fields)
    return record_happening_action(
        incident, by=by or rps_of(item.site), at=act.pop("at", tick()), **act
    )


def make_session(counter: Item, wipes: list[Any], on: date, **fields: Any) -> Session:
    """A session with a background of 389 counts; ``wipes`` are sources, each wiped clean that day,
    or pairs of sources and counts."""
    taken = []
    for one in wipes:
        sources, counts = one if isinstance(one, tuple) else (one, 431)
        covered = sources if isinstance(sources, list) else [sources]
        taken.append(Swab(covered, on, [(counts, 600.0)], "B. Sampler"))
    values = {"background": [(389, 600.0)], "counted_by": "A. Counter"} | fields
    return Session(counter=counter, counted_on=on, wipes=taken, **values)


def count_session(
    counter: Item, wipes: list[Any], on: date, *, by: User | None = None, **fields: Any
) -> Record:
    """Record a session as the supervisor, accepted; ``act`` holds arguments of the action."""
    act: dict[str, Any] = {"accepted": True} | fields.pop("act", {})
    session = make_session(counter, wipes, on, **fields)
    by = by or rps_of(counter.site)
    return record_session(
        site=counter.site, by=by, at=act.pop("at", tick()), session=session, **act
    )
