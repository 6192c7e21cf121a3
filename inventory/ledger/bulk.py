"""Insert many rows of a table with one prepared statement.

``bulk_create`` builds an object, a placeholder and a compiled value for every cell; for a list of a
thousand sources that is half of the time of loading it (measured). Values are prepared by the same
fields here, only once for each that repeats.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from django.db import connection
from django.db.models import (
    BooleanField,
    CharField,
    Field,
    FloatField,
    ForeignKey,
    IntegerField,
    Model,
    TextField,
)

from inventory.calc.errors import DomainError

#: What a field gives to the database as it is, when it is of exactly this type.
_AS_IT_IS: tuple[tuple[type[Any], type], ...] = (
    (CharField, str),
    (TextField, str),
    (BooleanField, bool),
    (ForeignKey, int),
    (IntegerField, int),
    (FloatField, float),
)


def insert_many(model: type[Model], names: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    """Insert rows of values in the order of ``names`` (``attname`` of every column but an
    automatic key). A text that is too long for its column is refused on every database, for SQLite
    would keep it and PostgreSQL answer with a fault of its own."""
    if not rows:
        return
    by_name = {field.attname: field for field in model._meta.concrete_fields}
    fields = [by_name[name] for name in names]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    statement = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})"  # noqa: S608 - names of our own models
    prepared = [_prepared(field, [row[at] for row in rows]) for at, field in enumerate(fields)]
    with connection.cursor() as cursor:
        cursor.executemany(statement, list(zip(*prepared, strict=True)))


def columns_of(model: type[Model]) -> list[str]:
    """Every column that an insert must fill."""
    return [field.attname for field in model._meta.concrete_fields if not _automatic(field)]


def _automatic(field: Field[Any, Any]) -> bool:
    return bool(field.primary_key and field.remote_field is None)


def _prepared(field: Field[Any, Any], values: Sequence[Any]) -> list[Any]:
    """The values of one column as the database takes them."""
    plain = next((kind for of, kind in _AS_IT_IS if isinstance(field, of)), None)
    if isinstance(field, CharField) and field.max_length:
        _check_length(field, values)
    known: dict[Any, Any] = {}
    prepare: Callable[..., Any] = field.get_db_prep_save
    out = []
    for value in values:
        if value is None or type(value) is plain:
            out.append(value)
            continue
        if value not in known:
            known[value] = prepare(value, connection=connection)
        out.append(known[value])
    return out


def _check_length(field: Any, values: Sequence[Any]) -> None:
    longest, name = field.max_length, field.attname
    if any(len(value) > longest for value in values if value):
        raise DomainError("text_too_long", {"name": name, "length": longest}, field=name)
