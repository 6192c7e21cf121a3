"""Rows of the ledger about many items: each function asks once."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from inventory.followups import steps as followup_steps
from inventory.knowledge import decided
from inventory.knowledge.known import ACCEPTS, CAME_WITH, CLOSES, COMPLETES
from inventory.ledger import body as bodies
from inventory.ledger.models import Record, RecordItem, RecordLink

_MENTION = (
    "item_id",
    "record_id",
    "record__seq",
    "role",
    "kind",
    "effective_on",
    "record__effective_time",
    "record__recorded_at",
    "record__accepted_by_id",
    "record__instrument__label",
    "record__replaces_id",
    "record__reason",
    "outcome",
    "fit",
    "unfit_because",
    "accuses",
    "valid_until",
)


def mentions_of(
    items: Collection[int], known: datetime | None, kinds: Collection[str] = ()
) -> dict[int, list[dict[str, Any]]]:
    rows = RecordItem.objects.filter(item__in=items)
    if kinds:
        rows = rows.filter(kind__in=kinds)
    if known is not None:
        rows = rows.filter(record__recorded_at__lte=known)
    out: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.order_by("record__seq").values(*_MENTION):
        out[row["item_id"]].append(row)
    return out


@dataclass(slots=True)
class Links:
    accepts: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    closes: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    completes: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    came_with: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))


def links_in(mentions: Mapping[int, list[dict[str, Any]]]) -> Links:
    records = {row["record_id"] for rows in mentions.values() for row in rows}
    out = Links()
    by_role = {ACCEPTS: out.accepts, CLOSES: out.closes, COMPLETES: out.completes}
    by_role |= {CAME_WITH: out.came_with}
    for record, target, role in RecordLink.objects.filter(
        record__in=records, role__in=by_role
    ).values_list("record_id", "target_id", "role"):
        by_role[role][record].append(target)
    return out


def bodies_in(mentions: Mapping[int, list[dict[str, Any]]]) -> dict[int, Mapping[str, Any]]:
    """The texts of the records that say in words what is needed here."""
    wanted = {
        row["record_id"]
        for rows in mentions.values()
        for row in rows
        if row["kind"] in (bodies.DESCRIBED, *followup_steps.KINDS, *decided.KINDS)
    }
    rows = Record.objects.filter(pk__in=wanted).values_list("pk", "body")
    return {pk: json.loads(text) for pk, text in rows}
