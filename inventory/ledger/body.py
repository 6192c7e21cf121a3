"""From a record's text to the columns beside it.

One set of functions makes the rows that ``write`` inserts and the rows that ``verify`` expects, so
a column can never say something that the text does not.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.apps import apps

from inventory.ledger.models import (
    ItemDetail,
    RecordDetail,
    RecordPoint,
)

VERSION = "1"
DESCRIBED = "described"
#: Kinds that a site defines itself begin with this.
OWN = "own-"


def day(text: str | None) -> date | None:
    """A day from the text, or none."""
    return date.fromisoformat(text) if text else None


def record_columns(body: Mapping[str, Any]) -> dict[str, Any]:
    """The envelope columns that need no look-up."""
    return {
        "seq": int(body["seq"]),
        "kind": body["kind"],
        "effective_on": date.fromisoformat(body["effective_on"]),
        "effective_time": time.fromisoformat(body["effective_time"])
        if body["effective_time"]
        else None,
        "recorded_at": datetime.fromisoformat(body["recorded_at"]),
        "recorded_by_id": int(body["recorded_by"]["id"]),
        "performed_by": body["performed_by"],
        "accepted_by_id": int(body["accepted_by"]["id"]) if body["accepted_by"] else None,
        "reason": body["reason"],
        "request_key": UUID(body["request_key"]) if body["request_key"] else None,
    }


def item_columns(body: Mapping[str, Any], entry: Mapping[str, Any]) -> dict[str, Any]:
    """The columns of one RecordItem, without its keys."""
    return {
        "role": entry["role"],
        "kind": body["kind"],
        "effective_on": date.fromisoformat(body["effective_on"]),
        "outcome": entry["outcome"],
        "fit": entry["fit"],
        "unfit_because": entry["unfit_because"],
        "accuses": entry["accuses"],
        "valid_until": day(entry["valid_until"]),
    }


def detail_models(kind: str) -> list[type[RecordDetail]]:
    """The detail tables of a kind of record: at most one, found by introspection."""
    return [
        model
        for model in apps.get_models()
        if issubclass(model, RecordDetail) and is_detail_of(model, kind)
    ]


def is_detail_of(model: type[RecordDetail], kind: str) -> bool:
    """Whether a table holds the details of a kind of record."""
    return kind in model.KINDS or (model.OWN_KINDS and kind.startswith(OWN))


def point_models(kind: str) -> list[type[RecordPoint]]:
    """The point tables of a kind of record."""
    return [
        model
        for model in apps.get_models()
        if issubclass(model, RecordPoint) and kind in model.KINDS
    ]


def item_models(kind: str) -> list[type[ItemDetail]]:
    """The detail tables of a kind of item."""
    return [
        model for model in apps.get_models() if issubclass(model, ItemDetail) and kind == model.KIND
    ]
