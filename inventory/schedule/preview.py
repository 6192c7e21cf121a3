"""What another schedule would change: everything on a site decided under both, on one day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import due
from inventory.calc.asof import AsOf
from inventory.calc.explain import Explained
from inventory.ledger.models import Item, ItemKind
from inventory.rules.adopted import assemble
from inventory.rules.schema import RuleSet

CHUNK = 500
#: Kinds of item of which something can be required.
KINDS = tuple(kind for kind in ItemKind if kind != ItemKind.LABORATORY)


@dataclass(frozen=True, slots=True)
class Effect:
    """A requirement of an item under two schedules; None: nothing is said of it there."""

    item: Item
    requirement: str
    before: due.Decision | None
    after: due.Decision | None

    def differs(self, on: date) -> bool:
        """Whether anybody would see another state, day or reason."""
        return _seen(self.before, on) != _seen(self.after, on)


def _seen(decision: due.Decision | None, on: date) -> tuple[Any, ...] | None:
    if decision is None:
        return None
    return decision.state_on(on), decision.due_on, decision.proposed


def preview(site: Site, detail: Mapping[str, Any], on: date) -> list[Effect]:
    """The requirements that say something else on a day under the schedule of ``detail`` than
    under the one in force, in the order of the items. A fixed number of queries a chunk."""
    return [one for one in effects(site, assemble(detail), on) if one.differs(on)]


def effects(site: Site, rules: RuleSet, on: date) -> Iterator[Effect]:
    """Every requirement of everything on the site, under the schedule in force and under these
    rules."""
    items = Item.objects.filter(site=site, kind__in=KINDS).order_by("kind", "label_sort", "pk")
    keys = list(items.values_list("pk", flat=True))
    for start in range(0, len(keys), CHUNK):
        chunk = keys[start : start + CHUNK]
        found = knowledge.load(chunk, companions=True)
        now = knowledge.states(chunk, AsOf(on))
        for pk in chunk:
            yield from _effects_on(found[pk], now, rules, on)


def _effects_on(
    one: knowledge.Known, now: Mapping[tuple[int, str], due.Decision], rules: RuleSet, on: date
) -> Iterator[Effect]:
    """The requirements of one item under both; what holds now is stored (``derive``)."""
    before = knowledge.requirements_for(one)
    after = _decisions(known_under(one, rules), on)
    for name in dict.fromkeys((*before, *after)):
        yield Effect(one.item, name, now.get((one.item.pk, name)), after.get(name))


def known_under(one: knowledge.Known, rules: RuleSet) -> knowledge.Known:
    """The same facts under other rules, whatever the day."""
    return replace(one, schedules=(due.Schedule(from_on=date.min, rules=rules),))


def _decisions(one: knowledge.Known, on: date) -> dict[str, due.Decision]:
    """The same as ``explained`` without the steps, which nobody asks for here."""
    facts = one.facts()
    names = knowledge.requirements_for(one)
    return {name: due.answer(due.Case(facts, name), on).decision for name in names}


def explained(one: knowledge.Known, on: date) -> dict[str, Explained[due.Decision]]:
    """What every requirement of an item says on a day, with its steps."""
    facts = one.facts()
    return {name: due.decide(facts, name, on) for name in knowledge.requirements_for(one)}
