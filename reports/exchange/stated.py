"""The sources that a file states: which rows mean the same one, which serials stand there twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inventory.calc.explain import Step
from inventory.ledger.models import ItemKind
from reports.exchange.fold import fold, skeleton
from reports.exchange.planned import RowPlan, Thing
from reports.exchange.understood import SourceEntry

Identity = tuple[str, ...]


def identity_of(entry: SourceEntry) -> Identity:
    """Nuclide, maker, model and serial; without a serial everything that the row says of it."""
    source = entry.source
    named = (source.nuclide, fold(source.maker), fold(source.model))
    if source.serial:
        return (*named, fold(source.serial))
    activity = str(source.activity_bq.normalize()) if source.activity_bq else ""
    return (
        *named,
        "",
        activity,
        str(source.reference_on or ""),
        *(fold(source.serial_unknown_because), fold(entry.place), fold(entry.gauge)),
    )


@dataclass(slots=True, eq=False)
class Stated:
    """A source of the file. ``identity`` of one without a serial ends with its number among those
    that say the same, so that two of them stay two."""

    plan: RowPlan
    entry: SourceEntry
    identity: Identity
    thing: Thing
    settled: bool = False  # it is known which source of the register it is, or that it is none

    @property
    def nuclide(self) -> str:
        """Its nuclide."""
        return self.entry.source.nuclide

    @property
    def serial(self) -> str:
        """Its serial, folded."""
        return fold(self.entry.source.serial)

    def agrees(self, other: SourceEntry) -> bool:
        """Whether everything that both state is the same: activity, reference date, place."""
        mine, theirs = self.entry, other
        pairs = (
            (mine.source.activity_bq, theirs.source.activity_bq),
            (mine.source.reference_on, theirs.source.reference_on),
            (fold(mine.gauge), fold(theirs.gauge)),
            (fold(mine.place), fold(theirs.place)),
        )
        return all(not one or not two or one == two for one, two in pairs)


class StatedSources:
    """Every source of a file once. ``of_entry`` gives each row's entries theirs, by place."""

    def __init__(self) -> None:
        self.all: list[Stated] = []
        self.of_entry: dict[int, Stated] = {}
        self._by_identity: dict[Identity, list[Stated]] = defaultdict(list)

    def add(self, plan: RowPlan, entry: SourceEntry) -> Stated:
        """The source that an entry means: an earlier row's, or one more."""
        identity = identity_of(entry)
        earlier = self._by_identity[identity]
        same = next((one for one in earlier if one.agrees(entry)), None)
        if same is not None and entry.source.serial:
            plan.same_as = same.plan.row.key
            plan.notes.append(Step("plan_same_source", {"row": same.plan.row.key}))
            self.of_entry[id(entry)] = same
            return same
        if earlier and not entry.source.serial and earlier[-1].plan is not plan:
            plan.notes.append(Step("plan_same_words", {"row": earlier[-1].plan.row.key}))
        name = entry.source.serial or f"{entry.source.nuclide} serial not known"
        thing = Thing(
            ItemKind.SOURCE,
            name,
            plan.row.key,
            received_on=entry.received_on,
            supplier=entry.supplier,
        )
        numbered = identity if entry.source.serial else (*identity, str(len(earlier)))
        stated = Stated(plan, entry, numbered, thing)
        earlier.append(stated)
        self.all.append(stated)
        self.of_entry[id(entry)] = stated
        return stated

    def warn_of_serials(self) -> None:
        """Serials that stand there for two sources, or for two that only look alike."""
        for same in _groups((one.serial, one) for one in self.all if one.serial):
            for one, other in _each_with_another(same):
                repeated(one, other.plan.row.key)
        looks = ((skeleton(one.entry.source.serial), one) for one in self.all if one.serial)
        for alike in _groups(looks):
            for one in alike:
                for other in [two for two in alike if two.serial != one.serial][:1]:
                    looks_like(one, other.entry.source.serial, other.plan.row.key)


def repeated(one: Stated, where: str) -> None:
    """Say that its serial stands for another source too, and keep it as an open point."""
    serial = one.entry.source.serial
    one.plan.notes.append(Step("plan_serial_repeated", {"text": serial, "row": where}))
    one.thing.doubts["serial_repeated"] = serial


def looks_like(one: Stated, serial: str, where: str) -> None:
    """Say that its serial only looks like another one."""
    values = {"text": one.entry.source.serial, "other": serial, "row": where}
    one.plan.notes.append(Step("plan_serial_looks_like", values))


def _groups(pairs: Iterator[tuple[str, Stated]]) -> Iterator[list[Stated]]:
    groups: dict[str, list[Stated]] = defaultdict(list)
    for key, one in pairs:
        groups[key].append(one)
    yield from (group for group in groups.values() if len(group) > 1)


def _each_with_another(group: Sequence[Stated]) -> Iterator[tuple[Stated, Stated]]:
    for place, one in enumerate(group):
        yield one, group[place - 1 if place else 1]
