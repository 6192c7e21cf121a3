"""Carry out a plan: one transaction, all of it or nothing, one record that says what was loaded."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypeVar

from django.utils.translation import gettext as _

from config.accounts.models import Role, User, roles_on
from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.stays import INSTALLED, RECEIVED
from inventory.custody.actions import Movement, record_movements
from inventory.items.actions import describe_many
from inventory.ledger.body import DESCRIBED
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, Overtaken, writing
from reports.exchange.plan import plan as plan_again
from reports.exchange.planned import Plan, Thing, WipeOf
from reports.exchange.register_now import FILE_LOADED_KIND
from reports.exchange.understood import CountsStated, LoadFault
from surveys.leak.actions import Entry, record_wipes
from surveys.leak.wipe import Counted, Wipe
from surveys.monitors.actions import Calibrated, Certificate, record_calibrations

#: So many records a statement: a database takes only so many values at once.
CHUNK = 1000
ORDER = (ItemKind.LOCATION, ItemKind.GAUGE, ItemKind.MONITOR, ItemKind.SOURCE)
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Loaded:
    """What loading did. ``seq``: the record that says so; None: there was nothing to do."""

    counts: dict[str, int]
    seq: int | None


def write(plan: Plan, content: bytes, *, by: User, at: datetime, shown: str = "") -> Loaded:
    """Load what was planned. ``content``: the file, which is kept with the record; ``shown``: the
    fingerprint of the plan that its owner confirmed.

    Raises LoadFault, or Overtaken when others have written meanwhile what changes the plan; then
    nothing has been saved. Loading what is there already writes nothing at all.
    """
    site = plan.site
    if Role.RPS not in roles_on(by, site, site.day(at)):
        raise LoadFault([Step("plan_only_rps", {"text": by.username, "place": site.name})])
    with _collector_paused(), writing(site, by=by, at=at) as ledger:
        plan = _still_so(ledger, plan, shown)
        if not plan.ready:
            raise LoadFault(list(_why_not(plan)))
        if not plan.changes:
            return Loaded(plan.counts, None)
        return Loaded(plan.counts, _Writing(ledger, plan).all(content).seq)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Python's collector of cycles would walk over every row that is being made, again and again,
    and find nothing: a fifth of the time for which others wait (measured)."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def _still_so(ledger: Ledger, plan: Plan, shown: str) -> Plan:
    """The plan as it is now. Nothing may have been written since it was made that changes it."""
    if ledger.chain.length == plan.seen and ledger.today == plan.on:
        fresh = plan
    else:
        fresh = plan_again(plan.site, plan.understood, ledger.today)
    if fresh.fingerprint == (shown or plan.fingerprint):
        return fresh
    later = Record.objects.filter(chain=ledger.chain, seq__gt=plan.seen)
    if found := list(later.select_related("recorded_by").order_by("seq")):
        raise Overtaken(found)
    raise LoadFault([Step("plan_changed_since")])


def _why_not(plan: Plan) -> Iterator[Step]:
    asked = [*plan.understood.open_questions, *(q for q in plan.questions if not q.answer)]
    for question in asked:
        yield question.text
    for one in plan.faulty:
        for fault in one.faults:
            yield _of_row(one.row.key, fault)


def _of_row(key: str, why: Step) -> Step:
    return Step("plan_of_row", {"row": key}, because=(why,))


class _Writing:
    """One load inside an open ledger: things, then what happened to them, in the order of rows."""

    def __init__(self, ledger: Ledger, plan: Plan) -> None:
        self.ledger, self.plan, self.acts = ledger, plan, plan.acts
        self.first = ledger.chain.length + 1
        self.items: dict[int, Item] = {}

    def all(self, content: bytes) -> Record:
        """Everything, and the record of it."""
        self._describe_new()
        self._move()
        self._describe_again()
        self._calibrate()
        self._wipe()
        return self._say(content)

    def _item(self, thing: Thing) -> Item:
        return thing.item or self.items[id(thing)]

    def _describe_new(self) -> None:
        ordered = sorted(self.acts.things, key=lambda thing: ORDER.index(ItemKind(thing.kind)))
        for part in _parts(ordered):
            wanted = [
                (thing.kind, thing.snapshot, thing.day or self.ledger.today) for thing in part
            ]
            with _rows_named([thing.row for thing in part]):
                items = describe_many(self.ledger, wanted)
            self.items.update((id(thing), item) for thing, item in zip(part, items, strict=True))

    def _move(self) -> None:
        for part in _parts(list(self._movements())):
            with _rows_named([row for _, row in part]):
                record_movements(self.ledger, [movement for movement, _ in part])

    def _movements(self) -> Iterator[tuple[Movement, str]]:
        """Gauges come before what goes into them."""
        things = [thing for thing in self.acts.things if thing.kind != ItemKind.LOCATION]
        sources = [thing for thing in things if thing.kind == ItemKind.SOURCE]
        moves = sorted(self.acts.moves, key=lambda move: move.thing.kind == ItemKind.SOURCE)
        for thing in (*(one for one in things if one.kind != ItemKind.SOURCE), *sources):
            to, on = thing.arrives_at, thing.day
            assert to is not None
            assert on is not None
            item = self._item(thing)
            yield Movement(RECEIVED, item, self._item(to), on, supplier=thing.supplier), thing.row
        for thing in sources:
            if thing.installed_on is not None and thing.inside is not None:
                gauge = self._item(thing.inside)
                yield Movement(INSTALLED, self._item(thing), gauge, thing.installed_on), thing.row
        for move in moves:
            to_item = self._item(move.to)
            yield Movement(move.verb, self._item(move.thing), to_item, move.on), move.row

    def _describe_again(self) -> None:
        why = _("loaded from %(file)s") % {"file": self.plan.understood.book.name}
        for part in _parts(self.acts.descriptions):
            olds = Record.objects.in_bulk({one.replaces.pk for one in part if one.replaces})
            drafts = [
                Draft(
                    DESCRIBED,
                    one.on,
                    [About(one.item)],
                    detail=one.snapshot,
                    replaces=olds[one.replaces.pk] if one.replaces else None,
                    reason=why,
                )
                for one in part
            ]
            with _rows_named([one.row for one in part]):
                self.ledger.append_many(drafts)

    def _calibrate(self) -> None:
        for part in _parts(self.acts.calibrations):
            with _rows_named([one.row for one in part]):
                record_calibrations(
                    self.ledger,
                    [
                        Calibrated(self._item(one.monitor), _certificate(one.entry), accepted=True)
                        for one in part
                    ],
                )

    def _wipe(self) -> None:
        """A result beside another one of its day is entered and not accepted: the one that happens
        to stand lower in a list must not outrank a failure."""
        for beside in (False, True):
            wipes = [one for one in self.acts.wipes if one.beside is beside]
            for part in _parts(wipes):
                entries = [Entry(self._wipe_of(one), claimed=one.entry.claimed) for one in part]
                with _rows_named([one.row for one in part]):
                    record_wipes(self.ledger, entries, accept_figures=not beside)

    def _wipe_of(self, one: WipeOf) -> Wipe:
        result: Any = one.entry.result
        if isinstance(result, CountsStated):
            assert one.counter is not None
            result = Counted(
                counter=self._item(one.counter),
                counted_on=result.counted_on,
                gross=result.gross,
                background=result.background,
                counted_by=result.counted_by,
            )
        return Wipe(
            sources=[self._item(source) for source in one.sources],
            wiped_on=one.entry.on,
            result=result,
            sampled_by=one.entry.sampled_by or _("not known"),
            remark=one.entry.remark,
            from_list=True,
        )

    def _say(self, content: bytes) -> Record:
        understood, ledger = self.plan.understood, self.ledger
        site = Item.objects.get(site=self.plan.site, kind=ItemKind.SITE)
        detail = {
            "name": understood.book.name,
            "sha256": understood.book.sha256,
            "counts": self.plan.counts,
            "decisions": understood.decisions.to_data(),
            "records": {"first": self.first, "last": ledger.chain.length},
        }
        upload = Upload(understood.book.name, content)
        return ledger.append(
            Draft(
                FILE_LOADED_KIND,
                ledger.today,
                [About(site)],
                detail=detail,
                accepted=True,
                attachments=[upload],
            )
        )


def _certificate(entry: Any) -> Certificate:
    return Certificate(
        on=entry.on,
        passed=entry.passed,
        certificate=entry.certificate,
        laboratory=entry.laboratory,
        valid_until=entry.valid_until,
        efficiencies=entry.efficiencies,
    )


def _parts(rows: Sequence[T]) -> Iterator[Sequence[T]]:
    for start in range(0, len(rows), CHUNK):
        yield rows[start : start + CHUNK]


@contextmanager
def _rows_named(rows: Sequence[str]) -> Iterator[None]:
    """What is refused inside is a fault of the row that it is about."""
    try:
        yield
    except DomainError as error:
        why = Step(error.code, error.values)
        number = error.number if error.number is not None else len(rows)
        raise LoadFault([_of_row(rows[number], why) if number < len(rows) else why]) from error
