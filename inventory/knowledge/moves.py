"""Movements of many items, read in one query."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Any

from inventory.calc import stays
from inventory.knowledge.known import Known
from inventory.knowledge.ordering import places
from inventory.ledger.models import RecordItem

_MOVE = (
    *("item_id", "record_id", "record__seq", "record__replaces_id", "kind"),
    *("effective_on", "record__effective_time"),
    *("record__movement__gauge_id", "record__movement__location_id"),
    *("record__movement__keeping", "record__movement__away_to", "record__movement__owner"),
    "record__movement__expected_on",
)


def movements(items: Collection[int]) -> dict[int, list[stays.Move]]:
    """The movements of these items and nothing else that is known of them: one query."""
    return moves_of(items, None)


def moves_with_gauges(
    found: Mapping[int, Known], known: datetime | None
) -> dict[int, list[stays.Move]]:
    """The movements of the items, and of every gauge that one of them was ever in."""
    out = moves_of(found, known)
    inside = {move.gauge for moves in out.values() for move in moves if move.gauge}
    return out | moves_of(inside - found.keys(), known)


def moves_of(items: Collection[int], known: datetime | None) -> dict[int, list[stays.Move]]:
    rows = RecordItem.objects.filter(item__in=items, kind__in=stays.VERBS)
    if known is not None:
        rows = rows.filter(record__recorded_at__lte=known)
    mentions: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows.order_by("record__seq").values(*_MOVE):
        mentions[row["item_id"]].append(row)
    return {item: _moves_from(of_item) for item, of_item in mentions.items()}


def _moves_from(mentions: Sequence[Mapping[str, Any]]) -> list[stays.Move]:
    replaced = {row["record__replaces_id"] for row in mentions}
    place_of = places(mentions)
    return [
        stays.Move(
            on=row["effective_on"],
            time=row["record__effective_time"],
            seq=row["record__seq"],
            record=row["record_id"],
            verb=row["kind"],
            gauge=row["record__movement__gauge_id"],
            location=row["record__movement__location_id"],
            place=place_of[row["record_id"]],
            keeping=row["record__movement__keeping"],
            away_to=row["record__movement__away_to"],
            visiting=bool(row["record__movement__owner"]),
            expected_on=row["record__movement__expected_on"],
        )
        for row in mentions
        if row["record_id"] not in replaced
    ]
