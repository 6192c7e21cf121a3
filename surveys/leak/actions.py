"""Record a wipe test: the verdict is made here and frozen with everything it rests on."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.knowledge import CAME_WITH, COMPLETES
from inventory.ledger.models import Item, Record, RecordLink
from inventory.ledger.write import About, Draft, Ledger, read_body, writing
from inventory.requirements.actions import accept
from surveys.laboratories.on_day import LaboratoriesOnDays
from surveys.leak.judging import Judged, judge_wipes
from surveys.leak.models import COUNTED_IN, LEAK_TEST_KIND
from surveys.leak.wipe import Counted, DeclaredBy, FromLaboratory, Wipe
from surveys.monitors.in_force import in_force


@dataclass(frozen=True, slots=True)
class Entry:
    """A wipe to be recorded. ``accepted``: by somebody who may accept, in the same act; a declared
    pass then needs ``accept_because``. ``replaces`` with ``because`` corrects an earlier record.
    ``claimed``: what the document it was taken from says of it (passed, failed or nothing)."""

    wipe: Wipe
    accepted: bool = False
    accept_because: str = ""
    request_key: uuid.UUID | None = None
    replaces: Record | None = None
    because: str = ""
    links: Sequence[tuple[Record, str]] = ()
    claimed: str = ""

    def draft(self, judged: Sequence[Judged]) -> Draft:
        """The record of it."""
        wipe = self.wipe
        return Draft(
            LEAK_TEST_KIND,
            wipe.wiped_on,
            [*_about(judged), *_withdrawn(self.replaces, judged)],
            detail=_detail(self, judged),
            points=[one.point() for one in judged],
            effective_time=wipe.wiped_time,
            performed_by=wipe.sampled_by,
            accepted=self.accepted,
            instrument=wipe.counter,
            replaces=self.replaces,
            reason=self.because,
            links=[*self.links, *_kept_links(self.replaces)],
            attachments=wipe.attachments,
            request_key=self.request_key,
            remark=wipe.remark,
        )


def _kept_links(old: Record | None) -> list[tuple[Record, str]]:
    """The wipes sent away whose result the corrected record is, the session in which it was counted
    and the arrival that it came with: the correction is theirs too."""
    if old is None:
        return []
    links = RecordLink.objects.filter(record=old, role__in=(COMPLETES, COUNTED_IN, CAME_WITH))
    return [(link.target, link.role) for link in links.select_related("target")]


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
    """Record a wipe and its verdict for each source that it covers, as an act of its own.

    A failure or an accusation acts at once, accepted or not: it opens a follow-up on every source
    that the wipe covered. Raises DomainError or Overtaken; then nothing has been saved.
    """
    entry = Entry(wipe, accepted, accept_because, request_key, replaces, because)
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, LEAK_TEST_KIND):
            return done
        return record_wipes(ledger, [entry])[0]


def record_wipes(
    ledger: Ledger, entries: Sequence[Entry], *, accept_figures: bool = False
) -> list[Record]:
    """Record many wipes inside an open ledger, in a fixed number of queries. Raises DomainError;
    its ``number`` says which entry it is about, counted from 0. ``accept_figures``: those with
    figures are accepted in the same act, bare statements are only entered."""
    for number, entry in enumerate(entries):
        _check_days(ledger, entry.wipe, number)
    judged = judge_wipes([entry.wipe for entry in entries])
    if accept_figures:
        pairs = zip(entries, judged, strict=True)
        entries = [replace(entry, accepted=_has_figures(entry, said)) for entry, said in pairs]
    if any(entry.accepted for entry in entries):
        _check_may_accept(ledger)
    for number, (entry, verdicts) in enumerate(zip(entries, judged, strict=True)):
        _check_reason(entry, verdicts, number)
    pairs = zip(entries, judged, strict=True)
    return ledger.append_many([entry.draft(verdicts) for entry, verdicts in pairs])


def _has_figures(entry: Entry, judged: Sequence[Judged]) -> bool:
    """Whether a verdict was made from figures: everything but somebody's word for it."""
    bare = isinstance(entry.wipe.result, DeclaredBy)
    return not bare and not any(one.verdict.value.needs_acceptance for one in judged)


def _check_days(ledger: Ledger, wipe: Wipe, number: int) -> None:
    error = None
    if wipe.wiped_on > ledger.today:
        error = DomainError("wiped_in_future", {"wiped_on": wipe.wiped_on}, field="wiped_on")
    elif isinstance(wipe.result, Counted) and wipe.result.counted_on > ledger.today:
        error = DomainError(
            "counted_in_future", {"counted_on": wipe.result.counted_on}, field="counted_on"
        )
    if error is not None:
        error.number = number
        raise error


def _check_may_accept(ledger: Ledger) -> None:
    site = ledger.chain.site
    if site is None or Role.RPS not in roles_on(ledger.by, site, ledger.today):
        raise DomainError("only_rps_accepts")


def _check_reason(entry: Entry, judged: Sequence[Judged], number: int) -> None:
    """A bare statement that it passed is accepted with a reason or not at all."""
    declared = any(one.verdict.value.needs_acceptance for one in judged)
    if entry.accepted and declared and not entry.accept_because.strip():
        error = DomainError("declared_needs_reason", field="accept_because")
        error.number = number
        raise error


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


def _detail(entry: Entry, judged: Sequence[Judged]) -> dict[str, Any]:
    wipe = entry.wipe
    schedule = judged[0].schedule
    calibration = judged[0].calibration
    laboratory = wipe.laboratory.label if wipe.laboratory else ""
    if isinstance(wipe.result, FromLaboratory):
        laboratory = wipe.result.laboratory
    described = judged[0].laboratory
    return {
        "way": wipe.result.way,
        "why": wipe.why,
        "method": wipe.method,
        "point_wiped": wipe.point_wiped,
        "counted_on": None,  # counts bring their own day below
        "laboratory": laboratory,
        **(described.text() if described else {}),
        "accept_because": entry.accept_because if entry.accepted else "",
        "claimed": entry.claimed,
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


def _check_laboratory(record: Record) -> None:
    """What the laboratory was known to be when the wipe was judged must still be what is known."""
    detail = read_body(record)["detail"]
    code = detail.get("laboratory_code")
    if not code:
        return
    laboratory = Item.objects.get(code=code)
    reported = detail.get("reported_on")
    day = date.fromisoformat(reported) if reported else record.effective_on
    now = LaboratoriesOnDays([laboratory])(laboratory, day)
    if str(now.described) != detail["laboratory_described"]:
        raise DomainError("laboratory_changed_since", {"item": laboratory.label})


def accept_leak_test(
    record: Record, *, by: User, at: datetime, reason: str, request_key: uuid.UUID | None = None
) -> Record:
    """Accept an entered wipe; a declared pass only with a reason, and one that was counted here
    only while the counter's calibration is still the one it was judged with; the same holds for
    what is known of a laboratory."""
    _check_calibration(record)
    _check_laboratory(record)
    return accept(
        record,
        by=by,
        at=at,
        reason=reason,
        needs_reason=needs_acceptance_reason(record),
        request_key=request_key,
    )
