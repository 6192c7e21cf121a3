"""What is new, in words for the preview, and as it will be described."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from inventory.calc.due import Event
from inventory.calc.explain import Step
from inventory.calc.open_points import LEAK_TEST, open_points
from inventory.calc.stays import RECEIVED
from inventory.items.actions import gauge_snapshot
from inventory.ledger import canonical
from inventory.ledger.models import ItemKind
from reports.exchange.planned import Acts, Thing
from reports.exchange.stated import Stated
from reports.exchange.things import Things
from surveys.monitors.actions import monitor_snapshot

#: Notes of reading a row that stay open points on its sources: code -> doubt.
DOUBTFUL: Mapping[str, str] = {"read_serial_was_number": "leading_zeros"}


def new_source(one: Stated) -> dict[str, Any]:
    """The description of a new source: as its row states it, with what is in doubt."""
    entry, thing = one.entry, one.thing
    for note in one.plan.row.notes:
        if note.code in DOUBTFUL and note.values.get("text") == entry.source.serial:
            thing.doubts[DOUBTFUL[note.code]] = entry.source.serial
    snapshot = entry.source.snapshot()
    snapshot["arrival_unknown"] = thing.received_on is None
    if entry.certificate_on is not None:
        snapshot["certificate_on"] = entry.certificate_on
    if not entry.source.serial:
        snapshot["loaded_as"] = list(one.identity)
    if thing.doubts:
        snapshot["doubts"] = dict(thing.doubts)
    return snapshot


def tell_of_source(one: Stated, today: date) -> None:
    """A new source on its row, with every open point that it will have."""
    thing, row = one.thing, one.plan
    assert thing.day is not None
    place = thing.arrives_at.name if thing.arrives_at is not None else ""
    values = {"source": thing.snapshot["label"], "on": thing.day, "place": place}
    row.writes.insert(0, Step("plan_new_source", values))
    row.news = True
    events = [Event(0, 0, RECEIVED, thing.day)]
    events += [Event(0, 0, LEAK_TEST, on) for on in thing.proofs]
    said = canonical.plain(thing.snapshot)
    row.open_points += open_points(said, events, today, nuclide_known=True)


def tell_of_things(acts: Acts, things: Things) -> None:
    """New places, gauges and monitors on the rows that name them first."""
    for thing in acts.things:
        if thing.kind == ItemKind.SOURCE:
            continue
        row = things.plans[id(thing)]
        if thing.kind == ItemKind.GAUGE:
            told: Any = dict(things.stated[id(thing)])
            thing.snapshot = gauge_snapshot(thing.name, **told)
            row.news = True
        elif thing.kind == ItemKind.MONITOR:
            stated: Any = dict(things.stated[id(thing)])
            thing.snapshot = monitor_snapshot(thing.name, **stated)
            row.news = True
        row.writes.insert(0, _words(thing))


def _words(thing: Thing) -> Step:
    if thing.kind == ItemKind.LOCATION:
        return Step("plan_new_place", {"place": thing.name})
    place = thing.arrives_at.name if thing.arrives_at is not None else ""
    values = {"item": thing.name, "place": place, "on": thing.day}
    return Step("plan_new_gauge" if thing.kind == ItemKind.GAUGE else "plan_new_monitor", values)
