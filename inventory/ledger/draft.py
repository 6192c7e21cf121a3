"""A record before it is written, and the text that it will be."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any

from config.accounts.models import User
from inventory.ledger import body as bodies
from inventory.ledger import files
from inventory.ledger.models import Chain, Item, Record

#: Kinds of record from which nothing derived follows, whatever they are about: what is written
#: about a site would otherwise bring everything there up to date.
NOTHING_FOLLOWS = frozenset({"file_loaded", "schedule_drafted", "shutdown_planned"})
#: Kinds of record about a site from which something follows for everything there: its schedule.
CONCERNS_ALL = frozenset({"schedule_set"})


@dataclass(frozen=True, slots=True)
class About:
    """What a record says about one item."""

    item: Item
    role: str = "subject"
    outcome: str = ""
    fit: bool = True
    unfit_because: str = ""
    accuses: bool = False
    valid_until: date | None = None


@dataclass(frozen=True, slots=True)
class Draft:
    """A record before it has a number and a hash."""

    kind: str
    effective_on: date
    about: Sequence[About]
    detail: Mapping[str, Any] = field(default_factory=dict)
    points: Sequence[Mapping[str, Any]] = ()
    effective_time: time | None = None
    performed_by: str = ""
    accepted: bool = False
    instrument: Item | None = None
    replaces: Record | None = None
    reason: str = ""
    links: Sequence[tuple[Record, str]] = ()
    attachments: Sequence[files.Upload] = ()
    request_key: uuid.UUID | None = None
    remark: str = ""

    @property
    def derives(self) -> bool:
        """Whether anything derived can follow from it."""
        return self.kind not in NOTHING_FOLLOWS

    @property
    def concerns_all(self) -> bool:
        """Whether something can follow from it for everything on the site."""
        return self.kind in CONCERNS_ALL


def _person(user: User) -> dict[str, Any]:
    return {"id": user.pk, "username": user.username, "name": user.name}


def body_of(draft: Draft, chain: Chain, by: User, at: datetime) -> dict[str, Any]:
    """Everything that the next record of a chain says."""
    return {
        "version": bodies.VERSION,
        "chain": str(chain),
        "seq": chain.length + 1,
        "kind": draft.kind,
        "effective_on": draft.effective_on,
        "effective_time": draft.effective_time,
        "recorded_at": at,
        "recorded_by": _person(by),
        "performed_by": draft.performed_by,
        "accepted_by": _person(by) if draft.accepted else None,
        "instrument": draft.instrument.code if draft.instrument else None,
        "replaces": draft.replaces.seq if draft.replaces else None,
        "reason": draft.reason,
        "request_key": draft.request_key,
        "remark": draft.remark,
        "items": [_about_text(about) for about in draft.about],
        "links": [{"seq": target.seq, "role": role} for target, role in draft.links],
        "attachments": _attached(draft.attachments),
        "detail": draft.detail,
        "points": list(draft.points),
    }


def _attached(uploads: Sequence[files.Upload]) -> list[dict[str, Any]]:
    """Each content once, under the first name it came with."""
    out: dict[str, dict[str, Any]] = {}
    for upload in uploads:
        stored = upload.stored()
        out.setdefault(stored.sha256, stored.text())
    return list(out.values())


def _about_text(about: About) -> dict[str, Any]:
    return {
        "item": about.item.code,
        "kind": about.item.kind,
        "role": about.role,
        "outcome": about.outcome,
        "fit": about.fit,
        "unfit_because": about.unfit_because,
        "accuses": about.accuses,
        "valid_until": about.valid_until,
    }
