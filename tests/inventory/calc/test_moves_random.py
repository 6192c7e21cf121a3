"""Random movements of gauges and sources, judged twice: by the calculation and by hand."""

from __future__ import annotations

from collections import Counter
from datetime import time
from typing import Any

from inventory.calc.moves import VERBS, Move
from inventory.calc.stays import at, resolved, timeline
from inventory.calc.whereabouts import walk
from tests.inventory.tales import GAUGES, PLACES, SOURCES, THINGS, Tale
from tests.oracle.movements_by_hand import Site

NUMBER = {name: n for n, name in enumerate((*THINGS, *PLACES), 1)}
NAME = {number: name for name, number in NUMBER.items()}
EPISODES, ACTS = 330, 45


def moves_of(thing: str, movements: list[dict[str, Any]]) -> list[Move]:
    return [as_move(one) for one in movements if one["thing"] == thing]


def refused(movements: list[dict[str, Any]], new: dict[str, Any]) -> bool:
    """What the calculation says: of the thing, and of what a gauge takes along."""
    gauges = {NUMBER[name]: walk(moves_of(name, movements))[0] for name in GAUGES}
    things = [new["thing"], *(SOURCES if new["thing"] in GAUGES else ())]
    return any(walk(moves_of(name, movements), gauges)[1] for name in things)


def as_move(one: dict[str, Any]) -> Move:
    return Move(
        one["day"],
        time.fromisoformat(one["clock"]) if one["clock"] else None,
        one["record"],
        one["verb"],
        NUMBER[one["gauge"]] if one["gauge"] else None,
        NUMBER[one["place"]] if one["place"] else None,
        place=one["number"],
        keeping=one["kept"],
        away_to=one["whom"],
        visiting=one["theirs"],
    )


def said(span: Any) -> tuple[Any, ...] | None:
    if span is None:
        return None
    where = (NAME.get(span.gauge), NAME.get(span.location), span.whereabouts)
    return (*where, span.keeping, span.away_to)


def test_random_movements_are_judged_and_placed_as_by_hand():
    accepted: Counter[str] = Counter()
    not_accepted: Counter[str] = Counter()
    for seed in range(EPISODES):
        tale = Tale(seed)
        for _ in range(ACTS):
            new = tale.next()
            possible = tale.possible(new)
            assert refused(tale.with_it(new), new) != possible, (seed, new)
            tale.tell(new, possible)
        own = {NUMBER[name]: timeline(moves_of(name, tale.movements)) for name in THINGS}
        by_hand = Site(tale.movements)
        for name in THINGS:
            line = resolved(own[NUMBER[name]], own)
            for on in tale.days:
                assert said(at(line, on)) == by_hand.where(name, on), (seed, name, on)
        accepted += tale.accepted
        not_accepted += tale.refused
    for verb in VERBS:
        print(f"{verb:12} accepted {accepted[verb]:5} refused {not_accepted[verb]:5}")  # noqa: T201
    assert min(accepted[verb] for verb in VERBS) >= 100
    assert min(not_accepted[verb] for verb in VERBS) >= 100
