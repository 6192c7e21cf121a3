"""Monitors: describe one, record its calibration."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import resolve
from inventory.custody.actions import receive_new
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, writing
from inventory.nuclides.read import nuclides
from surveys.calc.leak import check_factor
from surveys.monitors.in_force import Efficiency
from surveys.monitors.models import CALIBRATION_KIND


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
