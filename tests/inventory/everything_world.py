"""A site on which every kind of act can happen, at random by a seed."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.calc.moves import (
    ARRIVED,
    BACK,
    DISPOSED,
    FOR_GOOD,
    INSTALLED,
    KEEPINGS,
    RECEIVED,
    TRANSFERRED,
    VERBS,
)
from inventory.calc.whereabouts import possible
from inventory.custody.actions import Movement, correct_movement, move
from inventory.custody.movement import NEEDS_LOCATION, NEEDS_WHOM
from inventory.custody.now import state_on
from inventory.ledger.models import Item, Record
from inventory.requirements.actions import set_schedule
from inventory.schedule.pieces import Decided
from inventory.schedule.settings import Wanted, make_setting
from tests import factories
from tests.inventory.schedule.world import act

TODAY, BEGIN, COMING = date(2026, 1, 5), date(2018, 1, 1), date(2026, 4, 1)
DECIDED = Decided("it was looked at", "A. Adviser", date(2026, 1, 4))
CITED = {"document": "Label", "clause": "line 4", "known_by": "own", "mode": "replaces"}
AWAY = CITED | {"months": 1, "mode": "adds", "when": {"whereabouts": ["out", "away"]}}
UNSEEN = CITED | {"months": 2, "mode": "adds", "when": {"whereabouts": ["in_transit", "missing"]}}
OTHERS = ("Kr-85", "Co-60", "Cs-137")
#: What must come back to be sent away again, and what is over then.
SOONER = {RECEIVED: -9, DISPOSED: 2}
#: Checks that at least one of the rule sets counts from.
CHECKS = (
    *("accounting_check", "working_life", "special_form", "shutter_check", "device_inspection"),
    *("check_device_reading", "permit_validity", "appointment", "stock_report"),
)


@dataclass
class Cast:
    """Everything there is, and what was tried so far."""

    site: Site
    random: random.Random
    places: list[Item]
    gauges: list[Item]
    sources: list[Item]
    monitors: list[Item]
    others: list[Item]
    tried: Counter[str] = field(default_factory=Counter)

    @property
    def moving(self) -> list[Item]:
        return [*self.sources, *self.gauges, *self.monitors]

    @property
    def items(self) -> list[Item]:
        return [*self.moving, *self.others]

    def day(self) -> date:
        return date(2025, 1, 1) + timedelta(days=self.random.randrange(365))

    def one(self, found: Any) -> Any:
        return self.random.choice(list(found))

    def record(self, *kinds: str) -> Record:
        found = Record.objects.filter(site=self.site, kind__in=kinds, replaced_by=None)
        return self.one(found.exclude(about__item__kind="location").order_by("seq"))


def build(seed: int) -> Cast:
    """Under the second British rule set: two gauges with a source each, four more sources."""
    site = factories.make_site(schedule=False)
    set_schedule(site, rule_set="gb", version=2, from_on=BEGIN, **act(site))
    mill = factories.make_location(site)
    store = factories.make_location(site, place_kind="source_store")
    gauges = [factories.make_gauge(site, at=mill) for _ in range(2)]
    small = {"activity_bq": Decimal("4e6"), "reference_on": date(2018, 1, 1)}
    sources = [
        factories.make_source(site, to=gauges[0]),
        factories.make_source(site, to=gauges[1], **small),
        factories.make_source(site, to=store, nuclide="Am-241", special_form_until=TODAY),
        *(factories.make_source(site, received=False, nuclide=name) for name in OTHERS),
    ]
    law = {"monitor_kind": "dose_rate", "radiation": "photon", "required_by_law": True}
    since = date(2025, 1, 1)
    counter = factories.make_monitor(site, calibrated_on=since)
    monitors = [counter, factories.make_monitor(site, calibrated_on=since, **law)]
    factories.record_wipe(sources[:3], counter, since)
    others = [
        factories.make_permit(site, valid_until=date(2026, 6, 1)),
        factories.make_person(site),
        Item.objects.get(site=site, kind="site"),
    ]
    for item in (*gauges, *sources[2:]):
        make_setting(item, Wanted("leak_test", AWAY, "site", BEGIN), **act(site))
        make_setting(item, Wanted("leak_test", UNSEEN, "permit", BEGIN), **act(site))
    for item, asked in ((monitors[1], "check_device_reading"), (others[-1], "stock_report")):
        make_setting(item, Wanted(asked, CITED | {"months": 2}, "site", BEGIN), **act(site))
    yearly = Wanted("calibration", CITED | {"months": 12}, "adviser", BEGIN)
    make_setting(counter, yearly, **act(site))  # else no wipe counts where nobody has said so
    return Cast(site, random.Random(seed), [mill, store], gauges, sources, monitors, others)


# --- movements ---------------------------------------------------------------------------------


def movement(cast: Cast) -> None:
    """What has been tried least of all that can follow."""
    for verb, item, since in could_follow(cast)[:12]:
        begin = max(since or BEGIN, date(2025, 1, 1))
        on = min(TODAY, begin + timedelta(days=cast.random.randrange(25)))
        try:
            move(a_movement(cast, verb, item, on), **act(cast.site))
        except DomainError:
            continue
        cast.tried[verb] += 1
        return


def could_follow(cast: Cast) -> list[tuple[str, Item, date | None]]:
    """What can follow (verb, item, since when it is where it is), the least tried first. Only
    what is spare leaves for good, and nothing before it has been all else."""
    items = [*cast.sources, *cast.gauges, cast.monitors[1]]
    moves = knowledge.movements([one.pk for one in items])
    options = []
    for item in items:
        state = state_on(moves.get(item.pk, []), TODAY)
        gauge = state_on(moves[state.gauge], TODAY) if state.gauge else None
        verbs = [one for one in possible(state, gauge) if spare(cast, item) or one not in FOR_GOOD]
        options += [(verb, item, state.since) for verb in verbs]
    cast.random.shuffle(options)
    return sorted(options, key=lambda one: cast.tried[one[0]] + SOONER.get(one[0], 0))


def spare(cast: Cast, item: Item) -> bool:
    return item in cast.sources[3:]


def a_movement(cast: Cast, verb: str, item: Item, on: date) -> Movement:
    more: dict[str, Any] = {}
    if verb in NEEDS_WHOM:
        more["away_to"] = "A works"
    elif verb != ARRIVED:
        more["keeping"] = cast.one(one for one in KEEPINGS if one != "packed")
    if verb == TRANSFERRED:
        more["authorisation"] = "Permit 7"
    if verb == RECEIVED and item == cast.sources[-1]:
        more["owner"] = "A contractor"
    to = cast.one(cast.places) if verb in (RECEIVED, BACK, *NEEDS_LOCATION) else None
    return Movement(verb, item, cast.one(cast.gauges) if verb == INSTALLED else to, on, **more)


def corrected_movement(cast: Cast) -> None:
    old = cast.record(*VERBS)
    on = old.effective_on + timedelta(days=cast.random.randrange(-40, 40))
    new = a_movement(cast, old.kind, old.about.get().item, min(on, TODAY))
    correct_movement(old, new, reason="wrong day", **act(cast.site))
