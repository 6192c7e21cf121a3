"""What persons have decided for one thing, and what happened to it: from texts of its records.

A setting holds from its day until its end, until it is taken back, or until a later one of the
same authority for the same requirement takes its place.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from inventory.calc.due import Confirmation, Setting
from inventory.calc.due.states import LONG_AGO
from inventory.evidence.models import HAPPENING_KIND
from inventory.ledger import body as bodies
from inventory.ledger import canonical
from inventory.rules.load import row_from
from inventory.rules.schema import Row
from inventory.schedule.models import CONFIRMED_KIND, SETTING_KIND

#: Kinds of record of which the text is read here.
KINDS = (SETTING_KIND, CONFIRMED_KIND, HAPPENING_KIND)

Told = Sequence[tuple[int, Mapping[str, Any]]]  # live records of one item and their texts, in order


def happening(body: Mapping[str, Any] | None) -> str:
    """What happened, of a record of that kind; empty for any other."""
    return str(body["detail"]["what"]) if body and body["kind"] == HAPPENING_KIND else ""


def confirmations(told: Told) -> list[Confirmation]:
    """The changes by decay that a named person has confirmed."""
    return [
        Confirmation(body["detail"]["requirement"], date.fromisoformat(body["effective_on"]))
        for _record, body in told
        if body["kind"] == CONFIRMED_KIND
    ]


def settings(told: Told) -> list[Setting]:
    """The rows for this thing alone, each until the next of its authority."""
    by_key: dict[tuple[str, str], list[tuple[int, Mapping[str, Any]]]] = {}
    for record, body in told:
        if body["kind"] == SETTING_KIND:
            key = (body["detail"]["requirement"], body["detail"]["authority"])
            by_key.setdefault(key, []).append((record, body))
    return [one for same in by_key.values() for one in _one_after_another(same)]


def _one_after_another(same: Told) -> Iterable[Setting]:
    ordered = sorted(same, key=lambda one: (one[1]["effective_on"], int(one[1]["seq"])))
    begins = [date.fromisoformat(body["effective_on"]) for _record, body in ordered]
    for place, (record, body) in enumerate(ordered):
        detail = body["detail"]
        if detail["row"] is None:
            continue
        until = bodies.day(detail["until_on"])
        if place + 1 < len(begins):
            before = begins[place + 1] - timedelta(days=1) if begins[place + 1] > LONG_AGO else None
            until = min(until or date.max, before or LONG_AGO)
        if until is None or until >= begins[place]:
            yield Setting(begins[place], _row(canonical.text(detail["row"])), until, record)


@lru_cache(maxsize=4096)
def _row(text: str) -> Row:
    return row_from("setting", json.loads(text))
