"""Monitors: describe one, record its calibration, find what was in force on a day."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory import knowledge
from inventory.calc import due
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import resolve
from inventory.custody.actions import receive_new
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, writing
from inventory.nuclides.read import nuclides
from inventory.rules.schema import CALIBRATION
from surveys.calc.leak import Factor, check_factor
from surveys.monitors.models import CALIBRATION_KIND, CalibrationEfficiency


def monitor_snapshot(
    tag: str, *, monitor_kind: str, maker: str = "", model: str = "", serial: str = ""
) -> dict[str, Any]:
    """The description of a monitor."""
    return {
        "label": tag,
        "key": tag,
        "tag": tag,
        "maker": maker,
        "model": model,
        "serial": serial,
        "monitor_kind": monitor_kind,
    }


def new_monitor(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    on: date,
    to: Item,
    supplier: str = "",
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Describe a monitor and receive it at its first place, in one act."""
    return receive_new(
        site,
        snapshot,
        kind=ItemKind.MONITOR,
        by=by,
        at=at,
        on=on,
        to=to,
        supplier=supplier,
        request_key=request_key,
        seen=seen,
    )


@dataclass(frozen=True, slots=True)
class Efficiency:
    """A counter's efficiency for one nuclide, as its certificate states it."""

    nuclide: str
    efficiency: float
    u_rel: float | None = None
    basis: str = "per_decay"
    source_efficiency: float | None = None
    window_cm2: float | None = None

    def factor(self) -> Factor:
        """As the verdict uses it."""
        return Factor(
            efficiency=self.efficiency,
            u_rel=self.u_rel,
            basis=self.basis,
            source_efficiency=self.source_efficiency,
            window_cm2=self.window_cm2,
        )


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a calibration certificate says. ``passed``: within tolerance as left."""

    on: date
    passed: bool
    certificate: str = ""
    laboratory: str = ""
    valid_until: date | None = None
    efficiencies: Sequence[Efficiency] = ()


def record_calibration(
    monitor: Item,
    certificate: Certificate,
    *,
    by: User,
    at: datetime,
    accepted: bool,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    replaces: Record | None = None,
    reason: str = "",
) -> Record:
    """Record a calibration. One that failed puts the monitor out of use until closed.

    ``accepted``: by somebody who may accept, in the same act. ``replaces`` with ``reason`` corrects
    an earlier record, also one that named the wrong monitor.
    """
    efficiencies = _checked(monitor, certificate)
    about = About(
        monitor,
        outcome="pass" if certificate.passed else "fail",
        accuses=not certificate.passed,
        valid_until=certificate.valid_until,
    )
    with writing(monitor.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, CALIBRATION_KIND):
            return done
        if accepted and Role.RPS not in roles_on(by, monitor.site, ledger.today):
            raise DomainError("only_rps_accepts")
        return ledger.append(
            Draft(
                CALIBRATION_KIND,
                certificate.on,
                [about, *_withdrawn(replaces, monitor)],
                detail={
                    "certificate": certificate.certificate,
                    "laboratory": certificate.laboratory,
                    "valid_until": certificate.valid_until,
                },
                points=[asdict(one) for one in efficiencies],
                accepted=accepted,
                instrument=monitor,
                request_key=request_key,
                replaces=replaces,
                reason=reason,
            )
        )


def _withdrawn(replaces: Record | None, monitor: Item) -> list[About]:
    """Monitors that the corrected record named and this one does not: they must learn of it."""
    if replaces is None:
        return []
    named = replaces.about.exclude(item=monitor).select_related("item")
    return [About(mention.item, role="withdrawn") for mention in named]


def _checked(monitor: Item, certificate: Certificate) -> list[Efficiency]:
    """The efficiencies, each under the name that the nuclide table has for its nuclide."""
    if monitor.kind != ItemKind.MONITOR:
        raise DomainError("not_a_monitor", {"item": monitor.label}, field="monitor")
    if certificate.valid_until is not None and certificate.valid_until < certificate.on:
        raise DomainError("valid_until_before_calibration", field="valid_until")
    table = nuclides()
    named: dict[str, Efficiency] = {}
    for one in certificate.efficiencies:
        nuclide = resolve(one.nuclide, table)
        if nuclide.name in named:
            raise DomainError("efficiency_twice", {"nuclide": nuclide.name}, field="efficiencies")
        check_factor(one.factor(), nuclide.most_counts_per_decay)
        named[nuclide.name] = replace(one, nuclide=nuclide.name)
    return list(named.values())


@dataclass(frozen=True, slots=True)
class InForce:
    """The counter's calibration on a day: figures of the last good one, and whether it was fit."""

    record: Record | None
    efficiencies: dict[str, Efficiency]
    unfit_because: str


def in_force(monitor: Item, on: date) -> InForce:
    """What the counter could do on a day. Out of calibration is *unfit*, and why; its last known
    efficiencies are used all the same: bad evidence never clears, but it accuses."""
    known = knowledge.load([monitor.pk])[monitor.pk]
    decision = knowledge.decide_on(known, CALIBRATION, on).value
    good = [
        event for event in known.events if event.kind == CALIBRATION_KIND and event.clears_on(on)
    ]
    last = max(good, key=lambda event: event.order, default=None)
    state = decision.state_on(on)
    unfit = "" if state in (due.GOOD, due.DUE_SOON) else f"counter_calibration_{state}"
    if last is None:
        return InForce(None, {}, unfit)
    rows = CalibrationEfficiency.objects.filter(record=last.record).order_by("position")
    return InForce(
        Record.objects.get(pk=last.record),
        {
            row.nuclide: Efficiency(
                row.nuclide,
                row.efficiency,
                row.u_rel,
                row.basis,
                row.source_efficiency,
                row.window_cm2,
            )
            for row in rows
        },
        unfit,
    )
