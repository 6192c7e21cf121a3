"""Which sources a wipe of its own row covers: by serial, or everything in a gauge that day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date

from inventory.calc.explain import Step
from inventory.ledger.models import ItemKind
from reports.exchange.fold import fold, without_zeros
from reports.exchange.planned import RowPlan, Thing
from reports.exchange.register_now import RegisterNow
from reports.exchange.stated import StatedSources
from reports.exchange.things import Things
from reports.exchange.understood import WipeEntry


class Subjects:
    """The sources of the file and of the register, by serial and by gauge."""

    def __init__(
        self,
        register: RegisterNow,
        things: Things,
        stated: StatedSources,
        wiped_gauges: Collection[str],
    ) -> None:
        self.register, self.things = register, things
        self._serials: dict[str, list[tuple[str, Thing]]] = defaultdict(list)
        self._bare: dict[str, list[tuple[str, Thing]]] = defaultdict(list)
        self._of_item: dict[int, Thing] = {}
        self._coming: dict[int, list[Thing]] = defaultdict(list)
        for one in stated.all:
            self._know(one.entry.source.serial, one.nuclide, one.thing)
            if one.thing.new and one.thing.inside is not None:
                self._coming[id(one.thing.inside)].append(one.thing)
        for held in register.of_kind(ItemKind.SOURCE):
            if held.item.pk not in self._of_item:
                thing = Thing(ItemKind.SOURCE, held.item.label, "", held.item)
                self._know(held.data["serial"], held.data["nuclide"], thing)
        gauges = filter(None, map(things.gauge_called, wiped_gauges))
        self._stays = register.inside({one.item.pk for one in gauges if one.item is not None})

    def of(self, entry: WipeEntry, plan: RowPlan) -> list[Thing]:
        """The sources that a wipe covers; none: the row is at fault, and it is said why."""
        if entry.gauge and not entry.subjects:
            return self._in_gauge(entry, plan)
        found = [self._by_serial(serial, entry.nuclide, plan) for serial in entry.subjects]
        return list(dict.fromkeys(one for one in found if one is not None))

    def _know(self, serial: str, nuclide: str, thing: Thing) -> None:
        if thing.item is not None:
            self._of_item[thing.item.pk] = thing
        if serial:
            self._serials[fold(serial)].append((nuclide, thing))
            self._bare[without_zeros(serial)].append((nuclide, thing))

    def _by_serial(self, serial: str, nuclide: str, plan: RowPlan) -> Thing | None:
        found = _of_nuclide(self._serials.get(fold(serial), ()), nuclide)
        if not found:
            found = _of_nuclide(self._bare.get(without_zeros(serial), ()), nuclide)
            if len(found) == 1:
                values = {"text": serial, "other": found[0].name}
                plan.notes.append(Step("plan_zeros_lost", values))
        if len(found) == 1:
            return found[0]
        code = "plan_two_sources_of_serial" if found else "plan_serial_unknown"
        plan.faults.append(Step(code, {"text": serial}))
        return None

    def _in_gauge(self, entry: WipeEntry, plan: RowPlan) -> list[Thing]:
        gauge = self.things.gauge_called(entry.gauge)
        if gauge is None:
            plan.faults.append(Step("plan_gauge_unknown", {"text": entry.gauge}))
            return []
        found = [
            one
            for one in self._coming[id(gauge)]
            if one.received_on is None or one.received_on <= entry.on
        ]
        if gauge.item is not None:
            found += self._there(gauge.item.pk, entry.on)
        if not found:
            plan.faults.append(Step("plan_gauge_empty", {"item": gauge.name, "on": entry.on}))
        return found

    def _there(self, gauge: int, on: date) -> Iterable[Thing]:
        for stay in self._stays.get(gauge, ()):
            if stay.from_on <= on <= stay.until_on and stay.item_id in self._of_item:
                yield self._of_item[stay.item_id]


def _of_nuclide(found: Iterable[tuple[str, Thing]], nuclide: str) -> list[Thing]:
    """Those of the nuclide where one is stated and tells them apart."""
    every = list(found)
    same = [thing for name, thing in every if nuclide and name == nuclide]
    return same if nuclide else [thing for _, thing in every]
