"""Wipes that are away: enter the laboratory's report, give one up. Sending is in ``sending``."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from config.accounts.models import User
from inventory.calc.errors import DomainError
from inventory.knowledge import COMPLETES
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, writing
from surveys.awaited.waiting import Away, still_away, waiting, waiting_at
from surveys.leak.actions import Entry, record_wipes
from surveys.leak.models import GIVEN_UP_KIND, LEAK_TEST_KIND
from surveys.leak.wipe import DeclaredBy, FromLaboratory, Wipe


@dataclass(frozen=True, slots=True)
class Report:
    """What a laboratory's report shares over its wipes."""

    reported_on: date | None = None
    attachments: Sequence[Upload] = ()
    remark: str = ""


Result = FromLaboratory | DeclaredBy


def wipe_of(one: Away, result: Result, report: Report) -> Wipe:
    """The wipe that was sent, now with its result: effective on the day on which it was taken."""
    return Wipe(
        sources=one.sources,
        wiped_on=one.taken_on,
        result=replace(result, reported_on=result.reported_on or report.reported_on),
        why=one.detail["why"],
        method=one.detail["method"],
        point_wiped=one.detail["point_wiped"],
        sampled_by=one.record.performed_by,
        remark=report.remark,
        attachments=report.attachments,
        laboratory=one.laboratory,
    )


def record_report(
    laboratory: Item,
    report: Report,
    results: Sequence[tuple[int, Result]],
    *,
    by: User,
    at: datetime,
    accepted: bool = False,
    accept_because: str = "",
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> list[Record]:
    """Record the results of one report of a laboratory, each by the number of the wipe that it
    completes.

    One record a wipe, with a verdict for each source that it covers. Raises DomainError (its
    ``number`` says which result) or Overtaken; then nothing has been saved.
    """
    with writing(laboratory.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, LEAK_TEST_KIND):
            return [done]
        if not results:
            raise DomainError("report_without_result")
        if report.reported_on is not None and report.reported_on > ledger.today:
            raise DomainError(
                "reported_in_future", {"reported_on": report.reported_on}, field="reported_on"
            )
        found = still_away(waiting_at(laboratory), [seq for seq, _result in results])
        entries = []
        for number, (seq, result) in enumerate(results):
            one = found[seq]
            _check_reported_on(one, report, number)
            entries.append(
                Entry(
                    wipe_of(one, result, report),
                    accepted=accepted,
                    accept_because=accept_because if _declared(result) else "",
                    request_key=None if number else request_key,
                    links=[(one.record, COMPLETES)],
                )
            )
        return record_wipes(ledger, entries)


def _declared(result: Result) -> bool:
    """A reason is kept only where it was needed for what nothing but a word stands for."""
    if isinstance(result, DeclaredBy):
        return True
    said = result.figures
    measured = said.activity_bq is not None and said.expanded_uncertainty_bq is not None
    below = said.less_than_bq is not None or said.at_most_bq is not None
    return not (measured or below)  # a bare figure says no more than *passed* does


def _check_reported_on(one: Away, report: Report, number: int) -> None:
    if report.reported_on is not None and report.reported_on < one.sent_on:
        error = DomainError(
            "reported_before_sent",
            {"sent_on": one.sent_on, "reported_on": report.reported_on},
            field="reported_on",
        )
        error.number = number
        raise error


def give_up(
    record: Record,
    *,
    by: User,
    at: datetime,
    on: date,
    reason: str,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Nobody waits for this result any more, from a day on: what is due falls back to the date
    that it had without it."""
    assert record.site is not None
    if not reason.strip():
        raise DomainError("giving_up_needs_reason", field="reason")
    if on < record.effective_on:
        raise DomainError("given_up_before_taken", {"wiped_on": record.effective_on}, field="on")
    with writing(record.site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, GIVEN_UP_KIND):
            return done
        one = still_away(waiting(record.site), [record.seq])[record.seq]
        return ledger.append(
            Draft(
                GIVEN_UP_KIND,
                on,
                [About(source) for source in one.sources],
                detail={"wipe": record.seq, "laboratory_name": one.laboratory.label},
                links=[(record, COMPLETES)],
                reason=reason,
                performed_by=by.name,
                request_key=request_key,
            )
        )
