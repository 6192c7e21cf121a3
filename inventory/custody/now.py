"""Where a thing is now, as the form of its next movement needs to know it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from inventory import knowledge
from inventory.calc.moves import INSTALLED, RECEIVED, REMOVED, VERBS, Move
from inventory.calc.whereabouts import State, possible, walk
from inventory.ledger.models import Item, ItemKind, RecordItem


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
