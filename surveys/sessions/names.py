"""What names written in a grid mean: a source, several joined by plus signs, or a gauge, which
stands for every source that was in it on the day."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, ItemKind, ItemQuerySet, sort_key
from inventory.timeline import Stay

JOINED = re.compile(r"\s*[+;]\s*")


class Names:
    """Tags, serials, codes and labels looked up together: two queries for any number of them."""

    def __init__(self, items: ItemQuerySet, texts: Iterable[str]) -> None:
        wanted = {part for text in texts for part in (text, *JOINED.split(text)) if part}
        keys = {sort_key(part) for part in wanted}
        codes = {part.upper() for part in wanted}
        found = items.of_kind(ItemKind.SOURCE, ItemKind.GAUGE).filter(
            Q(code__in=codes) | Q(key__in=keys) | Q(label_sort__in=keys)
        )
        self._named: dict[str, list[Item]] = defaultdict(list)
        for item in found.order_by("label_sort", "pk") if wanted else ():
            for name in {item.code, item.key, item.label_sort}:
                self._named[name].append(item)
        gauges = {
            one.pk for those in self._named.values() for one in those if one.kind == ItemKind.GAUGE
        }
        self._inside: dict[int, list[Stay]] = defaultdict(list)
        stays = Stay.objects.filter(gauge__in=gauges, item__kind=ItemKind.SOURCE)
        for stay in stays.select_related("item").order_by("item__label_sort") if gauges else ():
            if stay.gauge_id is not None:
                self._inside[stay.gauge_id].append(stay)

    def sources(self, text: str, on: date) -> list[Item]:
        """The sources that a text names on a day, each once. Raises DomainError."""
        if self._candidates(text):
            parts = [text]
        else:
            parts = [part for part in JOINED.split(text) if part]
        out: dict[int, Item] = {}
        for part in parts:
            for source in self._sources(self._one(part), on):
                out.setdefault(source.pk, source)
        return list(out.values())

    def source(self, text: str) -> Item:
        """The one source that a text names. Raises DomainError."""
        item = self._one(text)
        if item.kind != ItemKind.SOURCE:
            raise DomainError("not_a_source", {"item": item.label}, field="what")
        return item

    def _candidates(self, text: str) -> list[Item]:
        by_code = self._named.get(text.strip().upper(), [])
        return by_code or self._named.get(sort_key(text), [])

    def _one(self, text: str) -> Item:
        found = self._candidates(text)
        if not found:
            raise DomainError("name_unknown", {"text": text[:80]}, field="what")
        if len(found) > 1:
            said = ", ".join(f"{one.label} ({one.code})" for one in found[:5])
            raise DomainError(
                "name_ambiguous", {"text": text[:80], "candidates": said}, field="what"
            )
        return found[0]

    def _sources(self, item: Item, on: date) -> list[Item]:
        if item.kind == ItemKind.SOURCE:
            return [item]
        inside = [
            stay.item for stay in self._inside[item.pk] if stay.from_on <= on <= stay.until_on
        ]
        if not inside:
            raise DomainError("gauge_empty", {"item": item.label, "on": on}, field="what")
        return inside
