"""Does everything still say what was written? Text against hash, hash against the next, columns
against text, gaps, attachments, triggers, and everything derived against the records.

A chain finds a changed byte, a dropped or re-ordered entry. It cannot alone find a cut tail, an
old backup put back or a full rewrite by the owner of the database: only a head kept elsewhere, such
as on an issued register, can.

Nothing that stands in the database is trusted: what cannot be read is a fault, not an exception.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from typing import Any, NamedTuple

from django.apps import apps
from django.db import connection, transaction

from inventory.ledger import body as bodies
from inventory.ledger import canonical, files, projections, storage, triggers
from inventory.ledger.fault import (
    ATTACHMENT_CHANGED,
    ATTACHMENT_MISSING,
    COLUMN_CHANGED,
    DERIVED_DIFFERS,
    ENTRY_MISSING,
    HASH_BROKEN,
    NO_ROW,
    TEXT_CHANGED,
    TRIGGER_MISSING,
    Fault,
    guarded,
)
from inventory.ledger.models import (
    GENESIS,
    Attachment,
    Chain,
    Item,
    Record,
    RecordDetail,
    RecordItem,
    RecordLink,
    RecordPoint,
)

__all__ = ["Fault", "check_everything", "one_moment", "verify"]

CHUNK = 500
#: A gap is named number by number up to here, then as a whole.
MOST_NAMED = 100
RECORD = Record._meta.db_table
CHAIN = Chain._meta.db_table
ITEM = Item._meta.db_table


@contextmanager
def one_moment() -> Iterator[None]:
    """Read everything as it stood at one moment, keeping nobody from writing meanwhile."""
    if connection.in_atomic_block:
        with _any_bytes():
            yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with _any_bytes(), connection.cursor() as cursor:
            cursor.execute("BEGIN")  # deferred: atomic() would lock writers out
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")


@contextmanager
def _any_bytes() -> Iterator[None]:
    """SQLite keeps text that is not UTF-8; read it too, so that it is compared and named."""
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    usual = connection.connection.text_factory
    connection.connection.text_factory = partial(str, encoding="utf-8", errors="surrogateescape")
    try:
        yield
    finally:
        connection.connection.text_factory = usual


def check_everything() -> Iterator[Fault]:
    """Every fault of the installation, in order; nothing is changed."""
    with _any_bytes():
        yield from _everything()


def _everything() -> Iterator[Fault]:
    for table in triggers.missing(connection):
        yield Fault("", None, None, table, "", TRIGGER_MISSING, "refuses changes", "does not")
    yield from guarded(storage.forms, RECORD, COLUMN_CHANGED)
    yield from guarded(storage.references, RECORD, ENTRY_MISSING)
    yield from guarded(_chains, CHAIN, COLUMN_CHANGED)
    for part, table in (
        (projections.items, ITEM),
        (projections.sites, projections.SITE),
        (projections.nuclides, projections.NUCLIDE),
        (projections.derived, ""),
    ):
        yield from guarded(part, table, DERIVED_DIFFERS)


def _chains() -> Iterator[Fault]:
    for chain in Chain.objects.select_related("site").order_by("pk"):
        yield from verify(chain)


def verify(chain: Chain) -> Iterator[Fault]:
    """Every fault of one chain."""
    unsealed: set[int | None] = set()
    for fault in guarded(partial(_hashes, chain), RECORD, TEXT_CHANGED, str(chain)):
        if fault.fault == TEXT_CHANGED:
            unsealed.add(fault.record)
        yield fault
    yield from guarded(partial(_rows, chain, unsealed), RECORD, COLUMN_CHANGED, str(chain))


def _rows(chain: Chain, unsealed: set[int | None]) -> Iterator[Fault]:
    look_up = _LookUp(chain)
    keys = list(look_up.seq_of)
    for start in range(0, len(keys), CHUNK):
        yield from _columns(look_up, keys[start : start + CHUNK], unsealed)


# ---------------------------------------------------------------- numbers and hashes


class _Entry(NamedTuple):
    seq: Any
    pk: int
    text: Any
    hash: str


def _hashes(chain: Chain) -> Iterator[Fault]:
    """Numbers without gaps, and each hash over the one before and its own text."""
    previous: str | None = GENESIS
    last = 0
    for entry, following in _pairs(chain):
        if not isinstance(entry.seq, int):
            continue  # named by the check of forms
        if entry.seq > last + 1:
            yield from _lost(chain, last + 1, entry.seq)
            previous = None
        made = _link(previous, entry.text)
        if previous is not None and made != entry.hash:
            sealed_over = _link(made, following.text) == following.hash if following else None
            only_hash = chain.head == made if sealed_over is None else sealed_over
            yield _unsealed(chain, entry, made, only_hash)
            previous = made if only_hash else entry.hash
        else:
            previous = entry.hash
        last = entry.seq
    yield from _end(chain, last, previous)


def _pairs(chain: Chain) -> Iterator[tuple[_Entry, _Entry | None]]:
    """Every entry with the one after it."""
    rows = Record.objects.filter(chain=chain).order_by("seq")
    before: _Entry | None = None
    for row in rows.values_list("seq", "pk", "body", "hash").iterator(chunk_size=CHUNK):
        entry = _Entry(*row)
        if before is not None:
            yield before, entry
        before = entry
    if before is not None:
        yield before, None


def _link(previous: str | None, text: Any) -> str:
    """The hash of a text; "" where none can be made."""
    if previous is None or not isinstance(text, str):
        return ""
    try:
        return canonical.link_hash(previous, text)
    except UnicodeEncodeError:
        return ""


def _unsealed(chain: Chain, entry: _Entry, made: str, only_hash: bool) -> Fault:
    """Text or hash changed? The next record was sealed over the true hash, which tells."""
    column, fault = ("hash", HASH_BROKEN) if only_hash else ("body", TEXT_CHANGED)
    return Fault(str(chain), entry.seq, entry.pk, RECORD, column, fault, made, entry.hash)


def _lost(chain: Chain, first: int, until: int) -> Iterator[Fault]:
    named = min(until, first + MOST_NAMED)
    for seq in range(first, named):
        yield Fault(str(chain), seq, None, RECORD, "", ENTRY_MISSING, "a record", NO_ROW)
    if named < until:
        more = f"{until - named} more records, up to {until - 1}"
        yield Fault(str(chain), named, None, RECORD, "", ENTRY_MISSING, more, NO_ROW)


def _end(chain: Chain, last: int, head: str | None) -> Iterator[Fault]:
    """The chain's own row against its last record."""
    length: Any = chain.length
    if not isinstance(length, int):
        return  # named by the check of forms
    if length > last and chain.head != head:
        yield from _lost(chain, last + 1, length + 1)
        return
    for column, fault, expected, found in (
        ("length", COLUMN_CHANGED, last, length),
        ("head", HASH_BROKEN, head, chain.head),
    ):
        if expected is not None and expected != found:
            yield Fault(str(chain), last, None, CHAIN, column, fault, str(expected), str(found))


# ---------------------------------------------------------------- columns against text


class _UnknownCode(Exception):
    """A record's text names an item that does not exist."""


class _Codes(dict[str, int]):
    def __missing__(self, code: str) -> int:
        raise _UnknownCode(code)


class _LookUp:
    """What names in the texts of one chain mean."""

    def __init__(self, chain: Chain) -> None:
        self.chain = chain
        records = Record.objects.filter(chain=chain).order_by("seq")
        self.seq_of: dict[int, int] = dict(records.values_list("pk", "seq"))
        self.codes = _Codes(_described(chain))
        self.codes.update(Item.objects.values_list("code", "pk"))

    def target(self, pk: int) -> object:
        """How a text names a record: by its number in the same chain."""
        return self.seq_of.get(pk, f"record {pk} of another chain")


def _described(chain: Chain) -> Iterator[tuple[str, int]]:
    """Codes as the descriptions themselves give them: an item whose code was changed since must
    not make every record about it look changed."""
    rows = RecordItem.objects.filter(record__chain=chain, kind=bodies.DESCRIBED)
    for pk, text in rows.values_list("item", "record__body").iterator():
        try:
            (said,) = json.loads(text)["items"]
            yield str(said["item"]), pk
        except (ValueError, KeyError, TypeError):
            continue  # named by the comparison of its columns


def _columns(look_up: _LookUp, keys: Sequence[int], unsealed: set[int | None]) -> Iterator[Fault]:
    """Columns, rows beside the record, and attachments, against the text. Where the rows of a
    chunk cannot be read, it is halved until only those records are left out that are to blame."""
    try:
        yield from list(_of_chunk(look_up, keys, unsealed))
    except Exception as error:
        if len(keys) > 1:
            half = len(keys) // 2
            yield from _columns(look_up, keys[:half], unsealed)
            yield from _columns(look_up, keys[half:], unsealed)
            return
        yield Fault(
            *(str(look_up.chain), look_up.seq_of[keys[0]], keys[0], RECORD, ""),
            *(COLUMN_CHANGED, "rows that can be read", repr(error)),
        )


def _of_chunk(look_up: _LookUp, keys: Sequence[int], unsealed: set[int | None]) -> Iterator[Fault]:
    beside = _Beside(keys)
    for record in Record.objects.filter(pk__in=keys).order_by("seq"):
        yield from _of_record(look_up, record, beside, record.pk in unsealed)


def _of_record(
    look_up: _LookUp, record: Record, beside: _Beside, unsealed: bool
) -> Iterator[Fault]:
    where = (str(look_up.chain), record.seq, record.pk)
    try:
        body = json.loads(record.body)
        pairs = list(_expected(look_up, record, body, beside))
        attached = [(str(one["sha256"]), str(one["name"])) for one in body["attachments"]]
    except _UnknownCode as error:
        yield Fault(*where, ITEM, "code", ENTRY_MISSING, str(error), NO_ROW)
        return
    except Exception as error:  # a text that was changed can say anything
        if not unsealed:  # else named already
            yield Fault(*where, RECORD, "body", TEXT_CHANGED, "a record's text", repr(error))
        return
    for table, want, have in pairs:
        yield from _compare(where, table, want, have)
    for sha256, name in attached:
        found = files.digest_of(sha256)
        if found != sha256:
            fault = ATTACHMENT_CHANGED if found else ATTACHMENT_MISSING
            table = Attachment._meta.db_table
            yield Fault(*where, table, name, fault, sha256, found or "no such file")


Values = Mapping[str, Any]


def _compare(
    at: tuple[str, int, int], table: str, want: Values | None, have: Values | None
) -> Iterator[Fault]:
    if want is None:
        yield Fault(*at, table, "", COLUMN_CHANGED, NO_ROW, _row(have))
    elif have is None:
        yield Fault(*at, table, "", ENTRY_MISSING, _row(want), NO_ROW)
    else:
        for column, value in want.items():
            if have[column] != value:
                said, found = str(value), str(have[column])
                yield Fault(*at, table, column, COLUMN_CHANGED, said, found)


def _row(values: Values | None) -> str:
    return ", ".join(f"{name}={value}" for name, value in (values or {}).items())


class _Beside:
    """Everything that stands beside a chunk of records, a query a table."""

    def __init__(self, keys: Sequence[int]) -> None:
        self._tables: dict[type[Any], dict[int, list[dict[str, Any]]]] = {}
        for model in triggers.evidence_models():
            if model is not Record:
                rows = self._tables[model] = {}
                for row in model._default_manager.filter(record__in=keys).values():
                    rows.setdefault(row["record_id"], []).append(row)

    def of(self, model: type[Any], record: int) -> list[dict[str, Any]]:
        """The rows of a table that belong to a record."""
        return self._tables[model].get(record, [])


Pair = tuple[str, Values | None, Values | None]


def _expected(look_up: _LookUp, record: Record, body: Values, beside: _Beside) -> Iterator[Pair]:
    """What the text asks for and what is there, row by row."""
    yield RECORD, *_envelope(look_up, record, body)
    yield from _keyed(
        RecordItem,
        {
            look_up.codes[one["item"]]: {
                "item_id": look_up.codes[one["item"]],
                **bodies.item_columns(body, one),
            }
            for one in body["items"]
        },
        {row["item_id"]: row for row in beside.of(RecordItem, record.pk)},
    )
    yield from _keyed(
        RecordLink,
        {
            (int(one["seq"]), one["role"]): {"seq": one["seq"], "role": one["role"]}
            for one in body["links"]
        },
        {
            (seq, row["role"]): {"seq": str(seq), "role": row["role"]}
            for row in beside.of(RecordLink, record.pk)
            for seq in [look_up.target(row["target_id"])]
        },
    )
    yield from _keyed(
        Attachment,
        {one["sha256"]: {**one, "size": int(one["size"])} for one in body["attachments"]},
        {row["sha256"]: row for row in beside.of(Attachment, record.pk)},
    )
    yield from _details(look_up, record, body, beside)


def _envelope(look_up: _LookUp, record: Record, body: Values) -> tuple[Values, Values]:
    want = bodies.record_columns(body)
    want["instrument_id"] = look_up.codes[body["instrument"]] if body["instrument"] else None
    want["site_id"] = look_up.chain.site_id
    have = {name: getattr(record, name) for name in want}
    want["replaces_id"] = int(body["replaces"]) if body["replaces"] else None
    have["replaces_id"] = look_up.target(record.replaces_id) if record.replaces_id else None
    if record.seq == 1:  # once a chain is enough
        want["chain"], have["chain"] = body["chain"], str(look_up.chain)
    return want, have


def _details(look_up: _LookUp, record: Record, body: Values, beside: _Beside) -> Iterator[Pair]:
    """The tables of this kind of record say what the text says, those of other kinds nothing."""
    kind = body["kind"]
    for model in apps.get_models():
        if issubclass(model, RecordDetail):
            details = [body] if bodies.is_detail_of(model, kind) else []
            details = [_typed(model, model.project(one, look_up.codes)) for one in details]
            rows = beside.of(model, record.pk)
            yield from _keyed(model, dict(enumerate(details)), dict(enumerate(rows)))
        elif issubclass(model, RecordPoint):
            points = body["points"] if kind in model.KINDS else []
            wanted = [_typed(model, model.project(one, look_up.codes)) for one in points]
            there = {row["position"]: row for row in beside.of(model, record.pk)}
            yield from _keyed(model, dict(enumerate(wanted)), there)


def _typed(model: type[Any], columns: Values) -> dict[str, Any]:
    """Column values as the database gives them back."""
    by_name = {column.attname: column for column in model._meta.concrete_fields}
    return {name: by_name[name].to_python(value) for name, value in columns.items()}


def _keyed(
    model: type[Any], want: Mapping[Any, Values], have: Mapping[Any, Values]
) -> Iterator[Pair]:
    for key in [*want, *(key for key in have if key not in want)]:
        yield model._meta.db_table, want.get(key), have.get(key)
