"""What is possible, given everything else that is recorded: of the thing itself, and of the
sources that a gauge takes along."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from inventory import knowledge
from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar
from inventory.calc.moves import Move
from inventory.calc.whereabouts import Passed, Refusal, walk
from inventory.custody.movement import Movement, check_said
from inventory.ledger.models import Item, ItemKind, Record, RecordItem

#: Said beside the place, not beside the day.
OF_PLACE = frozenset({"gauge_not_here"})


class Recorded:
    """The movements of things, of the gauges that matter to them and of the sources inside, kept
    up as movements are added: a fixed number of queries."""

    def __init__(self, movements: Sequence[Movement]) -> None:
        items = {one.item.pk for one in movements}
        targets = {one.gauge.pk for one in movements if one.gauge}
        moved = {one.item.pk for one in movements if one.item.kind == ItemKind.GAUGE}
        self.inside = _sources_in(moved)
        sources = {pk for found in self.inside.values() for pk in found}
        self.moves = {pk: list(found) for pk, found in _moves(items | targets | sources).items()}
        named = {one.gauge for found in self.moves.values() for one in found if one.gauge}
        self.moves |= {pk: list(found) for pk, found in _moves(named - self.moves.keys()).items()}
        self._gauges = {pk: self._walked(self.moves.get(pk, ())) for pk in named | targets | moved}
        self._next = 2**31  # after every record that there is

    def check(self, movement: Movement, correcting: Record | None = None) -> Move:
        """The movement as the time line knows it. Raises DomainError for what cannot have
        happened, or would make impossible what is recorded already."""
        check_said(movement)
        others = self.moves.get(movement.item.pk, [])
        wrong = [one for one in others if correcting is not None and one.seq == correcting.seq]
        self._next += 1
        new = movement.move(self._next, wrong[0].place if wrong else 0)
        with_it = [*(one for one in others if one not in wrong), new]
        pk = movement.item.pk
        refused = self._new(pk, others, with_it) or self._new_inside(pk, with_it)
        if refused:
            raise _refused(movement, refused)
        return new

    def add(self, movement: Movement, move: Move) -> None:
        """A movement that is going to be recorded."""
        pk = movement.item.pk
        self.moves.setdefault(pk, []).append(move)
        if pk in self._gauges:
            self._gauges[pk] = self._walked(self.moves[pk])
        if movement.gauge:
            self.inside[movement.gauge.pk].add(pk)

    def _new(
        self,
        pk: int,
        before: Sequence[Move],
        then: Sequence[Move],
        gauges: Mapping[int, Sequence[Passed]] | None = None,
    ) -> list[tuple[int, Refusal]]:
        """What is refused of a thing that was not before."""
        known = {(one.move.seq, one.code) for one in walk(before, self._gauges, told=True)[1]}
        refused = walk(then, self._gauges if gauges is None else gauges, told=True)[1]
        return [(pk, one) for one in refused if (one.move.seq, one.code) not in known]

    def _new_inside(self, gauge: int, moves: Sequence[Move]) -> list[tuple[int, Refusal]]:
        """What is refused of the sources of a gauge once it has moved so."""
        if not self.inside.get(gauge):
            return []
        then = {**self._gauges, gauge: self._walked(moves)}
        return [
            refused
            for pk in sorted(self.inside[gauge])
            for refused in self._new(pk, self.moves[pk], self.moves[pk], then)
        ]

    @staticmethod
    def _walked(moves: Sequence[Move]) -> list[Passed]:
        return walk(moves, told=True)[0]


def _moves(items: Collection[int]) -> dict[int, list[Move]]:
    return knowledge.movements(items) if items else {}


def _sources_in(gauges: Collection[int]) -> dict[int, set[int]]:
    """The sources that were ever put into each of these gauges."""
    out: dict[int, set[int]] = defaultdict(set)
    if gauges:
        rows = RecordItem.objects.filter(record__movement__gauge__in=gauges)
        for gauge, item in rows.values_list("record__movement__gauge", "item"):
            out[gauge].add(item)
    return out


def _refused(movement: Movement, found: Sequence[tuple[int, Refusal]]) -> DomainError:
    pk, first = found[0]
    of_target = first.code in OF_PLACE
    gauge = first.move.gauge if of_target else first.before.gauge
    labels = dict(
        Item.objects.filter(pk__in=[one for one in (pk, gauge) if one]).values_list("pk", "label")
    )
    values: dict[str, Scalar] = {
        "item": labels[pk],
        "place": labels.get(gauge or 0) or (movement.to.label if movement.to else ""),
        "on": first.move.on,
        "since_on": first.before.since,
        "text": first.before.away_to,
    }
    return DomainError(first.code, values, field="to" if of_target else "on")
