"""From which day what is new is there. What a row does not say is not made up: the first day on
which something happened to a thing proves that it was here by then, else it is today, and the
arrival stays an open point."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from inventory.calc.explain import Step
from inventory.ledger.models import ItemKind
from reports.exchange.planned import RowPlan, Thing
from reports.exchange.register_now import RegisterNow
from reports.exchange.things import NOWHERE, Things


def set_days(
    register: RegisterNow,
    things: Things,
    sources: Sequence[tuple[Thing, RowPlan]],
    today: date,
) -> list[Thing]:
    """Give everything new its day and the place where it arrives; answers all that is new, in the
    order in which it is described."""
    first = register.first_days(ItemKind.GAUGE)
    new = [(thing, plan) for thing, plan in sources if thing.new]
    for thing, _ in new:
        thing.day = _day(thing, today)
    _gauge_days(things, [thing for thing, _ in new], today)
    for thing in things.all:
        if thing.new and thing.kind == ItemKind.MONITOR:
            thing.day = _day(thing, today)
        if thing.new and thing.day and thing.kind in (ItemKind.GAUGE, ItemKind.MONITOR):
            thing.arrives_at = thing.inside or things.place("", things.plans[id(thing)])
    for thing, plan in new:
        _arrive(register, things, thing, plan, first)
    _place_days(things, [thing for thing, _ in new])
    return [*(one for one in things.all if one.new and one.day), *(thing for thing, _ in new)]


def _day(thing: Thing, today: date) -> date:
    return thing.received_on or min(thing.proofs, default=today)


def _gauge_days(things: Things, sources: Sequence[Thing], today: date) -> None:
    """A gauge of unknown arrival was there when the first of its sources was. One that has no row
    of its own and that nothing goes into is not described at all."""
    inside: dict[int, list[date]] = defaultdict(list)
    for source in sources:
        if source.inside is not None and source.day is not None:
            inside[id(source.inside)].append(source.day)
    for gauge in things.all:
        if gauge.new and gauge.kind == ItemKind.GAUGE:
            gauge.proofs += inside[id(gauge)]
            if gauge.proofs or id(gauge) in things.listed:
                gauge.day = _day(gauge, today)


def _arrive(
    register: RegisterNow,
    things: Things,
    source: Thing,
    plan: RowPlan,
    first: Mapping[int, date],
) -> None:
    """Where a source arrives: in its gauge, or at the place of a gauge that came only later."""
    to = source.inside or things.place("", plan)
    if to.name == NOWHERE:
        source.doubts["place"] = ""
    source.arrives_at = to
    if to.kind != ItemKind.GAUGE:
        return
    since = to.day if to.item is None else first.get(to.item.pk)
    if since is None or source.day is None or since <= source.day:
        return
    source.arrives_at = to.arrives_at or to.inside or _stands_at(register, things, to, plan)
    source.installed_on = since
    plan.notes.append(
        Step(
            "plan_waits_for_gauge",
            {"item": to.name, "on": since, "place": source.arrives_at.name},
        )
    )


def _stands_at(register: RegisterNow, things: Things, gauge: Thing, plan: RowPlan) -> Thing:
    assert gauge.item is not None
    stay = register.held[gauge.item.pk].stay
    name = register.label(stay.location_id) if stay is not None else ""
    return things.place(name, plan)


def _place_days(things: Things, sources: Sequence[Thing]) -> None:
    """A place is described from the day on which the first thing came there; one that nothing
    goes to is not described at all."""
    days: dict[int, list[date]] = defaultdict(list)
    for thing in (*things.all, *sources):
        if thing.new and thing.arrives_at is not None and thing.day is not None:
            days[id(thing.arrives_at)].append(thing.day)
    for place in things.all:
        if place.new and place.kind == ItemKind.LOCATION:
            place.day = min([*place.proofs, *days[id(place)]], default=None)
