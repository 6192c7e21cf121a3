"""Monitors: describe one, record its calibration."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.calc.nuclides import NuclideData, resolve
from inventory.custody.actions import receive_new
from inventory.items.snapshots import said
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, writing
from inventory.nuclides.read import nuclides
from surveys.calc.leak import check_factor
from surveys.monitors.in_force import Efficiency
from surveys.monitors.models import CALIBRATION_KIND


def monitor_snapshot(
    tag: str,
    *,
    monitor_kind: str,
    maker: str = "",
    model: str = "",
    serial: str = "",
    radiation: str = "",
    presence_only: bool = False,
    required_by_law: bool = False,
) -> dict[str, Any]:
    """The description of a monitor. ``radiation``: what it measures; ``presence_only``: it shows
    that there is some and measures none."""
    return {
        "label": tag,
        "key": tag,
        "tag": tag,
        "maker": maker,
        "model": model,
        "serial": serial,
        "monitor_kind": monitor_kind,
        **said(radiation=radiation, presence_only=presence_only, required_by_law=required_by_law),
    }


def new_monitor(
    site: Site,
    snapshot: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    on: date,
    to: Item,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    **said: Any,
) -> Record:
    """Describe a monitor and receive it at its first place, in one act. ``said``: what else its
    movement says, by the names of ``Movement``."""
    return receive_new(
        site,
        snapshot,
        kind=ItemKind.MONITOR,
        by=by,
        at=at,
        on=on,
        to=to,
        request_key=request_key,
        seen=seen,
        **said,
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
    entry = Calibrated(monitor, certificate, accepted, request_key, replaces, reason)
    with writing(monitor.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, CALIBRATION_KIND):
            return done
        return record_calibrations(ledger, [entry])[0]


@dataclass(frozen=True, slots=True)
class Calibrated:
    """A calibration to be recorded."""

    monitor: Item
    certificate: Certificate
    accepted: bool = False
    request_key: uuid.UUID | None = None
    replaces: Record | None = None
    reason: str = ""

    def draft(self, table: Mapping[str, NuclideData]) -> Draft:
        """The record of it."""
        said = self.certificate
        points = [asdict(one) for one in _checked(self.monitor, said, table)]
        about = About(
            self.monitor,
            outcome="pass" if said.passed else "fail",
            accuses=not said.passed,
            valid_until=said.valid_until,
        )
        return Draft(
            CALIBRATION_KIND,
            said.on,
            [about, *_withdrawn(self.replaces, self.monitor)],
            detail={
                "certificate": said.certificate,
                "laboratory": said.laboratory,
                "valid_until": said.valid_until,
            },
            points=points,
            accepted=self.accepted,
            instrument=self.monitor,
            request_key=self.request_key,
            replaces=self.replaces,
            reason=self.reason,
        )


def record_calibrations(ledger: Ledger, entries: Sequence[Calibrated]) -> list[Record]:
    """Record many calibrations inside an open ledger, in a fixed number of queries. Raises
    DomainError; its ``number`` says which entry it is about, counted from 0."""
    site = ledger.chain.site
    if any(entry.accepted for entry in entries) and (
        site is None or Role.RPS not in roles_on(ledger.by, site, ledger.today)
    ):
        raise DomainError("only_rps_accepts")
    table = nuclides()
    drafts = []
    for number, entry in enumerate(entries):
        try:
            drafts.append(entry.draft(table))
        except DomainError as error:
            error.number = number
            raise
    return ledger.append_many(drafts)


def _withdrawn(replaces: Record | None, monitor: Item) -> list[About]:
    """Monitors that the corrected record named and this one does not: they must learn of it."""
    if replaces is None:
        return []
    named = replaces.about.exclude(item=monitor).select_related("item")
    return [About(mention.item, role="withdrawn") for mention in named]


def _checked(
    monitor: Item, certificate: Certificate, table: Mapping[str, NuclideData]
) -> list[Efficiency]:
    """The efficiencies, each under the name that the nuclide table has for its nuclide."""
    if monitor.kind != ItemKind.MONITOR:
        raise DomainError("not_a_monitor", {"item": monitor.label}, field="monitor")
    if certificate.valid_until is not None and certificate.valid_until < certificate.on:
        raise DomainError("valid_until_before_calibration", field="valid_until")
    named: dict[str, Efficiency] = {}
    for one in certificate.efficiencies:
        nuclide = resolve(one.nuclide, table)
        if nuclide.name in named:
            raise DomainError("efficiency_twice", {"nuclide": nuclide.name}, field="efficiencies")
        check_factor(one.factor(), nuclide.most_counts_per_decay)
        named[nuclide.name] = replace(one, nuclide=nuclide.name)
    return list(named.values())
