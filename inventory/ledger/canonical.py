"""Canonical text: the same content always gives the same bytes.

JSON in UTF-8 with sorted keys, no spaces, every number a decimal string. Not RFC 8785, whose
numbers are IEEE doubles: activities must keep every digit they were stated with.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from inventory.calc.errors import DomainError


def plain(value: Any) -> Any:
    """Data with nothing in it but dicts, lists, text, booleans and null."""
    kind = type(value)
    if kind is str:
        return value if value.isprintable() else _text(value)
    if value is None or kind is bool:
        return value
    if kind is dict or isinstance(value, Mapping):
        return _mapping(value)
    if kind is list or kind is tuple:
        return [plain(inner) for inner in value]
    return _other(value)


def _mapping(value: Mapping[Any, Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, inner in value.items():
        if type(key) is not str or not key.isprintable():
            key = _text(str(key))
        kind = type(inner)
        if inner is None or kind is bool or (kind is str and inner.isprintable()):
            out[key] = inner  # most of a record by far
        else:
            out[key] = plain(inner)
    if len(out) != len(value):
        raise TypeError("two keys have the same canonical text")
    return out


def _other(value: Any) -> Any:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Sequence) and not isinstance(value, bytes | bytearray | memoryview):
        return [plain(inner) for inner in value]
    return _scalar(value)


def _scalar(value: Any) -> str:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, float | Decimal) and not math.isfinite(value):
        raise DomainError("number_not_finite")
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, int | Decimal | UUID):
        return str(value)
    raise TypeError(f"{type(value).__name__} has no canonical text")


#: Control characters but line ends and tabs, and half surrogates (Unicode categories Cc and Cs).
_REFUSED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")


def _text(value: str) -> str:
    """Text as every database keeps it: no NUL or other control characters, no half surrogates."""
    if _REFUSED.search(value):
        raise DomainError("text_has_control_character", {"text": repr(value)[:80]})
    if "\r" in value:
        return value.replace("\r\n", "\n").replace("\r", "\n")
    return value


def text(value: Any) -> str:
    """The canonical text of data."""
    return written(plain(value))


def written(data: Any) -> str:
    """The canonical text of data that ``plain`` has been over."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def link_hash(previous: str, body: str) -> str:
    """SHA-256 over the previous hash and this body (64 hexadecimal digits, UTF-8)."""
    return hashlib.sha256((previous + body).encode()).hexdigest()
