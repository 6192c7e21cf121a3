"""Does everything still say what was written? Text against hash, hash against the next, columns
against text, gaps, attachments, triggers, and everything derived against the records.

A chain finds a changed byte, a dropped or re-ordered entry. It cannot alone find a cut tail, an
old backup put back or a full rewrite by the owner of the database: only a head kept elsewhere, such
as on an issued register, can.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from inventory import derive
from inventory.ledger import body as bodies
from inventory.ledger import canonical, files, triggers
from inventory.ledger.models import (
    GENESIS,
    Attachment,
    Chain,
    Item,
    Record,
    RecordItem,
    RecordLink,
)

CHUNK = 500


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is not as it was written."""

    chain: str
    seq: int | None
    record: int | None
    table: str
    column: str
    fault: str
    expected: str
    found: str


def check_everything() -> Iterator[Fault]:
    """Every fault of the installation, in order; nothing is changed."""
    for table in triggers.missing(connection):
        yield Fault("", None, None, table, "", "trigger_missing", "refuses changes", "does not")
    for chain in Chain.objects.select_related("site").order_by("pk"):
        yield from verify(chain)
    codes = dict(Item.objects.values_list("pk", "code"))
    for difference in derive.rebuild(write=False):
        yield Fault(
            "",
            None,
            None,
            difference.table,
            codes.get(difference.item, str(difference.item)),
            "derived_differs",
            difference.expected or "no such row",
            difference.found or "no such row",
        )


def verify(chain: Chain) -> Iterator[Fault]:
    """Every fault of one chain."""
    yield from _hashes(chain)
    records = Record.objects.filter(chain=chain).order_by("seq")
    keys = list(records.values_list("pk", flat=True))
    for start in range(0, len(keys), CHUNK):
        yield from _columns(chain, keys[start : start + CHUNK])


def _fault(chain: Chain, seq: int | None, kind: str, expected: object, found: object) -> Fault:
    return Fault(
        str(chain), seq, None, Record._meta.db_table, "body", kind, str(expected), str(found)
    )


def _hashes(chain: Chain) -> Iterator[Fault]:
    """Numbers without gaps, and each hash over the one before and its own text."""
    rows = list(
        Record.objects.filter(chain=chain).order_by("seq").values_list("seq", "body", "hash")
    )
    previous: str | None = GENESIS
    expected_seq = 1
    for place, (seq, text, stored) in enumerate(rows):
        for lost in range(expected_seq, seq):
            yield _fault(chain, lost, "entry_missing", "a record", "nothing")
            previous = None
        expected_seq = seq + 1
        made = canonical.link_hash(previous, text) if previous is not None else None
        if made is not None and made != stored:
            yield _which(chain, rows, place, made)
            following = rows[place + 1] if place + 1 < len(rows) else None
            if following and canonical.link_hash(made, following[1]) == following[2]:
                stored = made  # only this hash was changed: go on from what it should be
        previous = stored
    for lost in range(expected_seq, chain.length + 1):
        yield _fault(chain, lost, "entry_missing", "a record", "nothing")
    last = rows[-1] if rows else (0, "", GENESIS)
    if chain.length == last[0] and chain.head != last[2]:
        yield _fault(chain, last[0], "hash_broken", chain.head, last[2])


def _which(chain: Chain, rows: Sequence[tuple[int, str, str]], place: int, made: str) -> Fault:
    """Text or hash changed? The next record was sealed over the true hash, which tells."""
    seq, _, stored = rows[place]
    following = rows[place + 1] if place + 1 < len(rows) else None
    true_hash = (
        canonical.link_hash(made, following[1]) == following[2] if following else chain.head == made
    )
    return _fault(chain, seq, "hash_broken" if true_hash else "text_changed", made, stored)


def _columns(chain: Chain, keys: Sequence[int]) -> Iterator[Fault]:
    """Columns, rows beside the record, and attachments, against the text."""
    beside = _Beside(keys)
    for record in Record.objects.filter(pk__in=keys).order_by("seq"):
        try:
            body = json.loads(record.body)
            expected = list(_expected(record, body, beside))
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            yield Fault(
                *(str(chain), record.seq, record.pk, Record._meta.db_table, "body"),
                *("text_changed", "a record's text", repr(error)),
            )
            continue
        for table, want, have in expected:
            yield from _compare(chain, record, table, want, have)
        for entry in body["attachments"]:
            fault = files.fault_of(entry["sha256"])
            if fault:
                yield Fault(
                    *(str(chain), record.seq, record.pk, Attachment._meta.db_table, entry["name"]),
                    *(fault, entry["sha256"], ""),
                )


Values = Mapping[str, Any]


def _compare(
    chain: Chain, record: Record, table: str, want: Values | None, have: Values | None
) -> Iterator[Fault]:
    where = (str(chain), record.seq, record.pk, table)
    if want is None or have is None:
        fault = "entry_missing" if have is None else "column_changed"
        yield Fault(*where, "", fault, _row(want), _row(have))
        return
    for column, value in want.items():
        if have[column] != value:
            yield Fault(*where, column, "column_changed", str(value), str(have[column]))


def _row(values: Values | None) -> str:
    return "no such row" if values is None else json.dumps(canonical.plain(dict(values)))


class _Beside:
    """Everything that stands beside a chunk of records, in a fixed number of queries."""

    def __init__(self, keys: Sequence[int]) -> None:
        self.keys = keys
        self.codes = dict(Item.objects.values_list("code", "pk"))
        self.code_of = {pk: code for code, pk in self.codes.items()}
        self.items = self._rows(RecordItem)
        self.links = self._rows(RecordLink)
        self.attachments = self._rows(Attachment)
        self.seq_of = dict(Record.objects.values_list("pk", "seq"))
        self._tables: dict[type[Any], dict[int, list[dict[str, Any]]]] = {}

    def _rows(self, model: type[Any]) -> dict[int, list[dict[str, Any]]]:
        out: dict[int, list[dict[str, Any]]] = {}
        for row in model.objects.filter(record__in=self.keys).values():
            out.setdefault(row["record_id"], []).append(row)
        return out

    def of(self, model: type[Any], record: int) -> list[dict[str, Any]]:
        """The rows of a detail or point table that belong to a record."""
        if model not in self._tables:
            self._tables[model] = self._rows(model)
        return self._tables[model].get(record, [])


Pair = tuple[str, Values | None, Values | None]


def _expected(record: Record, body: Values, beside: _Beside) -> Iterator[Pair]:
    want = bodies.record_columns(body)
    want["instrument_id"] = beside.codes[body["instrument"]] if body["instrument"] else None
    replaces = beside.seq_of.get(record.replaces_id) if record.replaces_id else None
    have = {name: getattr(record, name) for name in want}
    want["replaces"] = int(body["replaces"]) if body["replaces"] else None
    yield Record._meta.db_table, want, {**have, "replaces": replaces}
    yield from _keyed(
        RecordItem._meta.db_table,
        {beside.codes[one["item"]]: bodies.item_columns(body, one) for one in body["items"]},
        {row["item_id"]: row for row in beside.items.get(record.pk, [])},
    )
    yield from _keyed(
        RecordLink._meta.db_table,
        {(int(one["seq"]), one["role"]): {} for one in body["links"]},
        {
            (beside.seq_of[row["target_id"]], row["role"]): row
            for row in beside.links.get(record.pk, [])
        },
    )
    yield from _keyed(
        Attachment._meta.db_table,
        {
            one["sha256"]: {"name": one["name"], "size": int(one["size"])}
            for one in body["attachments"]
        },
        {row["sha256"]: row for row in beside.attachments.get(record.pk, [])},
    )
    yield from _details(record, body, beside)


def _details(record: Record, body: Values, beside: _Beside) -> Iterator[Pair]:
    for detail in bodies.detail_models(body["kind"]):
        have = next(iter(beside.of(detail, record.pk)), None)
        yield detail._meta.db_table, _typed(detail, detail.project(body, beside.codes)), have
    for point in bodies.point_models(body["kind"]):
        yield from _keyed(
            point._meta.db_table,
            {
                place: _typed(point, point.project(entry, beside.codes))
                for place, entry in enumerate(body["points"])
            },
            {row["position"]: row for row in beside.of(point, record.pk)},
        )


def _typed(model: type[Any], columns: Values) -> dict[str, Any]:
    """Column values as the database gives them back."""
    by_name = {column.attname: column for column in model._meta.concrete_fields}
    return {name: by_name[name].to_python(value) for name, value in columns.items()}


def _keyed(table: str, want: Mapping[Any, Values], have: Mapping[Any, Values]) -> Iterator[Pair]:
    for key in want.keys() | have.keys():
        yield table, want.get(key), have.get(key)
