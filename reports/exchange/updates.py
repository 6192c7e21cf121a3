"""What the file says otherwise than the register of things that are there: descriptions to be
written, and things that stand elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from inventory.calc.explain import Scalar, Step
from inventory.calc.moves import (
    AT_LOCATION,
    AWAY,
    BACK,
    FOUND,
    IN_GAUGE,
    IN_TRANSIT,
    INSTALLED,
    LOST,
    MOVED,
    RECEIVED,
    REMOVED,
    RETURNED,
    WENT_OUT,
)
from inventory.ledger.models import ItemKind, Record
from reports.exchange import asking
from reports.exchange.differences import CHANGED_SINCE, Fact, compare, facts, source_facts
from reports.exchange.fold import fold, without_zeros
from reports.exchange.planned import Describe, Difference, MoveTo, RowPlan, Thing
from reports.exchange.register_now import Held, RegisterNow
from reports.exchange.stated import Stated, StatedSources
from reports.exchange.things import Things

MOVES_LEFT = "moves_left"
#: The movement to a location, by where a thing is before it.
BRINGS_HERE = {
    AT_LOCATION: MOVED,
    WENT_OUT: BACK,
    IN_TRANSIT: RETURNED,
    AWAY: RETURNED,
    LOST: FOUND,
}
Placed = tuple[Thing, RowPlan]


class Updates:
    """``otherwise`` and ``elsewhere``: every difference that is asked about, with its row."""

    def __init__(
        self,
        register: RegisterNow,
        things: Things,
        stated: StatedSources,
        answers: Mapping[str, str],
        today: date,
    ) -> None:
        self.register, self.today = register, today
        self.change = answers.get(asking.DESCRIPTIONS) == asking.CHANGE
        self.move_on = asking.moved_on(answers.get(asking.MOVES, ""), today)
        self.descriptions: list[Describe] = []
        self.moves: list[MoveTo] = []
        self.otherwise: list[tuple[RowPlan, Difference]] = []
        self.elsewhere: list[tuple[RowPlan, Difference]] = []
        self._first = register.first_days(ItemKind.GAUGE)
        known = [(one, register.held[one.thing.item.pk]) for one in stated.all if one.thing.item]
        for one, held in known:
            self._describe(held, _facts_of(one, held), one.plan)
        placed = [(one.thing, one.plan) for one, _ in known]
        for thing in things.all:
            if thing.item is not None and thing.kind in (ItemKind.GAUGE, ItemKind.MONITOR):
                row = things.plans[id(thing)]
                held = self.register.held[thing.item.pk]
                self._describe(held, facts(**things.stated[id(thing)]), row)
                placed.append((thing, row))
        self._place([(thing, row) for thing, row in placed if self._stands_elsewhere(thing)])

    # ------------------------------------------------------------ descriptions

    def _describe(self, held: Held, stated: Iterable[Fact], row: RowPlan) -> None:
        found, snapshot = compare(held, stated)
        row.differences += found
        for one in found:
            if not one.stays:
                self.otherwise.append((row, one))
                row.writes.append(_words(one))
        if snapshot:
            before = held.in_force
            replaces = None if self.change else Record(pk=before.record, seq=before.seq)
            on = self.today if self.change else before.on
            self.descriptions.append(Describe(held.item, snapshot, on, replaces, row.row.key))

    # ------------------------------------------------------------ places

    def _stands_elsewhere(self, thing: Thing) -> bool:
        assert thing.item is not None
        stay, to = self.register.held[thing.item.pk].stay, thing.inside
        if to is None:
            return False
        if stay is None:
            return True
        here = stay.gauge_id if to.kind == ItemKind.GAUGE else stay.location_id
        return to.item is None or to.item.pk != here

    def _place(self, placed: Sequence[Placed]) -> None:
        loaded = self.register.loaded_into({one.item.pk for one, _ in placed if one.item})
        for thing, row in placed:
            assert thing.item is not None
            assert thing.inside is not None
            to = thing.inside.item.pk if thing.inside.item else None
            stays = MOVES_LEFT if self.move_on is None else ""
            if to is not None and to in loaded.get(thing.item.pk, ()):
                stays = CHANGED_SINCE
            held = self.register.held[thing.item.pk]
            old = self.register.place_of(held)
            one = Difference(thing.item.label, "place", old, _full_name(thing.inside), stays)
            row.differences.append(one)
            if stays != CHANGED_SINCE:
                self.elsewhere.append((row, one))
            if not stays:
                self._move(thing, held, row)

    def _move(self, thing: Thing, held: Held, row: RowPlan) -> None:
        on, to = self.move_on, thing.inside
        assert on is not None
        assert to is not None
        if held.stay is not None and on < held.stay.from_on:
            since = held.stay.from_on
            values: dict[str, Scalar] = {"item": held.item.label, "on": on, "since_on": since}
            row.faults.append(Step("plan_moved_too_early", values))
            return
        if to.kind == ItemKind.GAUGE and not self._is_there(to, on):
            row.faults.append(Step("gauge_not_here", {"place": to.name, "on": on}))
            return
        verb = _verb(held, to)
        if not verb:
            where = self.register.place_of(held)
            values = {"item": held.item.label, "text": where, "place": to.name}
            row.faults.append(Step("plan_not_from_there", values))
            return
        self.moves.append(MoveTo(thing, to, verb, on, row.row.key))
        to.proofs.append(on)
        values = {"item": held.item.label, "place": _full_name(to), "on": on}
        row.writes.append(Step("plan_moves", values))

    def _is_there(self, gauge: Thing, on: date) -> bool:
        if gauge.item is None:
            return gauge.received_on is None or gauge.received_on <= on
        since = self._first.get(gauge.item.pk)
        return since is not None and since <= on


def _facts_of(one: Stated, held: Held) -> Iterable[Fact]:
    """What a row states of a source; a serial that lost its zeros corrects nothing."""
    mine, theirs = one.entry.source.serial, held.data["serial"]
    lost = without_zeros(mine) == without_zeros(theirs) and len(fold(mine)) < len(fold(theirs))
    return source_facts(one.entry, serial=not lost)


def _verb(held: Held, to: Thing) -> str:
    """What brings a thing of the register to where the file says it is; empty: nothing does, as
    long as the register has it (or the gauge that it is in) somewhere else."""
    stay = held.stay
    if stay is None:
        return RECEIVED
    if to.kind == ItemKind.GAUGE:
        return INSTALLED if stay.whereabouts in (AT_LOCATION, IN_GAUGE) else ""
    if stay.gauge_id is not None:
        return REMOVED if stay.whereabouts == IN_GAUGE else ""
    return BRINGS_HERE[stay.whereabouts]


def _full_name(to: Thing) -> str:
    if to.inside is not None:
        return f"{to.name}, {to.inside.name}"
    return to.name


def _words(one: Difference) -> Step:
    values = {"item": one.thing, "field": one.field, "other": one.new}
    if not one.old:
        return Step("plan_adds_fact", values)
    return Step("plan_corrects", {**values, "one": one.old})
