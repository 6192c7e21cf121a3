"""From drafts to rows: the text is sealed into the chain, its columns stand beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db.models import CharField, Model

from config.accounts.models import User
from inventory.calc.errors import DomainError
from inventory.ledger import body as bodies
from inventory.ledger import canonical
from inventory.ledger.draft import Draft, body_of
from inventory.ledger.models import Attachment, Chain, Record, RecordItem, RecordLink


class Row:
    """One draft on its way to a record: text, hash, and the rows beside it."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.body: dict[str, Any] = {}
        self.record = Record()

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
    insert_rows(
        RecordItem,
        [
            RecordItem(record=row.record, item=about.item, **bodies.item_columns(row.body, entry))
            for row in rows
            for about, entry in zip(row.draft.about, row.body["items"], strict=True)
        ],
    )
    insert_rows(
        RecordLink,
        [
            RecordLink(record=row.record, target=target, role=role)
            for row in rows
            for target, role in row.draft.links
        ],
    )
    insert_rows(
        Attachment,
        [
            Attachment(record=row.record, **{**entry, "size": int(entry["size"])})
            for row in rows
            for entry in row.body["attachments"]
        ],
    )
    for kind in {row.draft.kind for row in rows}:
        _insert_beside([row for row in rows if row.draft.kind == kind], kind, pk_of)


def _insert_beside(rows: Sequence[Row], kind: str, pk_of: Mapping[str, int]) -> None:
    """The detail and point rows of records of one kind."""
    for detail in bodies.detail_models(kind):
        insert_rows(
            detail,
            [detail(record=row.record, **detail.project(row.body, pk_of)) for row in rows],
        )
    for point in bodies.point_models(kind):
        insert_rows(
            point,
            [
                point(record=row.record, position=place, **point.project(entry, pk_of))
                for row in rows
                for place, entry in enumerate(row.body["points"])
            ],
        )


def insert_rows(model: type[Model], rows: Sequence[Model]) -> None:
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
