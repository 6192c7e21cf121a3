"""From drafts to rows: the text is sealed into the chain, its columns stand beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Model

from config.accounts.models import User
from inventory.ledger import body as bodies
from inventory.ledger import canonical
from inventory.ledger.bulk import columns_of, insert_many
from inventory.ledger.draft import Draft, body_of
from inventory.ledger.models import Attachment, Chain, Record, RecordItem, RecordLink


class Row:
    """One draft on its way to a record: text, hash, and the rows beside it."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.body: dict[str, Any] = {}
        self.record: Record = None  # type: ignore[assignment]  # from ``seal`` on

    def seal(self, chain: Chain, by: User, at: datetime) -> None:
        """Give the draft its number, its text and its place in the chain."""
        draft = self.draft
        self.body = canonical.plain(body_of(draft, chain, by, at))
        body_text = canonical.written(self.body)
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


def insert(rows: Sequence[Row], pk_of: Mapping[str, int]) -> None:
    """Insert the records and everything beside them, a statement a table."""
    insert_rows(Record, [row.record for row in rows])
    _learn_keys([row.record for row in rows])
    _insert_of(
        RecordItem,
        [
            {"record_id": row.record.pk, "item_id": about.item.pk}
            | bodies.item_columns(row.body, entry)
            for row in rows
            for about, entry in zip(row.draft.about, row.body["items"], strict=True)
        ],
    )
    _insert_of(
        RecordLink,
        [
            {"record_id": row.record.pk, "target_id": target.pk, "role": role}
            for row in rows
            for target, role in row.draft.links
        ],
    )
    _insert_of(
        Attachment,
        [
            {"record_id": row.record.pk, **entry, "size": int(entry["size"])}
            for row in rows
            for entry in row.body["attachments"]
        ],
    )
    for kind in {row.draft.kind for row in rows}:
        _insert_beside([row for row in rows if row.draft.kind == kind], kind, pk_of)


def _learn_keys(records: Sequence[Record]) -> None:
    """The keys that the database gave to records that follow each other in a chain."""
    if not records:
        return
    first, last = records[0], records[-1]
    found = Record.objects.filter(chain=first.chain_id, seq__range=(first.seq, last.seq))
    keys = dict(found.values_list("seq", "pk"))
    for record in records:
        record.pk = keys[record.seq]
        record._state.adding, record._state.db = False, found.db


def _insert_beside(rows: Sequence[Row], kind: str, pk_of: Mapping[str, int]) -> None:
    """The detail and point rows of records of one kind."""
    for detail in bodies.detail_models(kind):
        _insert_of(
            detail,
            [{"record_id": row.record.pk, **detail.project(row.body, pk_of)} for row in rows],
        )
    for point in bodies.point_models(kind):
        _insert_of(
            point,
            [
                {"record_id": row.record.pk, "position": place, **point.project(entry, pk_of)}
                for row in rows
                for place, entry in enumerate(row.body["points"])
            ],
        )


def _insert_of(model: type[Model], rows: Sequence[Mapping[str, Any]]) -> None:
    """Rows given by the names of their columns; one that is left out takes its default."""
    if not rows:
        return
    names = columns_of(model)
    usual = {
        field.attname: field.get_default()
        for field in model._meta.concrete_fields
        if field.attname not in rows[0]
    }
    insert_many(model, names, [[{**usual, **row}[name] for name in names] for row in rows])


def insert_rows(model: type[Model], rows: Sequence[Model]) -> None:
    """Rows that are objects already; their automatic keys stay unknown."""
    names = columns_of(model)
    insert_many(model, names, [[getattr(row, name) for name in names] for row in rows])
