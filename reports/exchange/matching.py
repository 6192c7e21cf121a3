"""Which source of the register each source of a file is.

From the surest to the least sure: the whole identity; the serial alone, where it is unique on both
sides; a serial whose leading zeros were lost; without a serial what an earlier file said of it, or
place, nuclide and model. What could be two is a fault of the row, never a guess.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence

from inventory.calc.explain import Step
from inventory.ledger.models import ItemKind
from reports.exchange.asking import OTHER, SAME
from reports.exchange.fold import fold, skeleton, without_zeros
from reports.exchange.register_now import Held, RegisterNow
from reports.exchange.stated import Stated, StatedSources, looks_like, repeated


class Matching:
    """Settles the sources of a file one after another. ``answer``: what its owner says of serials
    that stand in the register with another maker or model; empty: the place decides."""

    def __init__(self, register: RegisterNow, answer: str) -> None:
        self.register, self.answer = register, answer
        self.sources = register.of_kind(ItemKind.SOURCE)
        self.free = {one.item.pk: one for one in self.sources}
        self.contradicted: list[Stated] = []
        self._alike: dict[Hashable, list[Held]] | None = None

    def settle(self, stated: StatedSources) -> None:
        """Give each source of the file its item, or leave it new."""
        with_serial = [one for one in stated.all if one.serial]
        without = [one for one in stated.all if not one.serial]
        self._by_identity(with_serial)
        self._by(with_serial, lambda one: (one.nuclide, one.serial), _serials, self._same_serial)
        self._by(
            with_serial,
            lambda one: (one.nuclide, without_zeros(one.entry.source.serial)),
            _bare_serials,
            self._lost_zeros,
        )
        self._by(without, lambda one: one.identity, _loaded_as, lambda one, held: True)
        self._by_place(stated.all)
        for one in stated.all:
            if one.thing.item is None and one.serial:
                self._warn(one)

    # ------------------------------------------------------------ the ways

    def _by_identity(self, wanted: Sequence[Stated]) -> None:
        known = _index(self.sources, _identities)
        for surely in (True, False):
            for one in _open(wanted):
                found = [held for held in known[one.identity] if held.item.pk in self.free]
                if surely or len(found) > 1:
                    found = [held for held in found if self._agrees(one, held)]
                if len(found) == 1:
                    self._take(one, found[0])
                elif len(found) > 1 and not surely:
                    _two_match(one, found)

    def _by(
        self,
        wanted: Sequence[Stated],
        key_of: Callable[[Stated], Hashable],
        keys_of: Callable[[Held], Iterable[Hashable]],
        accepts: Callable[[Stated, Held], bool],
    ) -> None:
        """Match what is unique under a key on both sides."""
        known = _index(self.free.values(), keys_of)
        groups: dict[Hashable, list[Stated]] = defaultdict(list)
        for one in _open(wanted):
            groups[key_of(one)].append(one)
        for key, group in groups.items():
            found = known.get(key, [])
            if len(group) == 1 and len(found) == 1 and accepts(group[0], found[0]):
                self._take(group[0], found[0])

    def _same_serial(self, one: Stated, held: Held) -> bool:
        if not _contradicts(one, held):
            return True
        self.contradicted.append(one)
        if self.answer in (SAME, OTHER):
            return self.answer == SAME
        return self._same_place(one, held)

    def _lost_zeros(self, one: Stated, held: Held) -> bool:
        if _contradicts(one, held):
            return False
        values = {"text": one.entry.source.serial, "other": held.data["serial"]}
        one.plan.notes.append(Step("plan_zeros_lost", values))
        return True

    def _by_place(self, wanted: Sequence[Stated]) -> None:
        """Sources whose serial is not known, on one of the two sides at least."""
        nameless: dict[str, list[Held]] = defaultdict(list)
        for held in self.free.values():
            if not held.data["serial"]:
                nameless[held.data["nuclide"]].append(held)
        groups: dict[tuple[int, ...], list[Stated]] = defaultdict(list)
        for one in _open(wanted):
            could = nameless.get(one.nuclide, ())
            found = tuple(held.item.pk for held in could if self._could_be(one, held))
            if found:
                groups[found].append(one)
        for pks, group in groups.items():
            candidates = [self.register.held[pk] for pk in pks]
            if len(group) == len(candidates) == 1 and pks[0] in self.free:
                if group[0].serial:
                    values = {"source": candidates[0].item.label}
                    group[0].plan.notes.append(Step("plan_serial_found", values))
                self._take(group[0], candidates[0])
                continue
            for one in group:
                if not one.serial:
                    _two_match(one, candidates)

    # ------------------------------------------------------------ what tells them apart

    def _could_be(self, one: Stated, held: Held) -> bool:
        source, data = one.entry.source, held.data
        if source.nuclide != data["nuclide"] or _contradicts(one, held):
            return False
        return self._same_place(one, held) and (not one.serial or _same_figures(one, held))

    def _same_place(self, one: Stated, held: Held) -> bool:
        """In the gauge that the row states, or at its place where it states none."""
        stay = held.stay
        if stay is None:
            return False
        if one.entry.gauge:
            return fold(self.register.label(stay.gauge_id)) == fold(one.entry.gauge)
        return bool(one.entry.place) and fold(self.register.label(stay.location_id)) == fold(
            one.entry.place
        )

    def _agrees(self, one: Stated, held: Held) -> bool:
        return _same_figures(one, held) and self._same_place(one, held)

    def _take(self, one: Stated, held: Held) -> None:
        one.settled = True
        one.thing.item = held.item
        del self.free[held.item.pk]

    def _warn(self, one: Stated) -> None:
        """Its serial, or one that looks like it, stands in the register for another source."""
        if self._alike is None:
            self._alike = _index(self.sources, _skeletons)
        for held in self._alike[skeleton(one.entry.source.serial)]:
            serial = held.data["serial"]
            where = held.item.label
            if fold(serial) == one.serial:
                repeated(one, where)
            else:
                looks_like(one, serial, where)


def _open(wanted: Iterable[Stated]) -> list[Stated]:
    return [one for one in wanted if not one.settled]


def _two_match(one: Stated, found: Sequence[Held]) -> None:
    one.settled = True
    labels = ", ".join(f"{held.item.label} ({held.item.code})" for held in found[:5])
    one.plan.faults.append(Step("plan_two_sources_match", {"text": labels}))


def _index(
    held: Iterable[Held], keys_of: Callable[[Held], Iterable[Hashable]]
) -> dict[Hashable, list[Held]]:
    out: dict[Hashable, list[Held]] = defaultdict(list)
    for one in held:
        for key in set(keys_of(one)):
            out[key].append(one)
    return out


def _identities(held: Held) -> Iterable[Hashable]:
    """Every identity under which it was ever described."""
    for one in held.described:
        if one.data["serial"]:
            names = ("maker", "model", "serial")
            yield (one.data["nuclide"], *(fold(one.data[name]) for name in names))


def _serials(held: Held) -> Iterable[Hashable]:
    for one in held.described:
        if one.data["serial"]:
            yield (one.data["nuclide"], fold(one.data["serial"]))


def _bare_serials(held: Held) -> Iterable[Hashable]:
    if held.data["serial"]:
        yield (held.data["nuclide"], without_zeros(held.data["serial"]))


def _skeletons(held: Held) -> Iterable[Hashable]:
    if held.data["serial"]:
        yield skeleton(held.data["serial"])


def _loaded_as(held: Held) -> Iterable[Hashable]:
    for one in held.described:
        if one.data.get("loaded_as"):
            yield tuple(one.data["loaded_as"])


def _contradicts(one: Stated, held: Held) -> bool:
    """Whether maker or model are stated on both sides and differ."""
    source, data = one.entry.source, held.data
    pairs = ((source.maker, data["maker"]), (source.model, data["model"]))
    return any(mine and theirs and fold(mine) != fold(theirs) for mine, theirs in pairs)


def _same_figures(one: Stated, held: Held) -> bool:
    """Activity and reference date are the same, where both sides know them."""
    source, data = one.entry.source, held.data
    activities = (source.activity_bq, data["activity_bq"])
    if all(activities) and float(activities[0] or 0) != float(activities[1] or 0):
        return False
    days = (source.reference_on, data["reference_on"])
    return not all(days) or str(days[0]) == str(days[1])
