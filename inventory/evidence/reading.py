"""Recorded checks and happenings as they were entered, to be corrected."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from inventory.ledger.models import Record
from inventory.ledger.write import read_body


def _subjects(body: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """What the record says of the things that it is about; those withdrawn are none of them."""
    yield from (mention for mention in body["items"] if mention["role"] == "subject")


def from_check(record: Record) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """The values of the form, and by code what each row starts with."""
    body = read_body(record)
    found = {point["item"]: point["found"] for point in body["points"]}
    said = {one["item"]: one for one in _subjects(body)}
    values = {
        "on": record.effective_on,
        "performed_by": body["performed_by"],
        "document": body["detail"]["document"],
        "remark": body["remark"],
        "valid_until": next(filter(None, (one["valid_until"] for one in said.values())), None),
    }
    rows = {
        code: {"result": one["outcome"], "found": found.get(code, "")} for code, one in said.items()
    }
    return values, rows


def from_happening(record: Record) -> tuple[dict[str, Any], list[str]]:
    """The values of the form, and the codes of everything that it concerned, its first first."""
    body = read_body(record)
    codes = [one["item"] for one in _subjects(body)]
    values = {
        "what": body["detail"]["what"],
        "on": record.effective_on,
        "at_time": record.effective_time,
        "performed_by": body["performed_by"],
        "remark": body["remark"],
        "also": codes[1:],
    }
    return values, codes
