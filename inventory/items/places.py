"""Places and what lies in them."""

from __future__ import annotations

from collections import defaultdict

from config.accounts.models import Site
from inventory.items.models import Location


def nested(site: Site) -> dict[int, set[int]]:
    """Each location with every location inside it, itself included: one query."""
    within = dict(Location.objects.filter(item__site=site).values_list("item_id", "within_id"))
    out: dict[int, set[int]] = defaultdict(set)
    for location in within:
        place: int | None = location
        seen: set[int] = set()
        while place is not None and place not in seen:
            seen.add(place)
            out[place].add(location)
            place = within.get(place)
    return out
