"""Where a thing is now, as the form of its next movement needs to know it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc.moves import INSTALLED, RECEIVED, REMOVED, VERBS, Move
from inventory.calc.whereabouts import NOT_BACK, State, possible, walk
from inventory.custody.models import Movement
from inventory.ledger.models import Item, ItemKind, RecordItem
from inventory.timeline import Stay


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """The state of a thing at the end of a day, and that of the gauge that it is in."""

    state: State
    gauge: State | None = None

    @property
    def possible(self) -> list[str]:
        """What can follow."""
        return possible(self.state, self.gauge)


def now(item: Item, on: date) -> Whereabouts:
    """Where an item is at the end of a day: two queries."""
    state = state_on(knowledge.movements([item.pk]).get(item.pk, []), on)
    if state.gauge is None:
        return Whereabouts(state)
    moves = knowledge.movements([state.gauge]).get(state.gauge, [])
    return Whereabouts(state, state_on(moves, on))


def state_on(moves: Sequence[Move], on: date) -> State:
    """Where something is at the end of a day, from its own movements."""
    passed = walk([move for move in moves if move.on <= on], told=True)[0]
    return passed[-1].state if passed else State()


def expected(items: Collection[int], on: date) -> dict[int, date]:
    """When those of these items that went and are not back, or visit and have not left, were to do
    so, as far as that was said: one query."""
    states = {item: state_on(moves, on) for item, moves in knowledge.movements(items).items()}
    return {item: state.awaited_on for item, state in states.items() if state.awaited_on}


def past_expected(site: Site, on: date) -> dict[int, date]:
    """The things of a site that were to be back, or to have left, before a day and are not: each
    with its day. Three queries."""
    gone = Stay.objects.on(on).filter(site=site, whereabouts__in=NOT_BACK, gauge=None)
    came = Movement.objects.filter(expected_on__lt=on).exclude(owner="")  # few, on any site
    about = came.values_list("record__about__item", "record__site")
    visitors = {item for item, of_site in about if of_site == site.pk}
    days = expected({*gone.values_list("item", flat=True), *visitors}, on)
    return {item: day for item, day in days.items() if day < on}


def verbs_of(item: Item) -> list[str]:
    """Everything that can ever happen to a thing of this kind."""
    of_sources = () if item.kind == ItemKind.SOURCE else (INSTALLED, REMOVED)
    return [verb for verb in VERBS if verb not in of_sources]


def offered(item: Item, found: Whereabouts) -> list[str]:
    """What can happen to it now; a movement of an earlier day may be any of ``verbs_of``."""
    return [verb for verb in found.possible if verb in verbs_of(item)]


@dataclass(frozen=True, slots=True)
class Visit:
    """Whose a visitor is, and until when it stays, if that was said."""

    owner: str
    until: date | None


def visits(items: Collection[int], on: date) -> dict[int, Visit]:
    """Of these items, those that arrived last as visitors: one query. Whether they are still here
    is for their stays to say."""
    came = RecordItem.objects.filter(item__in=items, kind=RECEIVED, effective_on__lte=on)
    live = came.filter(record__replaced_by=None).order_by("effective_on", "record__seq")
    names = ("item", "record__movement__owner", "record__movement__expected_on")
    last = {item: Visit(owner, until) for item, owner, until in live.values_list(*names)}
    return {item: visit for item, visit in last.items() if visit.owner}
