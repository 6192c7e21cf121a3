"""Whatever is written, what follows from it follows, and nothing else does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from inventory import derive, knowledge
from inventory.calc.asof import AsOf
from inventory.calc.dates import add_months
from inventory.calc.due import Decision
from inventory.calc.moves import VERBS
from inventory.ledger.models import Record, RecordItem
from inventory.ledger.write import last_seq, read_body
from inventory.timeline import RequirementSpan
from tests.inventory.everything_acts import ACTS, attempt
from tests.inventory.everything_world import TODAY, Cast, build

pytestmark = pytest.mark.django_db

#: What a record can say something about, where that is not the requirement of its own name alone.
CONCERNS = {
    "accounting_check": {"accounting_check", "leak_test", "shutter_check"},
    "check_device_reading": {"check_device_reading", "calibration"},
    "happening": {"leak_test", "device_inspection", "calibration"},
    "missing": {"accounting_check"},
}
#: Kinds of record from which something follows for other things than those that it is about.
REACH_FURTHER = (*VERBS, "described", "setting_made", "change_confirmed", "schedule_set")
#: Acts in the order in which they are first possible; each part is shuffled.
SCHEDULES = ("schedule_to_come", "american_since", "german_since")
USUAL = [name for name in ACTS if name not in SCHEDULES]
Line = list[tuple[date, date, Decision]]
Lines = dict[tuple[int, str], Line]


def lines_of(cast: Cast) -> Lines:
    """Every stored time line of the site."""
    out: Lines = {}
    for row in RequirementSpan.objects.filter(site=cast.site).order_by("from_on"):
        span = (row.from_on, row.until_on, row.decision)
        out.setdefault((row.item_id, row.requirement), []).append(span)
    return out


def said(line: Line, day: date) -> Decision:
    return next(decision for begin, until, decision in line if begin <= day <= until)


def written_since(cast: Cast, seq: int) -> list[Record]:
    return list(Record.objects.filter(site=cast.site, seq__gt=seq).order_by("seq"))


def check_reach(cast: Cast, changed: set[tuple[int, str]], records: list[Record]) -> None:
    """Only what the records concern has changed: the things and the requirements."""
    mentions = RecordItem.objects.filter(record__in=records)
    touched = set(mentions.values_list("item_id", flat=True))
    whole = any(one.kind == "schedule_set" for one in records)
    reach = derive.affected(touched, cast.site if whole else None)
    assert {item for item, _requirement in changed} <= reach
    (last,) = [one for one in records if one.kind != "schedule_drafted"]
    if last.kind not in REACH_FURTHER:
        assert {item for item, _requirement in changed} <= touched
    allowed = requirements_of(last)
    assert allowed is None or {requirement for _item, requirement in changed} <= allowed


def requirements_of(record: Record) -> set[str] | None:
    """The requirements that a record can say something about; None: any."""
    if record.kind in (*VERBS, "described", "schedule_set"):
        return None
    detail = read_body(record)["detail"]
    if record.kind in ("setting_made", "change_confirmed"):
        return {detail["requirement"]}
    kind = record.kind
    if kind == "followup_closed":
        kind = detail["kind"]
    elif kind == "accepted":
        kind = Record.objects.get(site=record.site, seq=detail["accepts"]).kind
    return CONCERNS.get(kind, {kind})


def days_of_interest(line: Line) -> set[date]:
    """The past, now, long after, and both sides of every edge and every date that is named."""
    fixed = {date(2020, 1, 1), date(2025, 6, 30), TODAY}
    fixed |= {add_months(TODAY, 12 * years) for years in (1, 10, 40)}
    edges = {begin for begin, _until, _decision in line if begin > date(2000, 1, 1)}
    for _begin, _until, decision in line:
        edges |= {day for day in (decision.due_on, decision.warn_on) if day}
    near = (-1, 0, 1)
    return fixed | {day + timedelta(days=n) for day in edges for n in near}


def check_days(cast: Cast, lines: Lines, keys: list[tuple[int, str]]) -> None:
    """What is stored says on a day what is worked out for that day."""
    known = knowledge.load({item for item, _requirement in keys})
    for item, requirement in keys:
        line = lines[item, requirement]
        for day in cast.random.sample(sorted(days_of_interest(line)), 6):
            found = knowledge.decide_on(known[item], requirement, day).value
            assert said(line, day) == found, (item, requirement, day)


def step(cast: Cast, name: str, effects: Counter[str]) -> None:
    """One act, and everything that must be so after it."""
    before, seq = lines_of(cast), last_seq(cast.site)
    if not attempt(cast, name):
        return
    after, records = lines_of(cast), written_since(cast, seq)
    assert list(derive.rebuild(write=False)) == [], name
    changed = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    check_reach(cast, changed, records)
    effects[name] += bool(changed)
    if name == "movement":
        effects[records[-1].kind] += bool(changed)
        cast.tried[records[-1].kind] += 3 * bool(changed)
    there = sorted(after.keys() & changed) or sorted(after)
    check_days(cast, after, cast.random.sample(there, min(3, len(there))))


def remembered(cast: Cast) -> tuple[datetime, Mapping[date, Any]]:
    """What the database says now about some days."""
    days = [date(2025, 2, 1), date(2025, 8, 15), TODAY, date(2026, 9, 1)]
    moment = Record.objects.filter(site=cast.site).latest("seq").recorded_at
    items = [one.pk for one in cast.items]
    return moment, {day: knowledge.states(items, AsOf(day)) for day in days}


def part(cast: Cast, schedule: str, effects: Counter[str]) -> list[str]:
    """The acts under one more schedule: every one that has not changed anything yet, some others,
    and movements."""
    new = [name for name in USUAL if not effects[name]]
    again = new if schedule == SCHEDULES[-1] else cast.random.sample(USUAL, 3)
    acts = [*new, *again, *["movement"] * 10]
    cast.random.shuffle(acts)
    return [schedule, *acts] if schedule else acts


@pytest.mark.parametrize("seed", [3])
def test_whatever_is_written_what_follows_from_it_follows(db, seed):
    cast = build(seed)
    effects: Counter[str] = Counter()
    memories = []
    for schedule in ("", *SCHEDULES):
        for name in part(cast, schedule, effects):
            step(cast, name, effects)
        memories.append(remembered(cast))
    for moment, then in memories:
        items = [one.pk for one in cast.items]
        for day, states in then.items():
            assert knowledge.states(items, AsOf(day, moment)) == states
    assert [name for name in (*ACTS, *VERBS) if not effects[name]] == []
