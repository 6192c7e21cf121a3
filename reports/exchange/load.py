"""From a file to the register in one go: opened, understood, planned, and written unless it is only
looked at. The command is a door to this; the pages take the same steps one by one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.explain import Step
from reports.exchange.opening import open_path
from reports.exchange.plan import plan
from reports.exchange.planned import Plan
from reports.exchange.reading import understand
from reports.exchange.understood import Decisions, LoadFault
from reports.exchange.write import Loaded, write


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a file would do, and what it did; ``loaded`` None: nothing was written."""

    plan: Plan
    loaded: Loaded | None = None


def load(
    site: Site, path: Path, decisions: Decisions, *, by: User, at: datetime, check: bool = False
) -> Outcome:
    """Load a file into a site, all of it or nothing. What cannot be loaded as it stands is only
    planned, and so is everything with ``check``. Raises LoadFault, or Overtaken when others have
    written meanwhile what changes the plan."""
    today = site.day(at)
    if Role.RPS not in roles_on(by, site, today):
        raise LoadFault([Step("plan_only_rps", {"text": by.username, "place": site.name})])
    book = open_path(path)
    made = plan(site, understand(book, decisions), today)
    if check or not made.ready:
        return Outcome(made)
    return Outcome(made, write(made, path.read_bytes(), by=by, at=at))
