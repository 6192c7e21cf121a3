"""From drafts to rows: the text is sealed into the chain, its columns stand beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import connection
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
        self.columns: dict[str, Any] = {}
        self._record: Record | None = None

    def seal(self, chain: Chain, by: User, at: datetime) -> None:
        """Give the draft its number, its text and its place in the chain."""
        draft = self.draft
        self.body = canonical.plain(body_of(draft, chain, by, at))
        body_text = canonical.written(self.body)
        chain.length += 1
        chain.head = canonical.link_hash(chain.head, body_text)
        self.columns = {
            "chain_id": chain.pk,
            "site_id": chain.site_id,
            "instrument_id": draft.instrument.pk if draft.instrument else None,
            "replaces_id": draft.replaces.pk if draft.replaces else None,
            "body": body_text,
            "hash": chain.head,
            **bodies.record_columns(self.body),
        }

    @property
    def record(self) -> Record:
        """The record, once it is inserted."""
        assert self._record is not None
        return self._record

    def inserted(self, pk: int, chain: Chain) -> None:
        """The database gave it this key."""
        columns = {"id": pk, **self.columns}
        names = [field.attname for field in Record._meta.concrete_fields]
        self._record = Record.from_db(connection.alias, names, [columns[name] for name in names])
        near = {"chain": chain, "site": chain.site, "instrument": self.draft.instrument}
        self._record._state.fields_cache.update(near)

    def codes(self) -> set[str]:
        """Every text in the detail that may be an item's code."""
        return {
            value
            for part in (self.body["detail"], *self.body["points"])
            for value in part.values()
            if isinstance(value, str) and len(value) == 8
        }


def insert(rows: Sequence[Row], chain: Chain, pk_of: Mapping[str, int]) -> None:
    """Insert the records and everything beside them, a statement a table."""
    if not rows:
        return
    _insert_of(Record, [row.columns for row in rows])
    _learn_keys(rows, chain)
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


def _learn_keys(rows: Sequence[Row], chain: Chain) -> None:
    """The keys that the database gave to records that follow each other in a chain."""
    first, last = rows[0].columns["seq"], rows[-1].columns["seq"]
    found = Record.objects.filter(chain=chain, seq__range=(first, last))
    keys = dict(found.values_list("seq", "pk"))
    for row in rows:
        row.inserted(keys[row.columns["seq"]], chain)


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
    whole = [{**usual, **row} for row in rows] if usual else rows
    insert_many(model, names, [[row[name] for name in names] for row in whole])


def insert_rows(model: type[Model], rows: Sequence[Model]) -> None:
    """Rows that are objects already; their automatic keys stay unknown."""
    names = columns_of(model)
    insert_many(model, names, [[getattr(row, name) for name in names] for row in rows])
