"""What loading a file would do to a site: compared with what the register holds, nothing written.

``plan`` is what the preview shows and what ``write`` carries out; made again inside the transaction
that writes, it tells whether anything has changed since it was shown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from config.accounts.models import Site
from inventory.ledger.models import ItemKind
from inventory.ledger.write import last_seq
from inventory.nuclides.read import nuclides
from reports.exchange import asking
from reports.exchange.checks import faults_of
from reports.exchange.days import set_days
from reports.exchange.evidence import Evidence
from reports.exchange.matching import Matching
from reports.exchange.planned import Acts, Missing, Plan, RowPlan
from reports.exchange.register_now import RegisterNow
from reports.exchange.stated import StatedSources
from reports.exchange.things import Things
from reports.exchange.told import new_source, tell_of_source, tell_of_things
from reports.exchange.understood import (
    CalibrationEntry,
    Entry,
    GaugeEntry,
    MonitorEntry,
    Question,
    SourceEntry,
    Understood,
    WipeEntry,
)
from reports.exchange.updates import Updates


def plan(site: Site, understood: Understood, today: date) -> Plan:
    """What loading a file into a site would do, row by row."""
    return _Planning(site, understood, today).plan()


class _Planning:
    """One plan on its way: first who is who, then where and since when, then what is written."""

    def __init__(self, site: Site, understood: Understood, today: date) -> None:
        self.site, self.understood, self.today = site, understood, today
        self.seen = last_seq(site)
        self.register = RegisterNow(site, today)
        self.rows = [RowPlan(row, faults=[f.text for f in row.faults]) for row in understood.wanted]
        self.answers = understood.decisions.answers
        self.things = Things(self.register)
        self.stated = StatedSources()
        self.acts = Acts()

    def plan(self) -> Plan:
        """The steps in their order."""
        self._check()
        for entry, row in self._entries(SourceEntry, GaugeEntry, MonitorEntry):
            self._name(entry, row)
        self.stated.warn_of_serials()
        matching = Matching(self.register, self.answers.get(asking.SAME_SERIAL, ""))
        matching.settle(self.stated)
        evidence = Evidence(self.register, self.things, self.stated)
        for entry, row in self._evidence():
            evidence.add(entry, row)
        evidence.settle()
        updates = Updates(self.register, self.things, self.stated, self.answers, self.today)
        self.acts.descriptions, self.acts.moves = updates.descriptions, updates.moves
        self._set_days()
        self.acts.calibrations, self.acts.wipes = evidence.to_add()
        tell_of_things(self.acts, self.things)
        return Plan(
            site=self.site,
            understood=self.understood,
            on=self.today,
            seen=self.seen,
            rows=self.rows,
            acts=self.acts,
            questions=self._questions(matching, updates),
            missing=list(self._missing(matching)),
        )

    # ------------------------------------------------------------ who is who

    def _check(self) -> None:
        table = nuclides()
        for row in self.rows:
            for entry in row.row.entries:
                row.faults += faults_of(entry, self.today, table)

    def _entries(self, *kinds: type[Entry]) -> Iterator[tuple[Entry, RowPlan]]:
        for row in self.rows:
            if not row.faults:
                for entry in row.row.entries:
                    if isinstance(entry, kinds):
                        yield entry, row

    def _name(self, entry: Entry, row: RowPlan) -> None:
        """The things that an entry names. Gauges first, for a source stands in one."""
        if isinstance(entry, GaugeEntry):
            self.things.gauge(entry, row)
        elif isinstance(entry, MonitorEntry):
            self.things.monitor(entry, row)
        elif isinstance(entry, SourceEntry):
            self._source(entry, row)

    def _source(self, entry: SourceEntry, row: RowPlan) -> None:
        inside = None
        if entry.gauge:
            gauge = GaugeEntry(entry.gauge, entry.place, model=entry.gauge_model)
            inside = self.things.gauge(gauge, row, listed=False)
        elif entry.place:
            inside = self.things.place(entry.place, row)
        stated = self.stated.add(row, entry)
        stated.thing.inside = stated.thing.inside or inside
        stated.thing.received_on = stated.thing.received_on or entry.received_on

    def _evidence(self) -> Iterator[tuple[Entry, RowPlan]]:
        """Calibrations before wipes: these may name a counter that only its calibration names."""
        for entry, row in self._entries(CalibrationEntry, MonitorEntry):
            yield entry, row
        for entry, row in self._entries(WipeEntry, SourceEntry):
            yield entry, row

    # ------------------------------------------------------------ since when

    def _set_days(self) -> None:
        sources = [(one.thing, one.plan) for one in self.stated.all]
        self.acts.things = set_days(self.register, self.things, sources, self.today)
        for one in self.stated.all:
            if one.thing.new:
                one.thing.snapshot = new_source(one)
                tell_of_source(one, self.today)

    # ------------------------------------------------------------ what is left to say

    def _questions(self, matching: Matching, updates: Updates) -> list[Question]:
        unsure = [(one.plan, one.entry.source.serial) for one in matching.contradicted]
        asked = (
            asking.same_serial(unsure),
            asking.moves(updates.elsewhere, self.today),
            asking.descriptions(updates.otherwise),
        )
        return [self._answered(question) for question in asked if question is not None]

    def _answered(self, question: Question) -> Question:
        answer = self.answers.get(question.key, question.options[0].value)
        known = answer in {option.value for option in question.options}
        if question.key == asking.MOVES:
            known = known or asking.moved_on(answer, self.today) is not None
        return replace(question, answer=answer if known else "")

    def _missing(self, matching: Matching) -> Iterator[Missing]:
        if not self.stated.all:
            return
        for held in matching.free.values():
            if held.stay is not None and held.item.kind == ItemKind.SOURCE:
                yield Missing(held.item, self.register.place_of(held))
