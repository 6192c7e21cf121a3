"""The verdict of a wipe for each source that it covers, with what it rests on. Saves nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from inventory import knowledge
from inventory.calc.due import Schedule, schedule_on
from inventory.calc.errors import DomainError
from inventory.calc.explain import Explained, steps_to_data
from inventory.calc.nuclides import NuclideData
from inventory.ledger.models import Item, ItemKind, Record
from inventory.rules.schema import LimitRow
from surveys.calc import leak
from surveys.laboratories.on_day import LaboratoriesOnDays, LaboratoryOnDay
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe
from surveys.monitors.in_force import CountersOnDays, InForce


@dataclass(frozen=True, slots=True)
class Judged:
    """One source's verdict with what it rests on."""

    source: Item
    nuclide: NuclideData | None
    verdict: Explained[leak.Verdict]
    schedule: Schedule | None
    calibration: Record | None
    unfit_because: str
    laboratory: LaboratoryOnDay | None = None

    @property
    def accuses(self) -> bool:
        """Whether everybody must act as on a leak."""
        said = self.verdict.value
        return said.outcome == "fail" or bool(said.act_as_on_a_leak)

    @property
    def outcome(self) -> str:
        """The outcome in the envelope. A bare statement of a pass counts as one only once the
        supervisor has accepted the record, as every record must be before it satisfies."""
        return "pass" if self.verdict.value.needs_acceptance else self.verdict.value.outcome

    def point(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        name = self.nuclide.name if self.nuclide else None
        limit = self.laboratory.limit_for(name) if self.laboratory else None
        stated = {"laboratory_limit": {"text": limit.text, "bq": limit.bq}} if limit else {}
        return {
            **stated,
            "item": self.source.code,
            "nuclide": name,
            "half_life_days": self.nuclide.half_life_days if self.nuclide else None,
            "verdict": leak.verdict_to_data(self.verdict.value),
            "steps": steps_to_data(self.verdict.steps),
        }


def judge_wipe(wipe: Wipe) -> list[Judged]:
    """The verdict of each source, saving nothing: what the form shows before it is recorded."""
    return judge_wipes([wipe])[0]


def judge_wipes(wipes: Sequence[Wipe]) -> list[list[Judged]]:
    """The verdicts of many wipes, in a fixed number of queries. Raises DomainError; its
    ``number`` says which of them it is about, counted from 0."""
    out = []
    for number, found in enumerate(judge_each(wipes)):
        if isinstance(found, DomainError):
            found.number = number
            raise found
        out.append(found)
    return out


def judge_each(wipes: Sequence[Wipe]) -> list[list[Judged] | DomainError]:
    """The same for a page that says of each wipe what is wrong with it."""
    known = knowledge.load({source.pk for wipe in wipes for source in wipe.sources})
    counters = CountersOnDays([wipe.counter for wipe in wipes if wipe.counter is not None])
    laboratories = LaboratoriesOnDays([wipe.laboratory for wipe in wipes if wipe.laboratory])
    out: list[list[Judged] | DomainError] = []
    for wipe in wipes:
        try:
            out.append(_judged(wipe, known, counters, laboratories))
        except DomainError as error:
            out.append(error)
    return out


def _judged(
    wipe: Wipe,
    known: dict[int, knowledge.Known],
    counters: CountersOnDays,
    laboratories: LaboratoriesOnDays,
) -> list[Judged]:
    _check_wipe(wipe)
    counter = None
    if isinstance(wipe.result, Counted):
        counter = counters(wipe.result.counter, wipe.result.counted_on)
    laboratory = laboratories(wipe.laboratory, wipe.laboratory_day) if wipe.laboratory else None
    judged = []
    for source in wipe.sources:
        one = known[source.pk]
        if not wipe.from_list:
            check_wiped_on(wipe.wiped_on, one)
        judged.append(_judge(wipe, one, counter, laboratory))
    return judged


def _check_wipe(wipe: Wipe) -> None:
    if not wipe.sources:
        raise DomainError("wipe_needs_source", field="sources")
    for source in wipe.sources:
        if source.kind != ItemKind.SOURCE:
            raise DomainError("not_a_source", {"item": source.label}, field="sources")
        if list(wipe.sources).count(source) > 1:
            raise DomainError("wipe_names_source_twice", {"item": source.label}, field="sources")
    if wipe.laboratory is not None:
        _check_laboratory(wipe.laboratory, wipe.sources[0])
    if isinstance(wipe.result, Counted):
        if wipe.result.counter.kind != ItemKind.MONITOR:
            raise DomainError("not_a_monitor", {"item": wipe.result.counter.label}, field="counter")
        if wipe.result.counter.site_id != wipe.sources[0].site_id:
            raise DomainError(
                "item_of_another_site", {"item": wipe.result.counter.label}, field="counter"
            )
        if wipe.result.counted_on < wipe.wiped_on:
            raise DomainError(
                "counted_before_wiped", {"wiped_on": wipe.wiped_on}, field="counted_on"
            )


def _check_laboratory(laboratory: Item, source: Item) -> None:
    if laboratory.kind != ItemKind.LABORATORY:
        raise DomainError("not_a_laboratory", {"item": laboratory.label}, field="described")
    if laboratory.site_id != source.site_id:
        raise DomainError("item_of_another_site", {"item": laboratory.label}, field="described")


def check_wiped_on(wiped_on: date, one: knowledge.Known) -> None:
    """A wipe before everything that is known of the source is a slip of the pen."""
    data = one.snapshot_on(wiped_on)
    days = [stay.from_on for stay in one.stays] + [event.on for event in one.events]
    if data.get("reference_on"):
        days.append(date.fromisoformat(data["reference_on"]))
    if days and wiped_on < min(days):
        raise DomainError(
            "wiped_before_everything",
            {"source": one.item.label, "first_on": min(days), "wiped_on": wiped_on},
            field="wiped_on",
        )


def _judge(
    wipe: Wipe,
    one: knowledge.Known,
    counter: InForce | None,
    laboratory: LaboratoryOnDay | None,
) -> Judged:
    nuclide = one.nuclide_on(wipe.wiped_on)
    by_hand = counter or laboratory
    return Judged(
        source=one.item,
        nuclide=nuclide,
        verdict=verdict_for(one, wipe.wiped_on, _measured(wipe, nuclide, counter, laboratory)),
        schedule=schedule_on(one.schedules, wipe.wiped_on),
        calibration=counter.record if counter else None,
        unfit_because=by_hand.unfit_because if by_hand else "",
        laboratory=laboratory,
    )


def verdict_for(
    one: knowledge.Known, wiped_on: date, measured: leak.Counted | leak.Reported | leak.Declared
) -> Explained[leak.Verdict]:
    """The verdict of what was measured, for the source as it was known to be on the day of the
    wipe and by the schedule of that day."""
    nuclide = one.nuclide_on(wiped_on)
    schedule = schedule_on(one.schedules, wiped_on)
    return leak.judge(
        measured,
        limit_of(schedule.rules.leak_limit) if schedule else None,
        nuclide=nuclide.name if nuclide else None,
        gas=bool(nuclide and nuclide.gas),
        most_counts_per_decay=nuclide.most_counts_per_decay if nuclide else 1.0,
    )


def limit_of(row: LimitRow) -> leak.Limit:
    """A schedule's limit as the verdict uses it."""
    return leak.Limit(
        bq=row.bq,
        comparator=row.comparator,
        required_detection_bq=row.required_detection_bq,
        action_fraction=row.action_fraction,
        cite=row.cite,
    )


def _measured(
    wipe: Wipe,
    nuclide: NuclideData | None,
    counter: InForce | None,
    laboratory: LaboratoryOnDay | None,
) -> leak.Counted | leak.Reported | leak.Declared:
    result = wipe.result
    if isinstance(result, DeclaredBy):
        return leak.Declared(result.passed)
    if isinstance(result, FromLaboratory):
        limit = laboratory.limit_for(nuclide.name if nuclide else None) if laboratory else None
        if limit is None:
            return result.figures
        return replace(result.figures, laboratory_detection_limit_bq=limit.bq)
    efficiency = counter.efficiencies.get(nuclide.name) if counter and nuclide else None
    return leak.Counted(
        gross=tuple(result.gross),
        background=tuple(result.background),
        factor=efficiency.factor() if efficiency else None,
    )
