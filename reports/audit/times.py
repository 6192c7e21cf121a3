"""The time line of a requirement as people lived it: in date, late, never done, by the day.

Everything here is read off ``due.spans``; no rule is worked out a second time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inventory import knowledge
from inventory.calc import due
from inventory.calc.dates import add_months

#: Days in these states say nothing about punctuality: nothing was required, nobody had decided
#: what, or a failure had taken the thing out of use.
NOT_COUNTED = (due.NOT_REQUIRED, due.ON_HOLD, due.UNDECIDED, due.FAILED)
RECENT_MONTHS = 36


@dataclass(frozen=True, slots=True)
class Stretch:
    """From a day until a day (both included) in one state; *due soon* is *good* here.

    ``first`` and ``last`` are what the requirement said at either end.
    """

    from_on: date
    until_on: date
    state: str
    first: due.Decision
    last: due.Decision

    @property
    def days(self) -> int:
        """How many days it lasted."""
        return (self.until_on - self.from_on).days + 1


@dataclass(frozen=True, slots=True)
class Gap:
    """A time without evidence that holds. ``ended_on``: the day that put an end to it, None while
    it lasts; ``after`` is what the requirement said from then on."""

    from_on: date
    ended_on: date | None
    days: int
    before: due.Decision
    after: due.Decision | None

    @property
    def counts_again(self) -> bool:
        """Whether a pass ended it."""
        return self.after is not None and self.after.due_on is not None


@dataclass(frozen=True, slots=True)
class Share:
    """On how many of the days that count a requirement was in date."""

    good: int = 0
    counted: int = 0

    def __add__(self, other: Share) -> Share:
        return Share(self.good + other.good, self.counted + other.counted)

    @property
    def complete(self) -> bool:
        """Whether no day is missing."""
        return self.good == self.counted

    @property
    def percent(self) -> str:
        """Rounded down, so that 100 % is all of it: 99.9."""
        if not self.counted:
            return ""
        tenths = 1000 * self.good // self.counted
        return str(tenths // 10) if tenths % 10 == 0 else f"{tenths / 10:.1f}"


def stretches(one: knowledge.Known, requirement: str, on: date) -> list[Stretch]:
    """The time line up to the end of a day, neighbours of one kind joined."""
    out: list[Stretch] = []
    for span in due.spans(one.facts(), requirement):
        for part in _parts(span, on):
            if out and _alike(out[-1], part):
                out[-1] = replace(out[-1], until_on=part.until_on, last=part.last)
            else:
                out.append(part)
    return out


def _parts(span: due.DecisionSpan, on: date) -> Iterator[Stretch]:
    """A span cut at its due date and at the end of the day."""
    said, until = span.decision, min(span.until_on, on)
    if span.from_on > on:
        return
    if said.state not in (due.DATED, due.AWAITED) or said.due_on is None:
        # Awaited without a date: nothing held when the wipe was sent away.
        state = due.NEVER_DONE if said.state == due.AWAITED else said.state
        yield Stretch(span.from_on, until, state, said, said)
        return
    if span.from_on <= said.due_on:
        yield Stretch(span.from_on, min(until, said.due_on), due.GOOD, said, said)
    if said.due_on < until:
        late_from = max(span.from_on, said.due_on + timedelta(days=1))
        yield Stretch(late_from, until, due.LATE, said, said)


def _alike(one: Stretch, other: Stretch) -> bool:
    """Good time is joined as long as it rests on one due date: another pass begins anew."""
    if one.state != other.state:
        return False
    return one.state != due.GOOD or one.last.due_on == other.first.due_on


def late(found: Sequence[Stretch], on: date) -> Iterator[Gap]:
    """The times between a due date and the next evidence, the shortest (done on the very next
    day) included."""
    for one, after in _pairs(found):
        next_said = after.first if after else None
        ended_on = after.from_on if after else None
        if one.state == due.LATE:
            due_on = one.first.due_on or one.from_on
            days = ((ended_on or on) - due_on).days
            yield Gap(due_on + timedelta(days=1), ended_on, days, one.first, next_said)
        elif one.state == due.GOOD and after is not None and after.state == due.GOOD:
            missed = one.last.due_on or after.from_on
            if missed < after.from_on:
                days = (after.from_on - missed).days
                yield Gap(after.from_on, after.from_on, days, one.last, next_said)


def never_done(found: Sequence[Stretch]) -> Iterator[Gap]:
    """The times in which a requirement had nothing that it could rest on."""
    for one, after in _pairs(found):
        if one.state == due.NEVER_DONE:
            ended_on, said = (after.from_on, after.first) if after else (None, None)
            yield Gap(one.from_on, ended_on, one.days, one.last, said)


def _pairs(found: Sequence[Stretch]) -> Iterator[tuple[Stretch, Stretch | None]]:
    return zip(found, [*found[1:], None], strict=True)


def years_ago(on: date) -> date:
    """The same day three years before."""
    return add_months(on, -RECENT_MONTHS)


def recent_from(on: date) -> date:
    """The first day of the last three years."""
    return years_ago(on) + timedelta(days=1)


def share(found: Sequence[Stretch], since: date = due.LONG_AGO) -> Share:
    """On how many days since a day it was in date, of those that count."""
    total = Share()
    for one in found:
        if one.state in NOT_COUNTED or one.until_on < since:
            continue
        days = (one.until_on - max(one.from_on, since)).days + 1
        total += Share(days if one.state == due.GOOD else 0, days)
    return total
