"""What a demo site is made of: plain data, days counted back from the day it is loaded.

Whatever is told this way always shows the same picture. Nothing and nobody in it is real.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.schedule.pieces import Taken
from reports.demo import told_checks, told_plans, told_things, told_wipes

#: username, first name, last name, role: the same four people on every site of the demo.
PEOPLE = (
    ("supervisor", "Rowan", "Ashdown", "rps"),
    ("technician", "Tally", "Brook", "technician"),
    ("manager", "Marlow", "Reed", "manager"),
    ("inspector", "Isla", "Fenwick", "inspector"),
)
#: What the story calls the site itself as a thing of which something is due.
THE_SITE = "the site"


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoSite:
    """One site of the demo."""

    slug: str
    name: str
    address: str
    time_zone: str
    rules: tuple[Taken, ...]
    places: Sequence[told_things.Place]
    gauges: Sequence[told_things.Gauge]
    sources: Sequence[told_things.Source]
    monitors: Sequence[told_things.Monitor]
    permits: Sequence[told_things.Permit] = ()
    persons: Sequence[told_things.Person] = ()
    moved: Sequence[told_things.Moved] = ()
    documents: Sequence[told_things.Document] = ()
    sessions: Sequence[told_wipes.Session] = ()
    laboratories: Sequence[told_wipes.Laboratory] = ()
    sent: Sequence[told_wipes.Sent] = ()
    declared: Sequence[told_wipes.Declared] = ()
    corrected: Sequence[told_wipes.Corrected] = ()
    adopted: told_checks.Adopted | None = None
    settings: Sequence[told_checks.Setting] = ()
    confirmed: Sequence[told_checks.Confirmed] = ()
    rounds: Sequence[told_checks.Round] = ()
    done: Sequence[told_checks.Done] = ()
    happened: Sequence[told_checks.Happened] = ()
    shutdowns: Sequence[told_plans.Shutdown] = ()
    booked: Sequence[told_plans.Booked] = ()
    not_done: Sequence[told_plans.NotDone] = ()
    steps: Sequence[told_plans.Steps] = ()
    supplier: str = "Invented Sources"
    method: str = "moist paper, plastic tongs"
