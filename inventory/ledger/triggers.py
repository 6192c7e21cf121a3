"""The database itself refuses to change or remove evidence.

PostgreSQL needs one trigger a table. SQLite needs three: INSERT OR REPLACE deletes the row it
collides with without firing DELETE triggers, so a colliding INSERT is refused as well. Triggers do
not stop the owner of the database; the chain (``verify``) finds what was done with them off.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

PREFIX = "sealbook_evidence_"
REFUSAL = "evidence is never changed or removed; record a correction"


def evidence_models() -> list[type[models.Model]]:
    """Every concrete model whose rows are evidence."""
    from inventory.ledger.models import Evidence

    return [model for model in apps.get_models() if issubclass(model, Evidence)]


def _present(connection: BaseDatabaseWrapper) -> list[type[models.Model]]:
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
    return [model for model in evidence_models() if model._meta.db_table in tables]


def install(connection: BaseDatabaseWrapper) -> None:
    """Install every trigger on every evidence table that exists; safe to repeat."""
    statements = _postgresql if connection.vendor == "postgresql" else _sqlite
    with connection.cursor() as cursor:
        for model in _present(connection):
            for statement in statements(connection, model._meta.db_table):
                cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away: for the test suite's own cleaning between tests."""
    with connection.cursor() as cursor:
        for table, name in installed(connection):
            on = f' ON "{table}"' if connection.vendor == "postgresql" else ""
            cursor.execute(f'DROP TRIGGER "{name}"{on}')


def installed(connection: BaseDatabaseWrapper) -> dict[tuple[str, str], str]:
    """Our triggers by (table, name), and what each does; "" when it is switched off."""
    query = _INSTALLED_POSTGRESQL if connection.vendor == "postgresql" else _INSTALLED_SQLITE
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {
            (table, name): does or ""
            for table, name, does in cursor.fetchall()
            if name.startswith(PREFIX)
        }


_INSTALLED_SQLITE = "SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'"
# What a trigger does, spelt out: when it fires (58: before each statement that updates, deletes or
# truncates), on which columns and condition, and the text of its function.
_INSTALLED_POSTGRESQL = """
    SELECT c.relname, t.tgname, CASE WHEN t.tgenabled IN ('O', 'A') THEN
        concat_ws(' ', t.tgtype, nullif(t.tgattr::text, ''), t.tgqual::text, p.proname, p.prosrc)
    END
    FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
    WHERE pg_table_is_visible(c.oid)
"""


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Evidence tables that lack one of their triggers, or where it no longer does what it did."""
    there = installed(connection)
    return sorted(
        {
            model._meta.db_table
            for model in _present(connection)
            for name, does in _wanted(connection, model._meta.db_table).items()
            if there.get((model._meta.db_table, name)) != does
        }
    )


def _wanted(connection: BaseDatabaseWrapper, table: str) -> dict[str, str]:
    """What each trigger of a table has to do, as ``installed`` tells it."""
    if connection.vendor == "postgresql":
        return dict.fromkeys(_names(connection, table), f"58 {_FUNCTION} {_SOURCE}")
    return {
        statement.split('"')[1]: statement
        for statement in _sqlite(connection, table)
        if statement.startswith("CREATE")
    }


def _names(connection: BaseDatabaseWrapper, table: str) -> list[str]:
    if connection.vendor == "postgresql":
        return [f"{PREFIX}{table}"]
    return [f"{PREFIX}{table}_{event}" for event in ("update", "delete", "insert")]


_FUNCTION = "sealbook_refuse"
_SOURCE = f" BEGIN RAISE EXCEPTION '{REFUSAL} (%)', TG_TABLE_NAME; END "


def _postgresql(connection: BaseDatabaseWrapper, table: str) -> Iterator[str]:
    yield (
        f"CREATE OR REPLACE FUNCTION {_FUNCTION}() RETURNS trigger LANGUAGE plpgsql "
        f"AS $${_SOURCE}$$"
    )
    (name,) = _names(connection, table)
    yield f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"'
    yield (
        f'CREATE TRIGGER "{name}" BEFORE UPDATE OR DELETE OR TRUNCATE ON "{table}" '
        f"FOR EACH STATEMENT EXECUTE FUNCTION {_FUNCTION}()"
    )


def _sqlite(connection: BaseDatabaseWrapper, table: str) -> Iterator[str]:
    update, delete, insert = _names(connection, table)
    refuse = f"BEGIN SELECT RAISE(ABORT, '{REFUSAL} ({table})'); END"
    # A table whose primary key is not an integer of its own has a hidden rowid beside it, over
    # which REPLACE goes as well.
    collides = " OR ".join(
        "(" + " AND ".join(f'"{column}" = NEW."{column}"' for column in columns) + ")"
        for columns in [*_unique_columns(connection, table), ["rowid"]]
    )
    for name, event in (
        (update, f'BEFORE UPDATE ON "{table}"'),
        (delete, f'BEFORE DELETE ON "{table}"'),
        (
            insert,
            f'BEFORE INSERT ON "{table}" WHEN EXISTS (SELECT 1 FROM "{table}" WHERE {collides})',
        ),
    ):
        yield f'DROP TRIGGER IF EXISTS "{name}"'
        yield f'CREATE TRIGGER "{name}" {event} {refuse}'


def _unique_columns(connection: BaseDatabaseWrapper, table: str) -> list[list[str]]:
    """The columns of the primary key and of every unique index, in a fixed order."""
    # Not by Django's introspection, which parses the text of the table: that took half the time of
    # looking whether everything is as it was written.
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM pragma_table_info(%s) WHERE pk > 0 ORDER BY pk", [table])
        found = {tuple(name for (name,) in cursor.fetchall())}
        cursor.execute('SELECT name FROM pragma_index_list(%s) WHERE "unique"', [table])
        for (index,) in cursor.fetchall():
            cursor.execute("SELECT name FROM pragma_index_info(%s) ORDER BY seqno", [index])
            found.add(tuple(name for (name,) in cursor.fetchall()))
    return [list(columns) for columns in sorted(c for c in found if c and all(c))]


def install_after_migrate(sender: Any, using: str = "default", **kwargs: Any) -> None:
    """The one signal receiver: see ``inventory.apps``."""
    install(connections[using])
