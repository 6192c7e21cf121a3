"""What holds for a subject on a day: the traits that conditions of rows ask for.

What changes by decay is asked for the *decay day* (``Case.decay_day``): a level that is passed
later changes nothing until a named person has confirmed it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from inventory.calc.dates import add_months
from inventory.calc.decay import fraction
from inventory.calc.due.facts import in_force
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.calc.moves import AWAY, IN_TRANSIT, LOST
from inventory.calc.stays import at
from inventory.rules.conditions import Answer, compare, matches
from inventory.rules.schema import OF_CONTENTS, Bound, RuleSet, Wanted

if TYPE_CHECKING:
    from inventory.calc.due.case import Question

BQ_PER_TBQ = 1e12
#: Traits that come with the nuclide: absent, they are not known. An absent yes-or-no of a
#: description is a no.
OF_THE_NUCLIDE = frozenset({"gas", "alpha_emitter", "neutron_source", "nuclide"})
#: Where nobody here keeps a thing, however it was kept before.
NOT_OUR_KEEPING = (IN_TRANSIT, AWAY, LOST)


class Circumstances:
    """One subject on one day under one rule set, with activities of ``decay_day``."""

    def __init__(self, question: Question, rules: RuleSet, decay_day: date) -> None:
        self.question = question
        self.facts = question.facts
        self.traits = question.traits
        self.rules = rules
        self.on = question.on
        self.decay_day = decay_day

    def ask(self, name: str, wanted: Wanted) -> Answer:
        """Whether a condition holds on the day; None where that is not known."""
        if not isinstance(wanted, Bound):
            return self._of_word(name, wanted)
        match name:
            case "series":
                return self._series(wanted)
            case "age_months":
                return _months(_age_from(self.traits), self.on, wanted)
            case "kept_months":
                return _months(self.question.received_on, self.on, wanted)
        number = self._number(name, wanted)
        return None if number is None else compare(number, wanted)

    def _of_word(self, name: str, wanted: Wanted) -> Answer:
        if name == "contains_only":
            return self._contains_only(wanted)
        if name == "hass":
            answer = self._hass()
            return None if answer is None else answer is wanted
        if name == "working_life_past":
            until = working_life_until(self.traits, self.rules)
            return None if until is None else (self.on > until) is wanted
        found = self._word(name)
        if found is None and name in OF_THE_NUCLIDE:
            return None
        return matches(found, wanted)

    def days_until(self, name: str, wanted: Wanted) -> float | None:
        """After how many days, about, the activity of this source alone has fallen to a bound; None
        where a condition is about anything else."""
        half_life = self.traits.get("half_life_days")
        if name not in ("activity_bq", "quotient") or not isinstance(wanted, Bound):
            return None
        number = self._number(name, wanted)
        if not number or not half_life or wanted.value <= 0:
            return None
        return float(half_life) * math.log2(number / wanted.value)  # type: ignore[arg-type]

    def _word(self, name: str) -> Scalar:
        stay = self.question.stay
        if name == "keeping" and stay and stay.whereabouts in NOT_OUR_KEEPING:
            return None  # neither in storage nor in use here
        if name in ("whereabouts", "keeping", "visiting"):
            return getattr(stay, name) if stay else None
        if name == "in_device":
            return stay is not None and stay.gauge is not None
        return self.question.trait(name)

    def _number(self, name: str, wanted: Bound) -> float | None:
        if name == "activity_bq":
            stated = self.rules.basis.activity_on == "reference"
            return _stated(self.traits) if stated else self._activity(self.traits, self.decay_day)
        if name == "quotient":
            return self._quotient(self.traits, self.decay_day, wanted.table)
        if name in OF_CONTENTS:
            return self._of_contents(name, wanted.table)
        value = self.traits.get(name)
        return None if value is None or isinstance(value, date | str) else float(value)

    def _quotient(self, traits: Mapping[str, Scalar], decay_day: date, table: str) -> float | None:
        there = self.rules.tables.get(table)
        nuclide, alpha = str(traits.get("nuclide") or ""), bool(traits.get("alpha_emitter"))
        level = there.value(nuclide, alpha) if there else None
        now = self._activity(traits, decay_day)
        return None if level is None or now is None else now / level

    def _activity(self, traits: Mapping[str, Scalar], day: date) -> float | None:
        known = self.question.case.history.activities
        key = (id(traits), day)  # the facts hold the description as long as this lives
        if key not in known:
            known[key] = activity(traits, day)
        return known[key]

    def _contents(self) -> list[tuple[Mapping[str, Scalar], date]]:
        """Every source in the device on the day, each with the day of which its activity counts:
        the decay day, or its own first day where it came later."""
        stay = self.question.stay
        if self.facts.kind == "gauge":
            gauge, inside = self.facts.subject, []
        elif stay is None or stay.gauge is None:
            return [(self.traits, self.decay_day)]  # bare: it is all there is
        else:
            gauge, inside = stay.gauge, [(self.traits, self.decay_day)]
        for other in self.facts.companions:
            its = at(other.stays, self.on)
            if its is not None and its.gauge == gauge:
                day = max(self.decay_day, other.stays[0].from_on)
                inside.append((in_force(other.traits, self.on), day))
        return inside

    def _of_contents(self, name: str, table: str) -> float | None:
        """A sum over the device; None for an empty one, and where a part of it is not known."""
        inside = self._contents()
        if name == "device_quotient" and not self._in_device():
            return None
        if name == "device_quotient":
            parts = [self._quotient(traits, day, table) for traits, day in inside]
        else:
            alpha = name == "contents_alpha_bq"
            parts = [
                self._activity(traits, day) if bool(traits.get("alpha_emitter")) is alpha else 0.0
                for traits, day in inside
            ]
        known = [one for one in parts if one is not None]
        return math.fsum(known) if parts and len(known) == len(parts) else None

    def _in_device(self) -> bool:
        stay = self.question.stay
        return self.facts.kind == "gauge" or (stay is not None and stay.gauge is not None)

    def _contains_only(self, wanted: Wanted) -> Answer:
        inside = self._contents()
        if not inside or any(traits.get("nuclide") is None for traits, _day in inside):
            return None
        return all(matches(traits.get("nuclide"), wanted) for traits, _day in inside)

    def _hass(self) -> Answer:
        basis = self.rules.basis
        traits = self.traits
        level = self._hass_level()
        if level is None:
            return None
        made = basis.hass_on == "manufacture"
        now = _stated(traits) if made else self._activity(traits, self.decay_day)
        return None if now is None else compare(now, Bound(basis.hass_comparator, level))

    def _hass_level(self) -> float | None:
        """In Bq; infinite where the nuclide can never be a high-activity source."""
        table = self.rules.tables.get(self.rules.basis.hass_table)
        if table is not None:
            return table.value(str(self.traits.get("nuclide") or ""))
        if self.traits.get("hass_unlimited"):
            return math.inf
        value = self.traits.get("hass_tbq")
        return None if value is None else float(value) * BQ_PER_TBQ  # type: ignore[arg-type]

    def _series(self, wanted: Bound) -> bool:
        """No gap longer than so many months between the last own pass, the readings and today."""
        own = [event for event in self.question.passes if event.kind == self.question.case.kind]
        if not own:
            return False
        begin = own[-1].on
        if self.question.case.history.of_kinds(wanted.table).unanswered(self.on):
            return False  # a reading that found it wanting shows no soundness
        readings = self.question.clearing(wanted.table)
        days = [one.on for one in readings if begin < one.on]
        if not days:  # what nobody has read yet is no series
            return False
        points = [begin, *days, self.on]
        return all(
            later <= add_months(earlier, int(wanted.value)) for earlier, later in pairwise(points)
        )


def _stated(traits: Mapping[str, Scalar]) -> float | None:
    stated = traits.get("activity_bq")
    return None if stated is None else float(stated)  # type: ignore[arg-type]


def activity(traits: Mapping[str, Scalar], on: date) -> float | None:
    """The activity in Bq on a day, from what the description states; None where it is not known."""
    stated, reference = _stated(traits), traits.get("reference_on")
    half_life = traits.get("half_life_days")
    if stated is None or not isinstance(reference, date) or half_life is None:
        return None
    try:
        return stated * fraction((on - reference).days, float(half_life))  # type: ignore[arg-type]
    except DomainError:  # too far back for a number
        return None


def working_life_until(traits: Mapping[str, Scalar], rules: RuleSet) -> date | None:
    """The last day of the recommended working life: as stated, else from the rule set's default
    for one that nobody stated, counted from when it was made or from its reference date."""
    stated = traits.get("working_life_until")
    if isinstance(stated, date):
        return stated
    begin, months = _age_from(traits), rules.basis.working_life_months
    return add_months(begin, months) if begin and months else None


def _age_from(traits: Mapping[str, Scalar]) -> date | None:
    for name in ("made_on", "reference_on"):
        if isinstance(found := traits.get(name), date):
            return found
    return None


def _months(begin: date | None, on: date, bound: Bound) -> Answer:
    """Calendar months since a day against a bound; None where the day is not known."""
    if begin is None:
        return None
    edge = add_months(begin, int(bound.value))
    match bound.comparator:
        case "below":
            return on < edge
        case "at_most":
            return on <= edge
        case "above":
            return on > edge
        case _:
            return on >= edge
