"""The registers there are: what each is called, what it says, and how it is built."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from config.accounts.models import Site, User
from inventory.calc.asof import AsOf
from reports.audit import build as audit
from reports.registers import due, leak, monitor, source
from reports.registers.base import Register


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of register. ``ranged``: it can begin on a day, for it lists what happened."""

    key: str
    title: str | Promise
    about: str | Promise
    make: Callable[..., Register]
    ranged: bool = False


KINDS: Mapping[str, Kind] = {
    kind.key: kind
    for kind in (
        Kind(
            source.KIND,
            _("Sealed sources"),
            _("Every source that was there: what it is, how active, where, and its leak test."),
            source.build,
        ),
        Kind(
            leak.KIND,
            _("Leak tests"),
            _("Every wipe: result, limit, verdict, who took and counted it, and on which counter."),
            leak.build,
            ranged=True,
        ),
        Kind(
            monitor.KIND,
            _("Monitors and calibrations"),
            _("Every monitor that was there: last calibration, efficiencies, until when it holds."),
            monitor.build,
        ),
        Kind(
            due.KIND,
            _("Overdue and open"),
            _("Everything that needed doing on the day, open follow-ups and open points."),
            due.build,
        ),
        Kind(
            audit.KIND,
            _("History audit"),
            _("What the past shows: late times, tests that could not tell, what has no evidence."),
            audit.build,
        ),
    )
}


def build(
    kind: Kind, site: Site, at: AsOf, *, by: User, made_at: datetime, since: date | None = None
) -> Register:
    """The register of this kind, in the caller's transaction."""
    scope: dict[str, Any] = {"since": since} if kind.ranged else {}
    return kind.make(site, at, made_by=by, made_at=made_at, **scope)
