"""Planned shutdowns held against what falls due: what can wait, what cannot, what goes along."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from inventory.calc.ahead.needs import Need
from inventory.calc.dates import add_months

FALLS_SHORT: Final = "falls_short"
REACHED: Final = "reached"
TAKE_ALONG: Final = "take_along"
NO_DATE: Final = "no_date"
#: In the order in which a planner looks at them.
VERDICTS: Final = (FALLS_SHORT, NO_DATE, REACHED, TAKE_ALONG)


@dataclass(frozen=True, slots=True)
class Shutdown:
    """Days on which a place (None: the whole site) stands still, both included."""

    key: int
    place: int | None
    begins_on: date
    ends_on: date


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a need stands to a shutdown. ``days``: falls short by; reached: after its first day;
    to be taken along: due so long after its end; without a date 0."""

    need: Need
    verdict: str
    days: int = 0


def verdict(need: Need, shutdown: Shutdown, months: int) -> Verdict | None:
    """How one need stands to a shutdown; None where it is due more than ``months`` calendar months
    after the end, so that doing it then would give too much away."""
    due_on = need.due_on
    if due_on is None:
        return Verdict(need, NO_DATE)
    if due_on < shutdown.begins_on:
        return Verdict(need, FALLS_SHORT, (shutdown.begins_on - due_on).days)
    if due_on <= shutdown.ends_on:
        return Verdict(need, REACHED, (due_on - shutdown.begins_on).days)
    if due_on <= add_months(shutdown.ends_on, months):
        return Verdict(need, TAKE_ALONG, (due_on - shutdown.ends_on).days)
    return None


def held_against(
    shutdown: Shutdown,
    needs: Iterable[Need],
    inside: Mapping[int, Collection[int]],
    months: int,
) -> list[Verdict]:
    """Every need at the place of a shutdown, by verdict and day. ``inside``: each place with the
    places in it, itself included. What is nowhere on site is at no place."""
    there = None if shutdown.place is None else inside.get(shutdown.place, {shutdown.place})
    found = [
        verdict(need, shutdown, months)
        for need in needs
        if need.place is not None and (there is None or need.place in there)
    ]
    return sorted((one for one in found if one is not None), key=_order)


def _order(one: Verdict) -> tuple[int, date, str, int]:
    need = one.need
    day = need.due_on or date.min
    return (VERDICTS.index(one.verdict), day, need.requirement, need.item)


def overlapping(
    one: Shutdown, others: Iterable[Shutdown], inside: Mapping[int, Collection[int]]
) -> list[Shutdown]:
    """The other shutdowns that share a day and a place with this one."""
    return [
        other
        for other in others
        if other.key != one.key
        and other.begins_on <= one.ends_on
        and one.begins_on <= other.ends_on
        and _share(one.place, other.place, inside)
    ]


def _share(one: int | None, other: int | None, inside: Mapping[int, Collection[int]]) -> bool:
    if one is None or other is None or one == other:
        return True
    return one in inside.get(other, ()) or other in inside.get(one, ())
