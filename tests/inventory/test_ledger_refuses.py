"""The database itself refuses to change or remove evidence, whoever asks and however."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, connection, models, transaction

from inventory.checks import check_triggers
from inventory.ledger import triggers
from inventory.ledger.models import Record, RecordItem
from tests.inventory.ledger_world import World, build, sql

SQLITE = connection.vendor == "sqlite"
only_sqlite = pytest.mark.skipif(not SQLITE, reason="a way that only SQLite knows")
only_postgresql = pytest.mark.skipif(SQLITE, reason="a way that only PostgreSQL knows")

Statement = tuple[str, list[Any]]


@pytest.fixture
def world(db: None) -> World:
    return build()


def tables() -> list[str]:
    return [model._meta.db_table for model in triggers.evidence_models()]


def row_of(table: str, *filled: str) -> dict[str, Any]:
    """A row of a table, column by column, in which these columns are not null."""
    where = " AND ".join(f'"{column}" IS NOT NULL' for column in filled) or "1 = 1"
    with connection.cursor() as cursor:
        cursor.execute(f'SELECT * FROM "{table}" WHERE {where} LIMIT 1')
        (row,) = cursor.fetchall()
        return dict(zip([column[0] for column in cursor.description], row, strict=True))


def unique_keys(table: str) -> list[list[str]]:
    with connection.cursor() as cursor:
        found = connection.introspection.get_constraints(cursor, table).values()
    return [one["columns"] for one in found if one["unique"] or one["primary_key"]]


def colliding(table: str, key: list[str]) -> dict[str, Any]:
    """A row that is like one that is there in this unique key, and in no other."""
    row = row_of(table, *key)
    for other in unique_keys(table):
        for column in set(other) - set(key):
            row[column] = fresh(row[column])
    return row


def fresh(value: Any) -> Any:
    if value is None:
        return None
    if isinstance(value, uuid.UUID):
        return uuid.uuid4()
    return 30_000 if isinstance(value, int) else f"{value}"[:-1] + "z"


def insert(start: str, table: str, row: dict[str, Any], end: str = "") -> Statement:
    columns = ", ".join(f'"{name}"' for name in row)
    marks = ", ".join(["%s"] * len(row))
    return f'{start} INTO "{table}" ({columns}) VALUES ({marks}) {end}', list(row.values())


def not_refused(statements: Iterator[Statement]) -> list[str]:
    """The statements that passed, or failed for another reason than ours."""
    out, tried = [], 0
    for statement, values in statements:
        tried += 1
        try:
            with transaction.atomic():
                sql(statement, *values)
                out.append(statement)
                transaction.set_rollback(True)
        except DatabaseError as error:
            if triggers.REFUSAL not in str(error):
                out.append(f"{statement}: {error}")
    assert tried
    return out


def changes() -> Iterator[Statement]:
    for table in tables():
        column = list(row_of(table))[-1]
        yield f'UPDATE "{table}" SET "{column}" = "{column}"', []
        yield f'UPDATE "{table}" SET "{column}" = NULL', []
        yield f'DELETE FROM "{table}"', []
        key, value = next(iter(row_of(table).items()))
        yield f'DELETE FROM "{table}" WHERE "{key}" = %s', [value]


def truncates() -> Iterator[Statement]:
    for table in tables():
        yield f'TRUNCATE "{table}" CASCADE', []


def replacements(start: str) -> Iterator[Statement]:
    for table in tables():
        for key in unique_keys(table):
            yield insert(start, table, colliding(table, key))
        with connection.cursor() as cursor:
            cursor.execute(f'SELECT max(rowid) FROM "{table}"')
            (rowid,) = cursor.fetchone()
        row = colliding(table, [])
        row.pop("id", None)
        for name in ("rowid", "_rowid_", "oid"):
            yield insert(start, table, {name: rowid} | row)
            yield insert(start, table, {name: f"{rowid}"} | row)


def upserts() -> Iterator[Statement]:
    for table in tables():
        for key in unique_keys(table):
            row = colliding(table, key)
            column = list(row)[-1]
            names = ", ".join(f'"{name}"' for name in key)
            end = f'ON CONFLICT ({names}) DO UPDATE SET "{column}" = excluded."{column}"'
            yield insert("INSERT", table, row, end)


def test_has_a_row_in_every_table_of_evidence(world: World) -> None:
    empty = [model for model in triggers.evidence_models() if not model._default_manager.exists()]
    assert empty == []
    assert len(tables()) >= 9


def test_refuses_update_and_delete_on_every_table(world: World) -> None:
    assert not_refused(changes()) == []


@only_postgresql
def test_refuses_truncate_on_every_table(world: World) -> None:
    connection.check_constraints()
    assert not_refused(truncates()) == []


@only_sqlite
@pytest.mark.parametrize("start", ["INSERT OR REPLACE", "REPLACE"])
def test_refuses_replacing_over_every_unique_key(world: World, start: str) -> None:
    assert not_refused(replacements(start)) == []


@only_sqlite
def test_refuses_update_or_replace(world: World) -> None:
    statements = ((f'UPDATE OR REPLACE "{table}" SET rowid = 1', []) for table in tables())
    assert not_refused(statements) == []


def test_refuses_upserts_over_every_unique_key(world: World) -> None:
    assert not_refused(upserts()) == []


def test_would_not_refuse_without_the_triggers(world: World) -> None:
    triggers.remove(connection)
    ways = [upserts()] + ([replacements("REPLACE")] if SQLITE else [])
    for way in ways:
        passed = [one for one in not_refused(way) if "FOREIGN KEY" not in one]
        assert len(passed) >= len(tables())


def test_refuses_what_the_orm_offers(world: World) -> None:
    record, mention = world.wipe, RecordItem.objects.filter(record=world.wipe).get()
    again = Record(**{f.attname: getattr(record, f.attname) for f in Record._meta.concrete_fields})
    for act in (
        lambda: record.save(),
        lambda: Record.objects.filter(pk=record.pk).update(reason="x"),
        lambda: mention.delete(),
        lambda: Record.objects.filter(pk=record.pk)._raw_delete("default"),
        lambda: RecordItem.objects.bulk_update([mention], ["outcome"]),
        lambda: Record.objects.bulk_create(
            [again], update_conflicts=True, unique_fields=["id"], update_fields=["reason"]
        ),
    ):
        with pytest.raises(DatabaseError, match=triggers.REFUSAL), transaction.atomic():
            act()


def test_lets_new_rows_in(world: World) -> None:
    assert Record.objects.filter(pk=world.closed.pk).exists()
    assert triggers.missing(connection) == []


# ---------------------------------------------------------------- after a change of the schema


def rebuild_tables() -> None:
    """What AddConstraint, RemoveConstraint and AlterField of a migration do."""
    for model in triggers.evidence_models():
        check = models.CheckConstraint(condition=models.Q(pk__gt=0), name="for_a_moment")
        with connection.schema_editor() as editor:
            editor.add_constraint(model, check)
        with connection.schema_editor() as editor:
            editor.remove_constraint(model, check)


def alter_field() -> None:
    """Make a column of Record nullable, and back."""
    old = Record._meta.get_field("performed_by")
    new = models.CharField(max_length=200, blank=True, null=True)
    new.set_attributes_from_name("performed_by")
    new.model = Record
    for before, after in ((old, new), (new, old)):
        with connection.schema_editor() as editor:
            editor.alter_field(Record, before, after)


@pytest.mark.django_db(transaction=True)
def test_refuses_again_after_migrate() -> None:
    build()
    rebuild_tables()
    if not SQLITE:  # there the triggers stay
        assert triggers.missing(connection) == []
        triggers.remove(connection)
    assert triggers.missing(connection) == sorted(tables())
    with transaction.atomic():
        sql("UPDATE inventory_record SET reason = 'x' WHERE seq = 1")
        transaction.set_rollback(True)
    call_command("migrate", verbosity=0)
    assert triggers.missing(connection) == []
    assert not_refused(changes()) == []
    assert not_refused(upserts()) == []


@pytest.mark.django_db(transaction=True)
def test_names_the_table_that_an_altered_field_left_open() -> None:
    alter_field()
    assert triggers.missing(connection) == (["inventory_record"] if SQLITE else [])
    call_command("migrate", verbosity=0)
    assert triggers.missing(connection) == []


def drop_trigger(table: str) -> None:
    event, on = ("_update", "") if SQLITE else ("", f' ON "{table}"')
    sql(f'DROP TRIGGER "{triggers.PREFIX}{table}{event}"{on}')


@pytest.mark.django_db
def test_names_a_missing_trigger_in_the_system_check() -> None:
    assert check_triggers(None, ["default"]) == []
    drop_trigger("surveys_leakresult")
    (found,) = check_triggers(None, ["default"])
    assert (found.id, found.msg) == (
        "inventory.E001",
        "The table surveys_leakresult does not refuse changes.",
    )
    assert check_triggers(None, None) == []


@pytest.mark.django_db
def test_fails_manage_check_on_a_missing_trigger() -> None:
    call_command("check", databases=["default"])
    drop_trigger("inventory_attachment")
    with pytest.raises(SystemCheckError, match="inventory_attachment does not refuse"):
        call_command("check", databases=["default"])
