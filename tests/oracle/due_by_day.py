"""What is due on one day, a second time: written from the domain's words with plain loops.

It shares no code with the calculation it checks and reads only the attributes of the facts.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

#: Which kind of record can satisfy which requirement.
EVIDENCE = {"leak_test": "leak_test", "calibration": "calibration"}
#: Which kind of record says that a result is on its way.
ON_ITS_WAY = {"leak_test": "wipe_sent"}


def answer(facts: Any, requirement: str, day: date) -> tuple[str, date | None, int | None, str]:
    """State as people see it, due date, deciding record, deciding row."""
    kind = EVIDENCE[requirement]

    failing = _first_open(facts.follow_ups, kind, day)
    if failing is not None:
        return ("failed", None, failing.record, "")
    where = _where(facts.stays, day)
    if where is None:
        return ("not_required", None, None, "")

    schedule = _in_force(facts.schedules, day)
    if schedule is None:
        return ("undecided", None, None, "")

    traits = {}
    described = _in_force(facts.traits, day)
    if described is not None:
        traits.update(described.values)
    traits["whereabouts"] = where
    row = _strictest(schedule.rules.rows, requirement, traits)
    if row.result != "interval":
        return (row.result, None, None, row.id)

    last = _last_good(facts.events, kind, day)
    worse = _failed_after(facts.events, kind, day)
    sent = _on_its_way(facts.events, ON_ITS_WAY.get(requirement), day, (last, worse))
    if last is None or worse is not None:
        waited_for = _all_on_its_way(facts.events, ON_ITS_WAY.get(requirement), day, (last, worse))
        if any(one.valid_until is None or day <= one.valid_until for one in waited_for):
            return ("awaited", None, sent.record, row.id)
        blamed = None if last is None else worse.record
        return ("never_done", None, blamed, row.id)
    due_on = months_later(last.on, row.months)
    if last.valid_until is not None and last.valid_until < due_on:
        due_on = last.valid_until
    decided_by = last.record if sent is None else sent.record
    if day > due_on:
        return ("late", due_on, decided_by, row.id)
    if sent is not None:
        return ("awaited", due_on, sent.record, row.id)
    if (due_on - day).days <= row.lead_days:
        return ("due_soon", due_on, last.record, row.id)
    return ("good", due_on, last.record, row.id)


def _first_open(follow_ups: Any, kind: str, day: date) -> Any:
    """Failed, out of use: the follow-up of such a record is open at the end of the day."""
    failing = None
    for point in follow_ups:
        if point.kind != kind or point.opened_on > day:
            continue
        if point.closed_on is not None and point.closed_on <= day:
            continue
        if failing is None or (point.opened_on, point.seq) < (failing.opened_on, failing.seq):
            failing = point
    return failing


def _where(stays: Any, day: date) -> str | None:
    """Where it is at the end of the day; None when it is not here."""
    for stay in stays:
        if stay.from_on <= day <= stay.until_on:
            return "at_location" if stay.gauge is None else "in_gauge"
    return None


def _in_force(dated: Any, day: date) -> Any:
    """The last one that began by then; before the first began, the first."""
    found = None
    for one in dated:
        if one.from_on <= day or found is None:
            found = one
    return found


def _strictest(rows: Any, requirement: str, traits: dict[str, Any]) -> Any:
    holding = []
    perhaps = []
    for row in rows:
        if row.requirement == requirement:
            answer = _all_hold(row.when, traits)
            if answer == "yes":
                holding.append(row)
            if answer == "nobody knows":
                perhaps.append(row)
    replaced = any(row.mode == "replaces" for row in holding)
    best = None
    for row in holding:
        if replaced and row.mode == "default":
            continue
        if best is None or _is_stricter(row, best):
            best = row
    for row in perhaps:  # what nobody knows may only make it stricter
        if best is None or _is_stricter(row, best):
            best = row
    return best


def _all_hold(conditions: Any, traits: dict[str, Any]) -> str:
    answer = "yes"
    for name, wanted in conditions:
        if traits.get(name) is None:
            answer = "nobody knows"
        elif traits[name] != wanted:
            return "no"
    return answer


def _is_stricter(row: Any, other: Any) -> bool:
    if row.result == "interval" and other.result == "interval":
        return bool(row.months < other.months)
    if row.result == "interval":
        return True
    return row.result == "undecided" and other.result == "not_required"


def _last_good(events: Any, kind: str, day: date) -> Any:
    """The last accepted, valid pass by the end of the day; the time of day orders a day, and
    where none was written down the order of recording does."""
    last = None
    for event in events:
        if event.kind != kind or event.outcome != "pass":
            continue
        if not (event.live and event.fit and event.accepted):
            continue
        accepted_on = event.accepted_on or event.on
        if event.on > day or accepted_on > day:
            continue
        if last is None or _is_later(event, last):
            last = event
    return last


def _failed_after(events: Any, kind: str, day: date) -> Any:
    """A failure that no pass is known to have come after, not corrected: nothing older counts."""
    worst = None
    for event in events:
        if event.kind != kind or not event.live or event.on > day:
            continue
        if not event.accuses or event.outcome == "pass":
            continue
        cleared = False
        for one in events:
            mixed = one.on == event.on and (one.time is None) != (event.time is None)
            if _last_good([one], kind, day) is not None and not mixed and _is_later(one, event):
                cleared = True
        if cleared:
            continue
        if worst is None or _is_later(event, worst):
            worst = event
    return worst


def _on_its_way(events: Any, kind: str | None, day: date, known: Any) -> Any:
    """The first wipe that was taken after everything that is known and has no result yet."""
    waiting = None
    for event in _all_on_its_way(events, kind, day, known):
        if waiting is None or _is_later(waiting, event):
            waiting = event
    return waiting


def _all_on_its_way(events: Any, kind: str | None, day: date, known: Any) -> list[Any]:
    waiting = []
    for event in events:
        if event.kind != kind or not event.live or event.on > day:
            continue
        if event.completed_on is not None and event.completed_on <= day:
            continue
        useless = False
        for result in known:
            if result is not None and not _is_later(event, result):
                useless = True
        if not useless:
            waiting.append(event)
    return waiting


def _is_later(one: Any, other: Any) -> bool:
    if one.on != other.on:
        return bool(one.on > other.on)
    if one.time != other.time:
        if one.time is None or other.time is None:
            return one.time is None
        return bool(one.time > other.time)
    return bool((one.place or one.seq) > (other.place or other.seq))


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or that month's last day where it has no such day."""
    year, month = day.year, day.month
    for _ in range(months):
        month += 1
        if month == 13:
            year, month = year + 1, 1
    number = day.day
    while True:
        try:
            return date(year, month, number)
        except ValueError:
            number -= 1


def days_from(day: date, count: int) -> list[date]:
    """So many days in a row."""
    return [day + timedelta(days=n) for n in range(count)]
