"""Shutdowns on the same days at the same place: allowed, and said."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from inventory.calc import ahead
from inventory.items.places import nested
from inventory.shutdowns.models import Shutdown


def plain(shutdown: Shutdown) -> ahead.Shutdown:
    """A planned shutdown as the calculation takes it."""
    assert shutdown.begins_on is not None and shutdown.ends_on is not None
    place = shutdown.place_id
    return ahead.Shutdown(shutdown.pk, place, shutdown.begins_on, shutdown.ends_on)


def overlaps(
    shutdowns: Collection[Shutdown], inside: Mapping[int, Collection[int]]
) -> dict[int, list[Shutdown]]:
    """For each of these the others that share a day and a place with it. ``inside``: each place
    with the places in it, itself included."""
    by_key = {one.pk: one for one in shutdowns}
    every = [plain(one) for one in shutdowns]
    return {
        one.key: [by_key[other.key] for other in ahead.overlapping(one, every, inside)]
        for one in every
    }


def overlaps_with(shutdown: Shutdown) -> list[Shutdown]:
    """The shutdowns of the site, as planned on the day of its record, that overlap with this one;
    none for one that was taken back."""
    record = shutdown.record
    if shutdown.begins_on is None or record.site is None:
        return []
    planned = Shutdown.objects.planned_on(record.site, record.effective_on)
    there = list(planned.select_related("place"))
    return overlaps(there, nested(record.site)).get(shutdown.pk, [])
