"""Record a wipe test: the verdict is made here and frozen with everything it rests on."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory import knowledge
from inventory.calc.due import Schedule
from inventory.calc.errors import DomainError
from inventory.calc.explain import Explained, steps_to_data
from inventory.calc.nuclides import NuclideData
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, read_body, writing
from inventory.requirements.actions import accept
from inventory.rules.schema import LimitRow
from surveys.calc import leak
from surveys.leak.models import LEAK_TEST_KIND, Way
from surveys.monitors.actions import InForce, in_force

Count = tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class Counted:
    """Counts of a wipe on one counter; all of them pool."""

    counter: Item
    counted_on: date
    gross: Sequence[Count]
    background: Sequence[Count]
    counted_by: str = ""

    way = Way.COUNTS

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {
            "counted_on": self.counted_on,
            "counted_by": self.counted_by,
            "gross": [list(one) for one in self.gross],
            "background": [list(one) for one in self.background],
        }


@dataclass(frozen=True, slots=True)
class FromLaboratory:
    """A laboratory's report; ``figures`` are in Bq, ``stated`` is what the report says."""

    laboratory: str
    figures: leak.Reported
    stated: dict[str, str] = field(default_factory=dict)
    reported_on: date | None = None
    report: str = ""

    way = Way.REPORTED

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {"stated": self.stated, "reported_on": self.reported_on, "report": self.report}


@dataclass(frozen=True, slots=True)
class DeclaredBy:
    """Somebody says that it passed or failed, without figures."""

    passed: bool
    declared_by: str
    document: str = ""

    way = Way.DECLARED

    def text(self) -> dict[str, Any]:
        """What the record's text keeps of it."""
        return {
            "passed": self.passed,
            "declared_by": self.declared_by,
            "document": self.document,
        }


@dataclass(frozen=True, slots=True)
class Wipe:
    """A wipe and its result, as a form, an import row or a command gives it."""

    sources: Sequence[Item]
    wiped_on: date
    result: Counted | FromLaboratory | DeclaredBy
    wiped_time: time | None = None
    why: str = "routine"
    method: str = ""
    point_wiped: str = ""
    sampled_by: str = ""
    remark: str = ""
    attachments: Sequence[Upload] = ()

    @property
    def counter(self) -> Item | None:
        """The counter, when it was counted here."""
        return self.result.counter if isinstance(self.result, Counted) else None


@dataclass(frozen=True, slots=True)
class Judged:
    """One source's verdict with what it rests on."""

    source: Item
    nuclide: NuclideData | None
    verdict: Explained[leak.Verdict]
    schedule: Schedule | None
    calibration: Record | None
    unfit_because: str

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
        return {
            "item": self.source.code,
            "nuclide": self.nuclide.name if self.nuclide else None,
            "half_life_days": self.nuclide.half_life_days if self.nuclide else None,
            "verdict": leak.verdict_to_data(self.verdict.value),
            "steps": steps_to_data(self.verdict.steps),
        }


def judge_wipe(wipe: Wipe) -> list[Judged]:
    """The verdict of each source, saving nothing: what the form shows before it is recorded."""
    _check_wipe(wipe)
    known = knowledge.load([source.pk for source in wipe.sources])
    counter = None
    if isinstance(wipe.result, Counted):
        counter = in_force(wipe.result.counter, wipe.result.counted_on)
    judged = []
    for source in wipe.sources:
        one = known[source.pk]
        _check_dates(wipe, one)
        judged.append(_judge(wipe, one, counter))
    return judged


def _check_wipe(wipe: Wipe) -> None:
    if not wipe.sources:
        raise DomainError("wipe_needs_source", field="sources")
    for source in wipe.sources:
        if source.kind != ItemKind.SOURCE:
            raise DomainError("not_a_source", {"item": source.label}, field="sources")
        if list(wipe.sources).count(source) > 1:
            raise DomainError("wipe_names_source_twice", {"item": source.label}, field="sources")
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


def _check_dates(wipe: Wipe, one: knowledge.Known) -> None:
    """A wipe before everything that is known of the source is a slip of the pen."""
    data = one.snapshot_on(wipe.wiped_on)
    days = [stay.from_on for stay in one.stays] + [event.on for event in one.events]
    if data.get("reference_on"):
        days.append(date.fromisoformat(data["reference_on"]))
    if days and wipe.wiped_on < min(days):
        raise DomainError(
            "wiped_before_everything",
            {"source": one.item.label, "first_on": min(days), "wiped_on": wipe.wiped_on},
            field="wiped_on",
        )


def _judge(wipe: Wipe, one: knowledge.Known, counter: InForce | None) -> Judged:
    nuclide = one.nuclide_on(wipe.wiped_on)
    schedule = one.facts().schedule_on(wipe.wiped_on)
    verdict = leak.judge(
        _measured(wipe, nuclide, counter),
        _limit(schedule.rules.leak_limit) if schedule else None,
        nuclide=nuclide.name if nuclide else None,
        gas=bool(nuclide and nuclide.gas),
        most_counts_per_decay=nuclide.most_counts_per_decay if nuclide else 1.0,
    )
    return Judged(
        source=one.item,
        nuclide=nuclide,
        verdict=verdict,
        schedule=schedule,
        calibration=counter.record if counter else None,
        unfit_because=counter.unfit_because if counter else "",
    )


def _limit(row: LimitRow) -> leak.Limit:
    return leak.Limit(
        bq=row.bq,
        comparator=row.comparator,
        required_detection_bq=row.required_detection_bq,
        action_fraction=row.action_fraction,
        cite=row.cite,
    )


def _measured(
    wipe: Wipe, nuclide: NuclideData | None, counter: InForce | None
) -> leak.Counted | leak.Reported | leak.Declared:
    result = wipe.result
    if isinstance(result, DeclaredBy):
        return leak.Declared(result.passed)
    if isinstance(result, FromLaboratory):
        return result.figures
    efficiency = counter.efficiencies.get(nuclide.name) if counter and nuclide else None
    return leak.Counted(
        gross=tuple(result.gross),
        background=tuple(result.background),
        factor=efficiency.factor() if efficiency else None,
    )


def record_leak_test(
    *,
    site: Site,
    by: User,
    at: datetime,
    wipe: Wipe,
    accept_because: str = "",
    accepted: bool = False,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
    replaces: Record | None = None,
    because: str = "",
) -> Record:
    """Record a wipe and its verdict for each source that it covers.

    ``accepted``: by somebody who may accept, in the same act; a declared pass then needs
    ``accept_because``. A failure or an accusation acts at once, accepted or not: it opens a
    follow-up on every source that the wipe covered. ``replaces`` with ``because`` corrects an
    earlier record. Raises DomainError or Overtaken; then nothing has been saved.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, LEAK_TEST_KIND):
            return done
        if wipe.wiped_on > ledger.today:
            raise DomainError("wiped_in_future", {"wiped_on": wipe.wiped_on}, field="wiped_on")
        if isinstance(wipe.result, Counted) and wipe.result.counted_on > ledger.today:
            raise DomainError(
                "counted_in_future", {"counted_on": wipe.result.counted_on}, field="counted_on"
            )
        judged = judge_wipe(wipe)
        if accepted:
            _check_acceptance(ledger, judged, accept_because)
        return ledger.append(
            Draft(
                LEAK_TEST_KIND,
                wipe.wiped_on,
                [*_about(judged), *_withdrawn(replaces, judged)],
                detail=_detail(wipe, judged, accept_because if accepted else ""),
                points=[one.point() for one in judged],
                effective_time=wipe.wiped_time,
                performed_by=wipe.sampled_by,
                accepted=accepted,
                instrument=wipe.counter,
                replaces=replaces,
                reason=because,
                attachments=wipe.attachments,
                request_key=request_key,
                remark=wipe.remark,
            )
        )


def _check_acceptance(ledger: Ledger, judged: Sequence[Judged], because: str) -> None:
    site = ledger.chain.site
    if site is None or Role.RPS not in roles_on(ledger.by, site, ledger.today):
        raise DomainError("only_rps_accepts")
    if any(one.verdict.value.needs_acceptance for one in judged) and not because.strip():
        raise DomainError("declared_needs_reason", field="accept_because")


def _about(judged: Sequence[Judged]) -> list[About]:
    """A fail or accusation for one source concerns all that the wipe covered."""
    accuses = any(one.accuses for one in judged)
    return [
        About(
            one.source,
            outcome=one.outcome,
            fit=not one.unfit_because,
            unfit_because=one.unfit_because,
            accuses=accuses,
        )
        for one in judged
    ]


def _withdrawn(replaces: Record | None, judged: Sequence[Judged]) -> list[About]:
    """Sources that the corrected record named and this one does not: they must learn of it."""
    if replaces is None:
        return []
    kept = {one.source.pk for one in judged}
    return [
        About(mention.item, role="withdrawn")
        for mention in replaces.about.select_related("item")
        if mention.item_id not in kept
    ]


def _detail(wipe: Wipe, judged: Sequence[Judged], accept_because: str) -> dict[str, Any]:
    schedule = judged[0].schedule
    calibration = judged[0].calibration
    laboratory = wipe.result.laboratory if isinstance(wipe.result, FromLaboratory) else ""
    return {
        "way": wipe.result.way,
        "why": wipe.why,
        "method": wipe.method,
        "point_wiped": wipe.point_wiped,
        "counted_on": None,  # counts bring their own day below
        "laboratory": laboratory,
        "accept_because": accept_because,
        "calibration": calibration.seq if calibration else None,
        "schedule": {
            "rule_set": schedule.rules.id,
            "version": schedule.rules.version,
            "title": schedule.rules.title,
            "sha256": schedule.rules.sha256,
            "adopted_on": schedule.adopted_on,
            "adopted_by": schedule.adopted_by,
        }
        if schedule
        else None,
        **wipe.result.text(),
    }


def needs_acceptance_reason(record: Record) -> bool:
    """Whether a recorded wipe holds a bare statement that it passed."""
    return any(point["verdict"]["needs_acceptance"] for point in read_body(record)["points"])


def _check_calibration(record: Record) -> None:
    detail = read_body(record)["detail"]
    if record.instrument is None:
        return
    now = in_force(record.instrument, date.fromisoformat(detail["counted_on"]))
    frozen = detail["calibration"]
    if (str(now.record.seq) if now.record else None) != frozen:
        raise DomainError("calibration_changed_since")
    was_fit = record.about.filter(role="subject", fit=True).exists()
    if was_fit and now.unfit_because:
        raise DomainError("calibration_changed_since")


def accept_leak_test(
    record: Record, *, by: User, at: datetime, reason: str, request_key: uuid.UUID | None = None
) -> Record:
    """Accept an entered wipe; a declared pass only with a reason, and one that was counted here
    only while the counter's calibration is still the one it was judged with."""
    _check_calibration(record)
    return accept(
        record,
        by=by,
        at=at,
        reason=reason,
        needs_reason=needs_acceptance_reason(record),
        request_key=request_key,
    )
