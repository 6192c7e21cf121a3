"""The places, gauges and monitors that a file names, each once, whatever number of rows name it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from inventory.calc.explain import Step
from inventory.items.actions import location_snapshot
from inventory.ledger.models import ItemKind
from reports.exchange.fold import fold
from reports.exchange.planned import RowPlan, Thing
from reports.exchange.register_now import Held, RegisterNow
from reports.exchange.understood import GaugeEntry, MonitorEntry

#: Where a thing is received whose row names no place.
NOWHERE = "place not stated"


class Things:
    """Finds what is in the register, makes what is not. ``stated`` keeps what the rows say of a
    thing, field by field: the first that says something is taken."""

    def __init__(self, register: RegisterNow) -> None:
        self.register = register
        self.all: list[Thing] = []
        self.stated: dict[int, dict[str, str]] = defaultdict(dict)
        self.plans: dict[int, RowPlan] = {}  # of the row that names a thing first
        self.listed: set[int] = set()  # gauges that have a row of their own
        self._named: dict[tuple[str, str], Thing] = {}
        self._held: dict[tuple[str, str], list[Held]] = defaultdict(list)
        self._by_serial: dict[str, list[Thing]] = defaultdict(list)
        for kind, name in ((ItemKind.LOCATION, "name"), (ItemKind.GAUGE, "tag")):
            for one in register.of_kind(kind):
                self._held[kind, fold(one.data[name])].append(one)
        for one in register.of_kind(ItemKind.MONITOR):
            self._held[ItemKind.MONITOR, fold(one.data["tag"])].append(one)
            self._held["serial", fold(one.data["serial"])].append(one)

    # ------------------------------------------------------------ by kind

    def place(self, name: str, plan: RowPlan) -> Thing:
        """A place by its name; where none is stated, the place that says so."""
        name = name or NOWHERE
        thing, new = self._thing(ItemKind.LOCATION, name, plan)
        if new:
            thing.snapshot = location_snapshot(name)
        return thing

    def gauge(self, entry: GaugeEntry, plan: RowPlan, *, listed: bool = True) -> Thing:
        """A gauge by its tag, with what the row states of it. Not ``listed``: the row is that of a
        source in it."""
        thing = self._thing(ItemKind.GAUGE, entry.tag, plan)[0]
        if listed:
            self.listed.add(id(thing))
        names = ("maker", "model", "housing_serial", "whom_to_ask")
        self._state(thing, {name: getattr(entry, name) for name in names}, plan)
        self._stands(thing, entry.place, plan)
        thing.received_on = thing.received_on or entry.received_on
        return thing

    def monitor(self, entry: MonitorEntry, plan: RowPlan) -> Thing:
        """A monitor by its tag, with what the row states of it."""
        thing = self._thing(ItemKind.MONITOR, entry.tag, plan)[0]
        names = ("maker", "model", "serial", "monitor_kind")
        self._state(thing, {name: getattr(entry, name) for name in names}, plan)
        self._stands(thing, entry.place, plan)
        thing.received_on = thing.received_on or entry.received_on
        if entry.serial and thing not in self._by_serial[fold(entry.serial)]:
            self._by_serial[fold(entry.serial)].append(thing)
        return thing

    def monitor_called(self, name: str, plan: RowPlan) -> Thing | None:
        """A monitor of the file or of the register by its tag or serial. None: it is said why."""
        key = (ItemKind.MONITOR, fold(name))
        if key in self._named or key in self._held:
            return self._thing(ItemKind.MONITOR, name, plan)[0]
        found: list[Thing] = list(self._by_serial.get(fold(name), ()))
        named = {thing.item.pk for thing in found if thing.item is not None}
        for held in self._held.get(("serial", fold(name)), ()) if name else ():
            if held.item.pk not in named:
                found.append(self._thing(ItemKind.MONITOR, held.data["tag"], plan)[0])
        if len(found) == 1:
            return found[0]
        code = "plan_two_monitors" if found else "plan_monitor_unknown"
        plan.faults.append(Step(code, {"text": name}))
        return None

    def gauge_called(self, tag: str) -> Thing | None:
        """A gauge of the file or of the register."""
        key = (ItemKind.GAUGE, fold(tag))
        if key in self._named:
            return self._named[key]
        found = self._held.get(key, [])
        return Thing(ItemKind.GAUGE, tag, "", found[0].item) if len(found) == 1 else None

    # ------------------------------------------------------------ parts

    def _thing(self, kind: str, name: str, plan: RowPlan) -> tuple[Thing, bool]:
        key = (kind, fold(name))
        if key in self._named:
            return self._named[key], False
        held = self._held.get(key, [])
        if len(held) > 1:
            plan.faults.append(Step("plan_two_of_that_name", {"text": name}))
        thing = self._named[key] = Thing(
            kind, name, plan.row.key, item=held[0].item if held else None
        )
        self.all.append(thing)
        self.plans[id(thing)] = plan
        return thing, thing.new

    def _state(self, thing: Thing, values: Mapping[str, str], plan: RowPlan) -> None:
        known = self.stated[id(thing)]
        for name, text in values.items():
            if text and fold(known.setdefault(name, text)) != fold(text):
                plan.notes.append(
                    Step(
                        "plan_states_otherwise",
                        {"item": thing.name, "field": name, "one": known[name], "other": text},
                    )
                )

    def _stands(self, thing: Thing, place: str, plan: RowPlan) -> None:
        if not place:
            return
        if thing.inside is None:
            thing.inside = self.place(place, plan)
        elif fold(thing.inside.name) != fold(place):
            plan.faults.append(
                Step(
                    "plan_two_places",
                    {"item": thing.name, "one": thing.inside.name, "other": place},
                )
            )
