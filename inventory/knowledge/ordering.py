"""From rows of the ledger to what is known of one item."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from datetime import time as time_of_day
from typing import Any

from inventory.calc import due
from inventory.calc.stays import OPEN_END
from inventory.followups import steps as followup_steps
from inventory.followups.models import CLOSED_KIND
from inventory.knowledge import decided
from inventory.knowledge.known import WITHDRAWN, Description, Known
from inventory.knowledge.reading import Links
from inventory.ledger import body as bodies

ONE_DAY = timedelta(days=1)


def places(mentions: Sequence[Mapping[str, Any]]) -> dict[int, int]:
    """The number that gives each record its place within a day. A correction takes the place of
    what it corrects: putting the first of two records of a day right must not make it the last."""
    out: dict[int, int] = {}
    for row in mentions:  # in the order of their numbers, so what is corrected comes first
        out[row["record_id"]] = out.get(row["record__replaces_id"], row["record__seq"])
    return out


def put_in_order(
    one: Known,
    mentions: Sequence[Mapping[str, Any]],
    links: Links,
    bodies_of: Mapping[int, Mapping[str, Any]],
) -> None:
    replaced = {row["record__replaces_id"] for row in mentions}
    accepted_on = _first_days(mentions, links.accepts, replaced)
    completed_on = _first_days(mentions, links.completes, replaced)
    place_of = places(mentions)
    sent = _as_sent(mentions, links.completes, place_of)
    against_until = _against_until(mentions, accepted_on)
    for row in mentions:
        record = row["record_id"]
        one.recorded[record] = row["record__recorded_at"]
        if row["record__replaces_id"]:
            one.corrections[record] = row["record__replaces_id"]
            one.reasons[record] = row["record__reason"]
        live = record not in replaced
        if row["kind"] == bodies.DESCRIBED:
            description = _description(row, bodies_of[record], place_of[record])
            one.all_described.append(description)
            if live:
                one.descriptions.append(description)
        else:
            time, place = sent.get(record, (row["record__effective_time"], place_of[record]))
            event = _event(row, live, accepted_on.get(record), place, time)
            if record in against_until:
                event = replace(event, against_until=against_until[record])
            what = decided.happening(bodies_of.get(record))
            if what and row["role"] != WITHDRAWN:
                event = replace(event, what=what)
            if links.came_with.get(record):
                event = replace(event, came_with=True)
            withdrawn = row["effective_on"] if row["role"] == WITHDRAWN else None
            if done_on := withdrawn or completed_on.get(record):
                event = replace(event, completed_on=done_on)
            one.events.append(event)
        if row["kind"] == CLOSED_KIND and live:
            for target in links.closes.get(record, ()):
                one.closings.setdefault(target, record)
    one.descriptions.sort(key=lambda description: (description.on, description.place))
    told = [
        (row["record_id"], bodies_of[row["record_id"]])
        for row in mentions
        if row["kind"] in decided.KINDS and row["record_id"] not in replaced
    ]
    one.settings, one.confirmations = decided.settings(told), decided.confirmations(told)
    one.follow_ups = _follow_ups(one)
    one.steps = followup_steps.steps(mentions, bodies_of)


def _description(row: Mapping[str, Any], body: Mapping[str, Any], place: int) -> Description:
    return Description(
        row["effective_on"],
        row["record__seq"],
        row["record_id"],
        row["record__recorded_at"],
        body["detail"],
        place,
    )


def _first_days(
    mentions: Sequence[Mapping[str, Any]],
    targets: Mapping[int, list[int]],
    replaced: Collection[int],
) -> dict[int, date]:
    """The day from which a live record says something about each of its targets: that it is
    accepted, or that its result is there. A result counts from the day its wipe was taken."""
    out: dict[int, date] = {}
    for row in mentions:
        if row["record_id"] not in replaced:
            for target in targets.get(row["record_id"], ()):
                out[target] = min(row["effective_on"], out.get(target, row["effective_on"]))
    return out


def _as_sent(
    mentions: Sequence[Mapping[str, Any]],
    completes: Mapping[int, list[int]],
    place_of: Mapping[int, int],
) -> dict[int, tuple[time_of_day | None, int]]:
    """Time and place within the day of each report: those of the sample that it is about. What was
    found here after a sample had been taken came after it, whenever the report came."""
    times = {row["record_id"]: row["record__effective_time"] for row in mentions}
    found = {}
    for row in mentions:
        samples = [one for one in completes.get(row["record_id"], ()) if one in place_of]
        if samples:
            first = min(samples, key=place_of.__getitem__)
            found[row["record_id"]] = (times[first], place_of[first])
    return found


def _against_until(
    mentions: Sequence[Mapping[str, Any]], accepted_on: Mapping[int, date]
) -> dict[int, date]:
    """Until when each record still tells against that was corrected by one which nobody accepted at
    once: the day before its acceptance, or for ever."""
    return {
        row["record__replaces_id"]: accepted_on.get(row["record_id"], OPEN_END) - ONE_DAY
        for row in mentions
        if row["record__replaces_id"] and row["record__accepted_by_id"] is None
    }


def _event(
    row: Mapping[str, Any],
    live: bool,
    accepted_on: date | None,
    place: int,
    time: time_of_day | None,
) -> due.Event:
    at_once = row["record__accepted_by_id"] is not None
    return due.Event(
        record=row["record_id"],
        seq=row["record__seq"],
        kind=row["kind"],
        on=row["effective_on"],
        time=time,
        outcome=row["outcome"],
        fit=row["fit"],
        unfit_because=row["unfit_because"],
        accuses=row["accuses"],
        accepted=at_once or accepted_on is not None,
        live=live,
        valid_until=row["valid_until"],
        place=place,
        accepted_on=None if at_once else accepted_on,
        away_to=row["record__instrument__label"] or "",
    )


def _follow_ups(one: Known) -> list[due.OpenPoint]:
    """One for every record that accuses, relied on or not, corrected or not."""
    by_record = {event.record: event for event in one.events}
    out = []
    for event in one.events:
        if event.accuses:
            closing = by_record.get(one.closings.get(event.record, 0))
            closed_on = closing.on if closing else None
            out.append(due.OpenPoint(event.record, event.seq, event.kind, event.on, closed_on))
    return out
