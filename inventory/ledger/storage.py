"""What SQL alone can see: values in a form that was never written, and keys that lead nowhere.

SQLite keeps any value in any column. A day written as 2026-3-1 still reads as the same day, but
sorts and compares as another; text in a number's place cannot be read at all.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db import connection, models

from inventory.ledger import triggers
from inventory.ledger.fault import COLUMN_CHANGED, ENTRY_MISSING, Fault
from inventory.ledger.models import Chain, Item

_MICROSECONDS = ".[0-9][0-9][0-9][0-9][0-9][0-9]"


def _moment(function: str, length: int) -> str:
    """What SQLite itself counts it to be is the same text, up to the microseconds."""
    start, rest = f"substr({{0}}, 1, {length})", f"substr({{0}}, {length + 1})"
    whole = f"{start} IS {function}({start}, '+0 days')"
    return f"{whole} AND ({rest} = '' OR {rest} GLOB '{_MICROSECONDS}')"


#: By kind of field, the first that fits: what SQLite holds when it was written by us.
_FORMS: tuple[tuple[type[models.Field[object, object]], str], ...] = (
    (models.DateTimeField, _moment("datetime", 19)),
    (models.DateField, "{0} IS date({0}, '+0 days')"),
    (models.TimeField, _moment("time", 8)),
    (models.UUIDField, "length({0}) = 32 AND {0} NOT GLOB '*[^0-9a-f]*'"),
    (models.BooleanField, "typeof({0}) = 'integer' AND {0} IN (0, 1)"),
    (models.ForeignKey, "typeof({0}) = 'integer'"),
    (models.IntegerField, "typeof({0}) = 'integer'"),
    (models.FloatField, "typeof({0}) IN ('real', 'integer')"),
    (models.CharField, "typeof({0}) = 'text'"),
    (models.TextField, "typeof({0}) = 'text'"),
)


def forms() -> Iterator[Fault]:
    """Values of the ledger that no writing of ours can have put there (SQLite only)."""
    if connection.vendor != "sqlite":
        return
    models_of_ledger: list[type[models.Model]] = [*triggers.evidence_models(), Chain, Item]
    for model in models_of_ledger:
        for column in model._meta.concrete_fields:
            form = next((text for kind, text in _FORMS if isinstance(column, kind)), None)
            if form is not None:
                yield from _form(model, column, form)


def _form(
    model: type[models.Model], column: models.Field[object, object], form: str
) -> Iterator[Fault]:
    table = model._meta.db_table
    name = f'"{column.column}"'
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT rowid, quote({name}) "  # noqa: S608 - names of our own models
            f'FROM "{table}" WHERE {name} IS NOT NULL AND NOT ({form.format(name)}) ORDER BY rowid'
        )
        rows = cursor.fetchall()
    for rowid, value in rows:
        yield Fault(
            *("", None, None, table, column.attname, COLUMN_CHANGED),
            *("a value in the form it is written in", f"{value} in row {rowid}"),
        )


def references() -> Iterator[Fault]:
    """Keys of the evidence that name a row which is not there."""
    for model in triggers.evidence_models():
        for column in model._meta.concrete_fields:
            if not isinstance(column, models.ForeignKey):
                continue
            targets = column.related_model._default_manager.values("pk")
            lost = model._default_manager.filter(**{f"{column.name}__isnull": False})
            lost = lost.exclude(**{f"{column.attname}__in": targets})
            for pk, key in lost.order_by("pk").values_list("pk", column.attname):
                yield Fault(
                    *("", None, None, model._meta.db_table, column.attname, ENTRY_MISSING),
                    *(f"row {key} of {column.related_model._meta.db_table}", f"only row {pk}"),
                )
