"""The only door through which evidence is written.

    with writing(site, by=user, at=now, seen=seq) as ledger:
        ledger.append(Draft(...))

One transaction: it locks the site's chain, whatever the caller decides on is read inside, the
records are appended, and on leaving everything derived from the items touched is refreshed.
"""

from __future__ import annotations

import json
import secrets
import uuid
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db import transaction
from django.db.models import CharField, Model

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.ledger import body as bodies
from inventory.ledger import canonical, files
from inventory.ledger.models import (
    Attachment,
    Chain,
    Item,
    Record,
    RecordItem,
    RecordLink,
    sort_key,
)

#: No vowels and no look-alikes: a code is read aloud at a gauge.
CODE_LETTERS = "23456789BCDFGHJKMNPQRSTVWXZ"


#: Longer than anybody waits for the lock of a chain (see ``config.env``: 20 s on SQLite).
LONGEST_WAIT = timedelta(seconds=30)


class Overtaken(Exception):
    """Others have written about the same items since the form was opened."""

    def __init__(self, records: list[Record]) -> None:
        super().__init__(f"{len(records)} records since")
        self.records = records


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


def new_code() -> str:
    """Eight characters that name an item for ever."""
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(8))


class Ledger:
    """An open transaction on one chain. Made by ``writing`` only."""

    def __init__(self, chain: Chain, by: User, at: datetime, seen: int | None) -> None:
        self.chain = chain
        self.by = by
        self.at = at
        self.seen = seen
        self.touched: set[int] = set()
        self._start = chain.length
        self._pk_of = _Keys()

    @property
    def today(self) -> date:
        """The day of recording in the site's time zone."""
        return self.chain.site.day(self.at) if self.chain.site else self.at.date()

    def already(self, request_key: uuid.UUID | None, kind: str) -> Record | None:
        """The record that this request wrote before: a double click or a resend writes once."""
        if request_key is None:
            return None
        found = Record.objects.filter(request_key=request_key).first()
        if found and (found.chain_id, found.kind) != (self.chain.pk, kind):
            raise DomainError("request_key_used_elsewhere")
        return found

    def new_item(self, kind: str, label: str, key: str, continues: Item | None = None) -> Item:
        """An item that does not exist yet; its description must follow in the same act."""
        assert self.chain.site is not None
        return Item.objects.create(
            code=new_code(),
            site=self.chain.site,
            kind=kind,
            label=label,
            label_sort=sort_key(label),
            key=sort_key(key) or "?",
            continues=continues,
        )

    def append(self, draft: Draft) -> Record:
        """Write one record. Raises DomainError or Overtaken; then nothing has been saved."""
        return self.append_many([draft])[0]

    def append_many(self, drafts: Sequence[Draft]) -> list[Record]:
        """Write several records in order, with a fixed number of statements a kind."""
        rows = [_Row(self, draft) for draft in drafts]
        with transaction.atomic():  # a caller may catch what is raised and go on in the same act
            self._catch_up()
            self._check_corrected_once(drafts)
            for row in rows:
                self._check(row.draft)
            if self.seen is not None:
                self._check_seen({about.item.pk for row in rows for about in row.draft.about})
            for row in rows:
                row.seal()
            _insert(rows, self._codes(rows))
            Chain.objects.filter(pk=self.chain.pk).update(
                length=self.chain.length, head=self.chain.head
            )
        self.touched.update(about.item.pk for row in rows for about in row.draft.about)
        return [row.record for row in rows]

    def _catch_up(self) -> None:
        """Go on from where the chain is. It is locked, but an act inside this one may have written
        to it, and what was appended before may have been rolled back with a savepoint."""
        known = self.chain.length
        self.chain.refresh_from_db(fields=["length", "head"])
        if self.chain.length != known:
            self.at = _moment(self.chain, self.at)

    def _check(self, draft: Draft) -> None:
        if draft.effective_on > self.today:
            raise DomainError("effective_in_future", {"on": draft.effective_on}, field="on")
        if draft.effective_time is not None and draft.effective_time.tzinfo is not None:
            raise ValueError("a time of day is the site's own, without a time zone")
        instrument = [draft.instrument] if draft.instrument else []
        for item in (*(about.item for about in draft.about), *instrument):
            if item.site_id != self.chain.site_id:
                raise DomainError("item_of_another_site", {"item": item.label})
        if any(target.chain_id != self.chain.pk for target, _ in draft.links):
            raise ValueError("a link names a record of its own chain")
        if draft.replaces is not None:
            self._check_replaces(draft, draft.replaces)

    def _check_corrected_once(self, drafts: Sequence[Draft]) -> None:
        corrected: set[int] = set()
        for old in (draft.replaces for draft in drafts if draft.replaces is not None):
            if old.pk in corrected:
                raise DomainError("already_corrected", {"seq": old.seq})
            corrected.add(old.pk)

    def _check_replaces(self, draft: Draft, old: Record) -> None:
        if not draft.reason.strip():
            raise DomainError("correction_needs_reason", field="reason")
        if old.chain_id != self.chain.pk or old.kind != draft.kind:
            raise DomainError("correction_of_another_kind", {"seq": old.seq})
        if Record.objects.filter(replaces=old).exists():
            raise DomainError("already_corrected", {"seq": old.seq})
        mentioned = {about.item.pk for about in draft.about}
        dropped = set(old.about.values_list("item_id", flat=True)) - mentioned
        if dropped:
            # An item that the wrong record named must learn of the correction too.
            raise DomainError("correction_drops_item", {"seq": old.seq})

    def _check_seen(self, items: set[int]) -> None:
        later = (
            Record.objects.filter(
                chain=self.chain,
                seq__gt=self.seen,
                seq__lte=self._start,  # what this act itself wrote overtakes nobody
                pk__in=RecordItem.objects.filter(item__in=items).values("record"),
            )
            .select_related("recorded_by")
            .order_by("seq")
        )
        if found := list(later):
            raise Overtaken(found)

    def _codes(self, rows: Sequence[_Row]) -> dict[str, int]:
        """Keys of every item code of this site that the new texts mention, in one query."""
        codes = {code for row in rows for code in row.codes()} - self._pk_of.keys()
        if codes:
            items = Item.objects.filter(site=self.chain.site, code__in=codes)
            self._pk_of.update(items.values_list("code", "pk"))
        return self._pk_of


class _Keys(dict[str, int]):
    """Items of the site by their code; any other code names nothing here."""

    def __missing__(self, code: str) -> int:
        raise DomainError("item_of_another_site", {"item": code})


class _Row:
    """One draft on its way to a record: text, hash, and the rows beside it."""

    def __init__(self, ledger: Ledger, draft: Draft) -> None:
        self.ledger = ledger
        self.draft = draft
        self.body: dict[str, Any] = {}
        self.record = Record()

    def seal(self) -> None:
        """Give the draft its number, its text and its place in the chain."""
        chain, draft = self.ledger.chain, self.draft
        self.body = canonical.plain(_body_of(self.ledger, draft, chain.length + 1))
        body_text = canonical.text(self.body)
        chain.length += 1
        chain.head = canonical.link_hash(chain.head, body_text)
        self.record = Record(
            chain=chain,
            site=chain.site,
            instrument=draft.instrument,
            replaces=draft.replaces,
            body=body_text,
            hash=chain.head,
            **bodies.record_columns(self.body),
        )

    def codes(self) -> set[str]:
        """Every text in the detail that may be an item's code."""
        return {
            value
            for part in (self.body["detail"], *self.body["points"])
            for value in part.values()
            if isinstance(value, str) and len(value) == 8
        }


def _person(user: User) -> dict[str, Any]:
    return {"id": user.pk, "username": user.username, "name": user.name}


def _body_of(ledger: Ledger, draft: Draft, seq: int) -> dict[str, Any]:
    chain = ledger.chain
    return {
        "version": bodies.VERSION,
        "chain": str(chain),
        "seq": seq,
        "kind": draft.kind,
        "effective_on": draft.effective_on,
        "effective_time": draft.effective_time,
        "recorded_at": ledger.at,
        "recorded_by": _person(ledger.by),
        "performed_by": draft.performed_by,
        "accepted_by": _person(ledger.by) if draft.accepted else None,
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


def _insert(rows: Sequence[_Row], pk_of: Mapping[str, int]) -> None:
    """Insert the records and everything beside them, a statement a table."""
    _insert_rows(Record, [row.record for row in rows])
    _insert_rows(
        RecordItem,
        [
            RecordItem(record=row.record, item=about.item, **bodies.item_columns(row.body, entry))
            for row in rows
            for about, entry in zip(row.draft.about, row.body["items"], strict=True)
        ],
    )
    _insert_rows(
        RecordLink,
        [
            RecordLink(record=row.record, target=target, role=role)
            for row in rows
            for target, role in row.draft.links
        ],
    )
    _insert_rows(
        Attachment,
        [
            Attachment(record=row.record, **{**entry, "size": int(entry["size"])})
            for row in rows
            for entry in row.body["attachments"]
        ],
    )
    for kind in {row.draft.kind for row in rows}:
        _insert_beside([row for row in rows if row.draft.kind == kind], kind, pk_of)


def _insert_beside(rows: Sequence[_Row], kind: str, pk_of: Mapping[str, int]) -> None:
    """The detail and point rows of records of one kind."""
    for detail in bodies.detail_models(kind):
        _insert_rows(
            detail,
            [detail(record=row.record, **detail.project(row.body, pk_of)) for row in rows],
        )
    for point in bodies.point_models(kind):
        _insert_rows(
            point,
            [
                point(record=row.record, position=place, **point.project(entry, pk_of))
                for row in rows
                for place, entry in enumerate(row.body["points"])
            ],
        )


def _insert_rows(model: type[Model], rows: Sequence[Model]) -> None:
    """One statement; a text that is too long for its column is refused on every database, for
    SQLite would keep it and PostgreSQL answer with a fault of its own."""
    lengths = {
        column.attname: column.max_length
        for column in model._meta.concrete_fields
        if isinstance(column, CharField) and column.max_length
    }
    for row in rows:
        for name, length in lengths.items():
            if len(getattr(row, name) or "") > length:
                raise DomainError("text_too_long", {"name": name, "length": length}, field=name)
    model._default_manager.bulk_create(rows)


def _locked_chain(site: Site | None) -> Chain:
    """The chain's row, locked until the end of the transaction; made on first use."""
    chain = Chain.objects.select_for_update().filter(site=site).first()
    if chain is None:
        Chain.objects.get_or_create(site=site)
        chain = Chain.objects.select_for_update().get(site=site)
    return chain


def _moment(chain: Chain, at: datetime) -> datetime:
    """The moment of recording, never before that of the last record. Somebody who read the clock
    and then waited while another saved is taken along; a clock that is really behind is refused."""
    last = Record.objects.filter(chain=chain).order_by("-seq").values("seq", "recorded_at").first()
    if last is None or last["recorded_at"] <= at:
        return at
    before: datetime = last["recorded_at"]
    if before - at > LONGEST_WAIT:
        raise DomainError("clock_runs_backwards", {"seq": last["seq"]})
    return before


@contextmanager
def writing(
    site: Site | None, *, by: User, at: datetime, seen: int | None = None
) -> Iterator[Ledger]:
    """Open the ledger of a site (None: of the installation) for one act.

    ``seen`` is the number of the last record that the form knew of; later ones about the same
    items raise Overtaken. ``at`` is the moment of recording; a clock that runs backwards is
    refused, for "as it was known then" rests on the order of these moments.
    """
    from inventory import derive

    if at.tzinfo is None:
        raise ValueError("the moment of recording needs its time zone")
    with transaction.atomic():
        chain = _locked_chain(site)
        ledger = Ledger(chain, by, _moment(chain, at), seen)
        yield ledger
        derive.refresh(ledger.touched)


def last_seq(site: Site) -> int:
    """The number of the site's last record: what a form remembers as ``seen``."""
    found = Chain.objects.filter(site=site).values_list("length", flat=True).first()
    return found or 0


def read_body(record: Record) -> dict[str, Any]:
    """A record's text as data."""
    data: dict[str, Any] = json.loads(record.body)
    return data
