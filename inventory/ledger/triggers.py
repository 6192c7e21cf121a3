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


def installed(connection: BaseDatabaseWrapper) -> set[tuple[str, str]]:
    """(table, trigger) of our triggers that are there and switched on."""
    query = (
        "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
        "WHERE t.tgenabled <> 'D' AND t.tgname LIKE %s"
        if connection.vendor == "postgresql"
        else "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger' AND name LIKE %s"
    )
    with connection.cursor() as cursor:
        cursor.execute(query, [PREFIX.replace("_", r"_") + "%"])
        return {(row[0], row[1]) for row in cursor.fetchall()}


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Evidence tables that lack one of their triggers, or where it no longer says what it said."""
    there = installed(connection)
    lacking = {
        model._meta.db_table
        for model in _present(connection)
        for name in _names(connection, model._meta.db_table)
        if (model._meta.db_table, name) not in there
    }
    return sorted(lacking | _altered(connection))


def _altered(connection: BaseDatabaseWrapper) -> set[str]:
    """Tables whose SQLite trigger of our name has another text than ours."""
    if connection.vendor == "postgresql":
        return set()
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        texts = dict(cursor.fetchall())
    return {
        model._meta.db_table
        for model in _present(connection)
        for statement in _sqlite(connection, model._meta.db_table)
        if statement.startswith("CREATE")
        for name in [statement.split('"')[1]]
        if name in texts and texts[name] != statement
    }


def _names(connection: BaseDatabaseWrapper, table: str) -> list[str]:
    if connection.vendor == "postgresql":
        return [f"{PREFIX}{table}"]
    return [f"{PREFIX}{table}_{event}" for event in ("update", "delete", "insert")]


def _postgresql(connection: BaseDatabaseWrapper, table: str) -> Iterator[str]:
    yield (
        "CREATE OR REPLACE FUNCTION sealbook_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ "
        f"BEGIN RAISE EXCEPTION '{REFUSAL} (%)', TG_TABLE_NAME; END $$"
    )
    (name,) = _names(connection, table)
    yield f'DROP TRIGGER IF EXISTS "{name}" ON "{table}"'
    yield (
        f'CREATE TRIGGER "{name}" BEFORE UPDATE OR DELETE OR TRUNCATE ON "{table}" '
        "FOR EACH STATEMENT EXECUTE FUNCTION sealbook_refuse()"
    )


def _sqlite(connection: BaseDatabaseWrapper, table: str) -> Iterator[str]:
    update, delete, insert = _names(connection, table)
    refuse = f"BEGIN SELECT RAISE(ABORT, '{REFUSAL} ({table})'); END"
    collides = " OR ".join(
        "(" + " AND ".join(f'"{column}" = NEW."{column}"' for column in columns) + ")"
        for columns in _unique_columns(connection, table)
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
    with connection.cursor() as cursor:
        constraints = connection.introspection.get_constraints(cursor, table)
    found = {
        tuple(detail["columns"])
        for detail in constraints.values()
        if (detail["unique"] or detail["primary_key"]) and all(detail["columns"])
    }
    return [list(columns) for columns in sorted(found)]


def install_after_migrate(sender: Any, using: str = "default", **kwargs: Any) -> None:
    """The one signal receiver: see ``inventory.apps``."""
    install(connections[using])
