"""Tales of two gauges, three sources and three places: random movements, possible or not, most in
their order, some late, some in place of an earlier one."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta
from typing import Any

from inventory.calc.moves import KEEPINGS, VERBS
from tests.oracle.movements_by_hand import Site

BEGINS = date(2025, 1, 1)
GAUGES, SOURCES, PLACES = ("G1", "G2"), ("S1", "S2", "S3"), ("P1", "P2", "P3")
THINGS = (*GAUGES, *SOURCES)
PLACED = ("received", "removed", "moved", "stored", "returned", "found")
NAMES_WHOM = ("out", "sent_away", "transferred", "disposed")
#: What usually comes next. Chosen every other time, so that tales go on.
USUAL = {
    "nowhere": ["received"],
    "place": ["installed", "stored", "moved", "out", "sent_away", "sent_away", "left", "missing"],
    "gauge": ["removed", "removed", "missing"],
    "out": ["back", "back", "missing"],
    "transit": ["arrived", "arrived", "returned"],
    "away": ["returned", "returned", "transferred", "disposed", "disposed"],
    "missing": ["found"],
    "transferred": ["received"],
    "disposed": ["received"],
    "left": ["received"],
}
Told = dict[str, Any]


class Tale:
    """What was told and accepted so far; ``accepted`` and ``refused`` count by verb."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.movements: list[Told] = []
        self.day, self.number = BEGINS, 0
        self.accepted: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()

    def next(self) -> Told:
        """The next movement; ``corrects``: the number of the one in whose place it stands."""
        self.number += 1
        if self.movements and self.random.random() < 0.1:
            old = self.random.choice(self.movements)
            new = self._about(old["thing"], old["verb"], self._some_day())
            return new | {"number": old["number"], "corrects": old["record"]}
        self.day += timedelta(days=self.random.choice([0, 0, 1, 1, 2]))
        late = self.random.random() < 0.15
        thing = self.random.choice(THINGS)
        verb = self.random.choice(self.random.choice([VERBS, USUAL[self.now(thing)]]))
        if thing in GAUGES and verb in ("installed", "removed"):
            verb = "moved"
        return self._about(thing, verb, self._some_day() if late else self.day)

    def _some_day(self) -> date:
        return BEGINS + timedelta(days=self.random.randrange((self.day - BEGINS).days + 1))

    def _about(self, thing: str, verb: str, day: date) -> Told:
        one, source = self.random.choice, thing in SOURCES
        gauge = verb == "installed" or (verb == "received" and source and one([True, False]))
        placed = verb in PLACED or (verb == "back" and one([True, False]))
        keepings = KEEPINGS if verb in ("received", "moved", "removed") else KEEPINGS[:3]
        return {
            "number": self.number,
            "record": self.number,
            "corrects": None,
            "day": day,
            "clock": one(["", "", "", "08:30", "16:00"]),
            "thing": thing,
            "source": source,
            "verb": verb,
            "gauge": one(GAUGES) if gauge else None,
            "place": one(PLACES) if placed and not gauge else None,
            "kept": one(["in_use", "in_use", "in_use", *keepings]),
            "whom": one(["Maker", "Job"]) if verb in NAMES_WHOM else "",
            "theirs": verb == "received" and one([True, False, False]),
        }

    def now(self, thing: str) -> str:
        """Where a thing was left, in one word."""
        line = Site(self.movements).lines.get(thing)
        return str(line[-1][1]["is"]) if line else "nowhere"

    def with_it(self, new: Told) -> list[Told]:
        """Everything told, the new one in its place."""
        kept = [one for one in self.movements if one["record"] != new["corrects"]]
        return [*kept, new]

    def possible(self, new: Told) -> bool:
        """Whether everything told can be true, by hand."""
        return not Site(self.with_it(new)).wrong

    def tell(self, new: Told, accepted: bool) -> None:
        """Count it, and keep it where it was accepted."""
        (self.accepted if accepted else self.refused)[new["verb"]] += 1
        if accepted:
            self.movements = self.with_it(new)

    @property
    def days(self) -> list[date]:
        """Every day of the tale, and some before and after it."""
        return [BEGINS + timedelta(days=n) for n in range(-2, (self.day - BEGINS).days + 3)]
