"""Everything that lies ahead of a site, read in a fixed number of queries and worked out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from types import SimpleNamespace
from typing import Any

from inventory import knowledge
from inventory.calc import ahead
from inventory.calc.due import NOT_REQUIRED, ON_HOLD
from inventory.items.places import nested
from inventory.ledger.models import ItemKind
from inventory.requirements.models import Booking
from inventory.requirements.plans import plans_of
from inventory.rules.schema import CALIBRATION
from inventory.shutdowns.models import Shutdown
from inventory.shutdowns.overlaps import overlaps, plain
from inventory.timeline import LAST, RequirementSpan
from reports.ahead.asked import Asked
from reports.ahead.endings import KINDS, Years, years_ahead
from reports.ahead.intervals import Intervals
from reports.ahead.monitors import monitor_cover
from reports.ahead.names import Kinds, Names, names_of

Inside = Mapping[int, Collection[int]]
_SPAN = (
    *("item", "requirement", "state", "from_on", "until_on"),
    *("due_on", "warn_on", "row", "pk"),
)


@dataclass(frozen=True, slots=True)
class Stop:
    """A planned shutdown with everything at its place held against it."""

    shutdown: Shutdown
    verdicts: Sequence[ahead.Verdict]
    overlaps: Sequence[Shutdown]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """What lies ahead of a site as of a day; ``end``: the first day after the coming year.

    ``in_date``: the days on which each monitor is in date and here; ``bookings`` by the key of a
    need; ``calibrations``: those booked, by monitor.
    """

    asked: Asked
    end: date
    names: Names
    kinds: Kinds
    months: Sequence[ahead.Month]
    stops: Sequence[Stop]
    cover: Sequence[ahead.Cover]
    in_date: Mapping[int, Sequence[ahead.Days]]
    years: Years
    bookings: Mapping[int, Booking]
    calibrations: Mapping[int, Booking]


def look_ahead(asked: Asked) -> Ahead:
    """Everything asked for. Monitor cover is of the whole site, whatever is asked for."""
    site, on = asked.site, asked.on
    end = ahead.window_end(on)
    names, inside = names_of(site, on), nested(site)
    schedules, spans = knowledge.schedules_of(site), list(_spans(asked))
    often = Intervals(site, schedules, on, names.gauge_of)
    needs = ahead.needs(spans, on, places=names.place_of, interval_of=often)
    shown = [need for need in needs if _asked(need, asked, inside)]
    monitors = [need for need in needs if need.requirement == CALIBRATION]
    bookings = _bookings({need.key: need for need in (*shown, *monitors)}.values(), on)
    kinds = _kinds(names, asked, inside)
    described = knowledge.load_described({*kinds, *_monitors(names)}, {}, None)
    snapshots = {key: one.snapshot_on(on) for key, one in described.items()}
    of_monitors = {key: snapshots.get(key, {}) for key in _monitors(names)}
    covered = monitor_cover(asked, spans, of_monitors, end)
    return Ahead(
        asked=asked,
        end=end,
        names=names,
        kinds=Kinds(schedules),
        months=_in_words_order(ahead.months_ahead(shown, on), names),
        stops=list(_stops(asked, shown, inside)),
        cover=covered.covers,
        in_date=covered.in_date,
        years=years_ahead(kinds, snapshots, needs, on),
        bookings=bookings,
        calibrations={need.item: bookings[need.key] for need in monitors if need.key in bookings},
    )


def _spans(asked: Asked) -> Iterator[ahead.Span]:
    """What is required from the day on; what asks for nothing has no day of its own.

    From today on the time line holds only what follows from time itself. Of a past day only its
    own spans count: what was recorded since must not change what that day looked ahead to.
    """
    rows = RequirementSpan.objects.filter(site=asked.site, until_on__gte=asked.on)
    if asked.past:
        rows = rows.on(asked.on)
    rows = rows.exclude(state__in=(NOT_REQUIRED, ON_HOLD))
    for row in rows.values_list(*_SPAN):
        span = ahead.Span(*row)
        yield replace(span, until_on=LAST) if asked.past else span


def _asked(need: ahead.Need, asked: Asked, inside: Inside) -> bool:
    if asked.requirement and need.requirement != asked.requirement:
        return False
    return asked.place is None or need.place in inside.get(asked.place, ())


def _kinds(names: Names, asked: Asked, inside: Inside) -> dict[int, str]:
    """The items whose endings are asked for: sources that are on site, permits, laboratories; of
    one place, what is there."""
    out = {}
    for item, thing in names.things.items():
        gone = thing.kind == ItemKind.SOURCE and item not in names.on_site
        there = asked.place is None or names.place_of.get(item) in inside.get(asked.place, ())
        if thing.kind in KINDS and there and not gone:
            out[item] = thing.kind
    return out


def _monitors(names: Names) -> list[int]:
    """The monitors that belong here on the day, away or not."""
    return [
        item
        for item, thing in names.things.items()
        if thing.kind == ItemKind.MONITOR and item in names.on_site
    ]


def _bookings(needs: Collection[ahead.Need], on: date) -> dict[int, Booking]:
    rows: Any = [SimpleNamespace(pk=need.key) for need in needs]
    return plans_of(rows, on).bookings if rows else {}


def _stops(asked: Asked, needs: Sequence[ahead.Need], inside: Inside) -> Iterator[Stop]:
    """The shutdowns that are not over, at the place asked for."""
    planned = Shutdown.objects.planned_on(asked.site, asked.on).not_over(asked.on)
    found = list(planned.select_related("place", "record"))
    others = overlaps(found, inside)
    for shutdown in found:
        if _touches(shutdown, asked.place, inside):
            held = ahead.held_against(plain(shutdown), needs, inside, asked.months)
            yield Stop(shutdown, held, others[shutdown.pk])


def _touches(shutdown: Shutdown, place: int | None, inside: Inside) -> bool:
    stopped = shutdown.place_id
    if place is None or stopped is None or place == stopped:
        return True
    return stopped in inside.get(place, ()) or place in inside.get(stopped, ())


def _in_words_order(months: Sequence[ahead.Month], names: Names) -> list[ahead.Month]:
    """Rounds by kind of work, then by the name of the place as people sort it."""

    def order(one: ahead.Round) -> tuple[str, str]:
        place = names.things.get(one.place or 0)
        return (one.requirement, place.order if place else "")

    return [replace(month, rounds=tuple(sorted(month.rounds, key=order))) for month in months]
