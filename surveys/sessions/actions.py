"""Record a counting session: the session and every wipe of it in one act."""

from __future__ import annotations

import uuid
from datetime import datetime
from typing import Any

from config.accounts.models import Role, Site, User, roles_on
from inventory.calc.errors import DomainError
from inventory.calc.explain import steps_to_data
from inventory.ledger.models import ItemKind, Record
from inventory.ledger.write import About, Draft, Ledger, writing
from surveys.leak.actions import Entry, record_wipes
from surveys.leak.models import COUNTED_IN, SESSION_KIND
from surveys.sessions.checks import check, check_text, reads_low
from surveys.sessions.session import CHECK_ROLE, Session


def record_session(
    *,
    site: Site,
    by: User,
    at: datetime,
    session: Session,
    accepted: bool = False,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Record a session and its wipes. ``accepted``: every wipe by the supervisor in the same act,
    but none where the check source says that the counter may see too little.

    Raises DomainError (its ``number`` says which wipe it is about, counted from 0) or Overtaken;
    then nothing has been saved.
    """
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, SESSION_KIND):
            return done
        _check(ledger, session)
        if accepted and Role.RPS not in roles_on(by, site, ledger.today):
            raise DomainError("only_rps_accepts")
        accepted = accepted and not reads_low(check_text(session, check(session)))
        record = ledger.append(_draft(session, accepted, request_key))
        links = [(record, COUNTED_IN)]
        record_wipes(
            ledger,
            [Entry(session.wipe(one), accepted=accepted, links=links) for one in session.wipes],
        )
        return record


def _check(ledger: Ledger, session: Session) -> None:
    if session.counted_on > ledger.today:
        raise DomainError(
            "counted_in_future", {"counted_on": session.counted_on}, field="counted_on"
        )
    if not session.wipes:
        raise DomainError("session_needs_wipes")
    if not session.background:
        raise DomainError("session_needs_background", field="background_counts")
    if session.counter.kind != ItemKind.MONITOR:
        raise DomainError("not_a_monitor", {"item": session.counter.label}, field="counter")
    if session.check is not None and session.check.source.kind != ItemKind.SOURCE:
        raise DomainError(
            "not_a_source", {"item": session.check.source.label}, field="check_source"
        )


def _draft(session: Session, accepted: bool, request_key: uuid.UUID | None) -> Draft:
    about = [About(session.counter)]
    if session.check is not None:
        about.append(About(session.check.source, role=CHECK_ROLE))
    return Draft(
        SESSION_KIND,
        session.counted_on,
        about,
        detail=_detail(session),
        performed_by=session.counted_by,
        accepted=accepted,
        instrument=session.counter,
        request_key=request_key,
    )


def _detail(session: Session) -> dict[str, Any]:
    batch, checked = session.batch(), check(session)
    return {
        "counter": session.counter.code,
        "counted_on": session.counted_on,
        "counted_by": session.counted_by,
        "wipes": len(session.wipes),
        "background": [list(one) for one in session.background],
        "batch": batch.value.state if batch else "not_tested",
        "batch_steps": steps_to_data(batch.steps) if batch else [],
        "check": check_text(session, checked),
        "check_steps": steps_to_data(checked.steps) if checked else [],
    }
