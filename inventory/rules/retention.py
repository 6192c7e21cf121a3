"""How long a record must be kept. Nothing is ever deleted by itself: this says what may go.

Of several rows the latest end holds. Rows of one ``alternative`` are an *or*: the earliest of their
ends is enough. While an end has not come (the thing is still here, the licence goes on) nothing is
decided.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from inventory.calc.dates import add_months
from inventory.calc.explain import Explained, Scalar, Step
from inventory.rules.schema import RetentionRow


@dataclass(frozen=True, slots=True)
class RecordFacts:
    """What ends the keeping of a record: the days that have come or are known, None where not.

    ``licence_ends``: every day on which the licence ends (expiry, revocation); the earliest counts.
    ``series_end_on``: the last measurement of the series, once it has ended.
    """

    record_on: date
    next_record_on: date | None = None
    disposed_on: date | None = None
    employment_end_on: date | None = None
    licence_ends: Sequence[date] = ()
    series_end_on: date | None = None


@dataclass(frozen=True, slots=True)
class Keep:
    """Until which day (included) a record is kept; ``until_on`` None: not decided yet, unless
    ``for_ever``. ``tell_by``: the last day to announce a disposal right after it."""

    until_on: date | None = None
    for_ever: bool = False
    tell_by: date | None = None


#: An end: a day, for ever, or not known yet.
_FOR_EVER = date.max
_End = date | None


def keep_until(rows: Iterable[RetentionRow], facts: RecordFacts) -> Explained[Keep]:
    """How long a record is kept by the rows of its kind, with the clause of what decides first.

    No rows: not decided, and the step says that the rule set is silent.
    """
    units = [_unit(unit, facts) for unit in _units(rows)]
    if not units:
        return Explained(Keep(), (Step("keep_no_row"),))
    row, end = max(units, key=lambda unit: (unit[1] is None, unit[1] or date.min))
    steps = [_step(row, end, facts), *(_step(*one, facts) for one in units if one[0] is not row)]
    if end is None or end == _FOR_EVER:
        return Explained(Keep(for_ever=end is not None), tuple(steps))
    tell_by, told = _notice([one for one, _end in units], end)
    return Explained(Keep(end, tell_by=tell_by), (*steps, *told))


def _units(rows: Iterable[RetentionRow]) -> list[list[RetentionRow]]:
    """Rows that stand alone, and those of one alternative together."""
    units: dict[str, list[RetentionRow]] = {}
    for row in rows:
        units.setdefault(f"or {row.alternative}" if row.alternative else row.id, []).append(row)
    return list(units.values())


def _unit(rows: Sequence[RetentionRow], facts: RecordFacts) -> tuple[RetentionRow, _End]:
    """The row whose end comes first, and that end. One that has not come yet comes last."""
    ends = [(row, _end(row, facts)) for row in rows]
    return min(ends, key=lambda one: (one[1] is None, one[1] or date.max))


def _end(row: RetentionRow, facts: RecordFacts) -> _End:
    if row.kept_from == "for_ever":
        return _FOR_EVER
    begin = _begin(row.kept_from, facts)
    return add_months(begin, row.months) if begin else None


def _begin(kept_from: str, facts: RecordFacts) -> date | None:
    """The day that a period is counted from."""
    return {
        "record": facts.record_on,
        "next_record": facts.next_record_on,
        "disposal": facts.disposed_on,
        "employment_end": facts.employment_end_on,
        "licence_end": min(facts.licence_ends, default=None),
        "series_end": facts.series_end_on,
        "calendar_year_end": facts.record_on.replace(month=12, day=31),
    }[kept_from]


def _step(row: RetentionRow, end: _End, facts: RecordFacts) -> Step:
    values: dict[str, Scalar] = {"row": row.id, "note": row.note}
    if row.kept_from == "for_ever":
        return Step("keep_for_ever", values, row.cite)
    values |= {"months": row.months, "kept_from": row.kept_from}
    if end is None:
        return Step("keep_not_decided", values, row.cite)
    values |= {"begin_on": _begin(row.kept_from, facts), "until_on": end}
    return Step("keep_until", values, row.cite)


def _notice(rows: Sequence[RetentionRow], until: date) -> tuple[date | None, tuple[Step, ...]]:
    """The last day to announce a disposal on ``until``, by the row with the longest notice."""
    row = max(rows, key=lambda one: one.notice_days)
    if not row.notice_days:
        return None, ()
    tell_by = until - timedelta(days=min(row.notice_days, (until - date.min).days))
    values: dict[str, Scalar] = {"days": row.notice_days, "tell_by": tell_by}
    return tell_by, (Step("keep_notice", values, row.cite),)
