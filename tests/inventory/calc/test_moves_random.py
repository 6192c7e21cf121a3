"""Random movements of gauges and sources, judged twice: by the calculation and by hand."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, time, timedelta
from typing import Any

from inventory.calc.moves import KEEPINGS, VERBS, Move
from inventory.calc.stays import at, resolved, told
from inventory.calc.whereabouts import walk
from tests.oracle.movements_by_hand import Site

D = date(2025, 1, 1)
GAUGES, SOURCES, PLACES = ("G1", "G2"), ("S1", "S2", "S3"), ("P1", "P2", "P3")
NUMBER = {name: n for n, name in enumerate((*GAUGES, *SOURCES, *PLACES), 1)}
PLACED = ("received", "removed", "moved", "stored", "returned", "found")
EPISODES, ACTS = 300, 45
#: What usually comes next. Chosen every other time, so that tales go on.
USUAL = {
    "nowhere": ["received"],
    "place": ["installed", "stored", "moved", "out", "sent_away", "sent_away", "left", "missing"],
    "gauge": ["removed", "removed", "missing"],
    "out": ["back", "back", "missing"],
    "transit": ["arrived", "arrived", "returned"],
    "away": ["returned", "returned", "transferred", "disposed"],
    "missing": ["found"],
    "transferred": ["received"],
    "disposed": ["received"],
    "left": ["received"],
}


class Tale:
    """A site of which movements are told one by one, most in their order, some late."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.movements: list[dict[str, Any]] = []
        self.day = D
        self.number = 0

    def next(self) -> dict[str, Any]:
        """The next movement, possible or not."""
        one = self.random.choice
        self.day += timedelta(days=one([0, 0, 1, 1, 2]))
        self.number += 1
        late = self.random.random() < 0.15
        thing = one([*GAUGES, *SOURCES])
        source = thing in SOURCES
        verb = one(one([VERBS, USUAL[self.now(thing)]]))
        if verb == "installed" and not source:
            verb = "moved"
        gauge = verb == "installed" or (verb == "received" and source and one([True, False]))
        back_here = verb == "back" and one([True, False])
        return {
            "number": self.number,
            "day": D + timedelta(days=self.random.randrange((self.day - D).days + 1))
            if late
            else self.day,
            "clock": one(["", "", "", "08:30", "16:00"]),
            "thing": thing,
            "source": source,
            "verb": verb,
            "gauge": one(GAUGES) if gauge else None,
            "place": one(PLACES) if not gauge and (verb in PLACED or back_here) else None,
            "kept": one(["in_use", "in_use", "in_use", *KEEPINGS]),
            "whom": one(["Maker", "Job", ""]),
            "theirs": verb == "received" and one([True, False]),
        }

    def now(self, thing: str) -> str:
        """Where a thing was left, in one word."""
        line = Site(self.movements).lines.get(thing)
        return str(line[-1][1]["is"]) if line else "nowhere"

    def moves_of(self, thing: str, more: Any = ()) -> list[Move]:
        return [as_move(one) for one in (*self.movements, *more) if one["thing"] == thing]

    def refused(self, new: dict[str, Any]) -> bool:
        """What the calculation says: of the thing, and of what a gauge takes along."""
        gauges = {
            NUMBER[name]: walk(self.moves_of(name, [new] if new["thing"] == name else []))[0]
            for name in GAUGES
        }
        things = [new["thing"], *(SOURCES if new["thing"] in GAUGES else ())]
        told_of = {
            name: self.moves_of(name, [new] if new["thing"] == name else []) for name in things
        }
        return any(walk(moves, gauges)[1] for moves in told_of.values())

    def lines(self) -> dict[str, Any]:
        """Where everything is, as the calculation has it."""
        own = {NUMBER[name]: told(self.moves_of(name)) for name in (*GAUGES, *SOURCES)}
        return {name: resolved(own[NUMBER[name]], own) for name in (*GAUGES, *SOURCES)}


def as_move(one: dict[str, Any]) -> Move:
    return Move(
        one["day"],
        time.fromisoformat(one["clock"]) if one["clock"] else None,
        one["number"],
        one["verb"],
        NUMBER[one["gauge"]] if one["gauge"] else None,
        NUMBER[one["place"]] if one["place"] else None,
        keeping=one["kept"],
        away_to=one["whom"],
        visiting=one["theirs"],
    )


def said(span: Any) -> tuple[Any, ...] | None:
    if span is None:
        return None
    name = {number: thing for thing, number in NUMBER.items()}
    return (
        name.get(span.gauge),
        name.get(span.location),
        span.whereabouts,
        span.keeping,
        span.away_to,
    )


def test_random_movements_are_judged_and_placed_as_by_hand():
    accepted: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    for seed in range(EPISODES):
        tale = Tale(seed)
        for _ in range(ACTS):
            new = tale.next()
            by_hand = Site([*tale.movements, new]).wrong
            assert tale.refused(new) == bool(by_hand), (seed, new, by_hand)
            (refused if by_hand else accepted)[new["verb"]] += 1
            if not by_hand:
                tale.movements.append(new)
        by_hand, lines = Site(tale.movements), tale.lines()
        for n in range(-2, (tale.day - D).days + 3):
            for thing in (*GAUGES, *SOURCES):
                on = D + timedelta(days=n)
                assert said(at(lines[thing], on)) == by_hand.where(thing, on), (seed, thing, on)
    for verb in VERBS:
        print(f"{verb:12} accepted {accepted[verb]:5} refused {refused[verb]:5}")  # noqa: T201
    assert min(accepted[verb] for verb in VERBS) >= 100
    assert min(refused[verb] for verb in VERBS) >= 100
