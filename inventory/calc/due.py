"""What is due: the only rule code, and the only place that assigns a due date.

``decide`` answers for one subject, one requirement and one day. ``spans`` is ``decide`` sampled at
the days on which anything can change, equal neighbours joined: that is what the database stores.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from datetime import time as time_of_day

from inventory.calc.dates import add_months
from inventory.calc.explain import Explained, Scalar, Step
from inventory.calc.stays import OPEN_END, StaySpan, at
from inventory.rules.schema import AWAITED_AFTER, REQUIREMENTS, Row, RuleSet
from inventory.rules.strictest import Choice, choose

FAILED, NOT_REQUIRED, ON_HOLD = "failed", "not_required", "on_hold"
UNDECIDED, NEVER_DONE, AWAITED, DATED = "undecided", "never_done", "awaited", "dated"
LATE, DUE_SOON, GOOD = "late", "due_soon", "good"
#: What a stored span can say; late, due soon and good are made of ``dated`` on the day.
STORED = (FAILED, NOT_REQUIRED, ON_HOLD, UNDECIDED, NEVER_DONE, AWAITED, DATED)
#: The order in which a person must look at them.
URGENCY = (
    FAILED,
    LATE,
    NEVER_DONE,
    UNDECIDED,
    AWAITED,
    DUE_SOON,
    GOOD,
    ON_HOLD,
    NOT_REQUIRED,
)
LONG_AGO = date(1, 1, 1)


@dataclass(frozen=True, slots=True)
class Event:
    """One record about the subject, as far as requirements need to know it."""

    record: int
    seq: int
    kind: str
    on: date
    time: time_of_day | None = None
    outcome: str = ""
    fit: bool = True
    unfit_because: str = ""
    accuses: bool = False
    accepted: bool = True
    live: bool = True
    valid_until: date | None = None
    place: int = 0  # the number of the record that it corrects
    accepted_on: date | None = None  # accepted by a later act: from that day on
    completed_on: date | None = None  # its result came, or it was given up: from that day on
    away_to: str = ""  # who is to give the result

    @property
    def order(self) -> tuple[date, time_of_day, int]:
        """Order within a day is the time if given, else the order of recording; a correction
        takes the place of what it corrects."""
        return (self.on, self.time or time_of_day.max, self.place or self.seq)

    @property
    def clears(self) -> bool:
        """Only an accepted, fit, live pass starts an interval."""
        return self.live and self.accepted and self.fit and self.outcome == "pass"

    def clears_on(self, day: date) -> bool:
        """Whether it clears on a day. An acceptance counts from its own day on, so that what a
        past register said does not change when somebody accepts an old record."""
        return self.clears and self.on <= day and (self.accepted_on or self.on) <= day


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """A follow-up on the subject: open from a day until it was closed (then not on that day)."""

    record: int
    seq: int
    kind: str
    opened_on: date
    closed_on: date | None = None

    def open_on(self, day: date) -> bool:
        """Whether it was open at the end of that day."""
        return self.opened_on <= day and (self.closed_on is None or day < self.closed_on)


@dataclass(frozen=True, slots=True)
class Traits:
    """What is known of the subject from a day on (a description in force)."""

    from_on: date
    values: Mapping[str, Scalar]


@dataclass(frozen=True, slots=True)
class Schedule:
    """The site's schedule from a day on. Not adopted: a draft."""

    from_on: date
    rules: RuleSet
    adopted_on: date | None = None
    adopted_by: str = ""


def schedule_on(schedules: Sequence[Schedule], day: date) -> Schedule | None:
    """The schedule in force on a day; before the first one, the first one."""
    found = [one for one in schedules if one.from_on <= day] or list(schedules[:1])
    return found[-1] if found else None


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that decides about one subject."""

    subject: int
    kind: str
    events: Sequence[Event] = ()
    stays: Sequence[StaySpan] = ()
    traits: Sequence[Traits] = ()
    follow_ups: Sequence[OpenPoint] = ()
    schedules: Sequence[Schedule] = ()

    def traits_on(self, day: date) -> Mapping[str, Scalar]:
        """The description in force on a day; before the first one, the first one."""
        found = [one for one in self.traits if one.from_on <= day] or list(self.traits[:1])
        return found[-1].values if found else {}

    def schedule_on(self, day: date) -> Schedule | None:
        """The schedule in force on a day."""
        return schedule_on(self.schedules, day)


@dataclass(frozen=True, slots=True)
class Decision:
    """What a requirement says on a day. ``state`` is one of STORED.

    Awaited: ``record`` is what was sent, ``since`` the day it was taken, ``warn_on`` the day from
    which the result must be chased.
    """

    state: str
    due_on: date | None = None
    warn_on: date | None = None
    record: int | None = None
    row: str = ""
    since: date | None = None
    proposed: str = ""  # the row that would decide if somebody confirmed what decay has changed

    def state_on(self, day: date) -> str:
        """The state as people see it on that day."""
        return state_on(self.state, self.due_on, self.warn_on, day)


def state_on(state: str, due_on: date | None, warn_on: date | None, day: date) -> str:
    """Late, due soon and good are a matter of the day. On the due date it is still good."""
    if state not in (DATED, AWAITED) or due_on is None:
        return state
    if due_on < day:
        return LATE
    if state == AWAITED:
        return AWAITED
    return DUE_SOON if warn_on is not None and warn_on <= day else GOOD


@dataclass(frozen=True, slots=True)
class _Question:
    facts: Facts
    requirement: str
    on: date
    values: Mapping[str, Scalar] = field(default_factory=dict)

    @property
    def evidence_kind(self) -> str:
        return REQUIREMENTS[self.requirement][1]


def decide(facts: Facts, requirement: str, on: date) -> Explained[Decision]:
    """What a requirement says on a day, with the steps that made it.

    The first of these that applies: failed, not required, undecided, awaited, never done, dated.
    """
    question = _Question(facts, requirement, on)
    return _failed(question) or _away(question) or _by_rows(question)


def _failed(question: _Question) -> Explained[Decision] | None:
    still_open = [
        point
        for point in question.facts.follow_ups
        if point.kind == question.evidence_kind and point.open_on(question.on)
    ]
    if not still_open:
        return None
    first = min(still_open, key=lambda point: (point.opened_on, point.seq))
    step = Step("due_follow_up_open", {"seq": first.seq, "opened_on": first.opened_on})
    return Explained(Decision(FAILED, record=first.record), (step,))


def _away(question: _Question) -> Explained[Decision] | None:
    stay = at(question.facts.stays, question.on)
    if stay is not None:
        return None
    return Explained(Decision(NOT_REQUIRED), (Step("due_not_on_site", {"on": question.on}),))


def _by_rows(question: _Question) -> Explained[Decision]:
    schedule = question.facts.schedule_on(question.on)
    if schedule is None:
        return Explained(Decision(UNDECIDED), (Step("due_no_schedule"),))
    choice = choose(schedule.rules.rows_for(question.requirement), _traits(question))
    row = choice.row
    aside = _alternatives(choice)
    if row.result != "interval":
        state = NOT_REQUIRED if row.result == NOT_REQUIRED else UNDECIDED
        step = Step(f"due_row_{row.result}", {"row": row.id, "note": row.note}, row.cite)
        return Explained(Decision(state, row=row.id), (step, *aside, schedule_step(schedule)))
    return _by_evidence(question, row, (*aside, schedule_step(schedule)))


def _traits(question: _Question) -> dict[str, Scalar]:
    stay = at(question.facts.stays, question.on)
    where = stay.whereabouts if stay else None
    return {**question.facts.traits_on(question.on), "whereabouts": where}


def _alternatives(choice: Choice) -> tuple[Step, ...]:
    """What was looked at and did not decide."""
    aside = [Step("due_row_set_aside", {"row": row.id}, row.cite) for row in choice.set_aside]
    unmet = [
        Step("due_row_not_met", {"row": row.id, "conditions": _conditions(row)}, row.cite)
        for row in choice.not_met
    ]
    return (*aside, *unmet)


def _conditions(row: Row) -> str:
    return ", ".join(f"{name} = {value}" for name, value in row.when)


def schedule_step(schedule: Schedule) -> Step:
    """Whose authority the site's schedule has, as a step."""
    values: dict[str, Scalar] = {
        "title": schedule.rules.title,
        "version": schedule.rules.version,
        "adopted_on": schedule.adopted_on,
        "adopted_by": schedule.adopted_by,
    }
    return Step("due_schedule_adopted" if schedule.adopted_on else "due_schedule_draft", values)


def _by_evidence(
    question: _Question, row: Row, background: tuple[Step, ...]
) -> Explained[Decision]:
    past = [
        event
        for event in question.facts.events
        if event.kind == question.evidence_kind and event.on <= question.on
    ]
    passed_over = _passed_over(past, question.on)
    clearing = max(
        (event for event in past if event.clears_on(question.on)),
        key=lambda event: event.order,
        default=None,
    )
    rule = Step(
        "due_row_interval", {"row": row.id, "months": row.months, "note": row.note}, row.cite
    )
    worse = _failed_since(past, clearing)
    if clearing is None:
        steps = (Step("due_never_done", {}, because=(rule, *passed_over)), *background)
        without = Explained(Decision(NEVER_DONE, row=row.id), steps)
    elif worse is not None:
        values: dict[str, Scalar] = {"seq": worse.seq, "done_on": worse.on}
        steps = (Step("due_failed_since", values, because=(rule, *passed_over)), *background)
        without = Explained(Decision(NEVER_DONE, record=worse.record, row=row.id), steps)
    else:
        without = _dated(row, rule, clearing, (*passed_over, *background))
    return _awaited(_away_to_be_judged(question, worse or clearing), without, question.on)


def _failed_since(past: Iterable[Event], clearing: Event | None) -> Event | None:
    """The newest failure or accusation after the last pass, unless it was corrected away. Closing
    its follow-up ends the warning; it does not bring the older pass back."""
    since = [
        event
        for event in past
        if event.live
        and event.accuses
        and event.outcome != "pass"
        and (clearing is None or event.order > clearing.order)
    ]
    return max(since, key=lambda event: event.order, default=None)


def _away_to_be_judged(question: _Question, after: Event | None) -> list[Event]:
    """What was taken by the day and has no result yet, in the order of taking. One taken before
    the last pass or failure is left out: its result could not change what holds."""
    kind = AWAITED_AFTER.get(question.requirement)
    away = [
        event
        for event in question.facts.events
        if event.kind == kind
        and event.live
        and event.on <= question.on
        and (event.completed_on is None or question.on < event.completed_on)
        and (after is None or event.order > after.order)
    ]
    return sorted(away, key=lambda event: event.order)


def _awaited(away: Sequence[Event], without: Explained[Decision], on: date) -> Explained[Decision]:
    """A result on its way keeps the due date that there is without it: waiting is no grace. Where
    there is none, it is waited for until the day on which it must be chased, and no longer: what
    was never shown to be sound must not look under way for ever."""
    if not away:
        return without
    first = away[0]
    decision = without.value
    if decision.due_on is not None or any(_in_time(event, on) for event in away):
        decision = replace(
            decision, state=AWAITED, warn_on=first.valid_until, record=first.record, since=first.on
        )
    steps = [
        Step(
            "due_awaited" if event.valid_until else "due_awaited_undated",
            {
                "seq": event.seq,
                "done_on": event.on,
                "laboratory": event.away_to,
                "chase_on": event.valid_until,
            },
        )
        for event in away[:5]
    ]
    return Explained(decision, (*steps, *without.steps))


def _in_time(event: Event, on: date) -> bool:
    return event.valid_until is None or on <= event.valid_until


def _dated(
    row: Row, rule: Step, clearing: Event, background: tuple[Step, ...]
) -> Explained[Decision]:
    assert row.months is not None
    by_rule = add_months(clearing.on, row.months)
    due_on = min(by_rule, clearing.valid_until or by_rule)
    grounds = [
        rule,
        Step("due_last_pass", {"seq": clearing.seq, "done_on": clearing.on}),
        Step("due_by_interval", {"done_on": clearing.on, "months": row.months, "by_on": by_rule}),
    ]
    if clearing.valid_until is not None:
        grounds.append(Step("due_certificate_until", {"until_on": clearing.valid_until}))
    warn_on = due_on - timedelta(days=min(row.lead_days, (due_on - LONG_AGO).days))
    step = Step("due_on", {"due_on": due_on}, because=tuple(grounds))
    decision = Decision(DATED, due_on, warn_on, clearing.record, row.id)
    return Explained(decision, (step, *background))


def _passed_over(past: Iterable[Event], on: date) -> tuple[Step, ...]:
    """Records that satisfy nothing, and why: the newest five, newest first."""
    out = []
    for event in sorted(past, key=lambda one: one.order, reverse=True):
        code = _why_not(event, on)
        if code:
            values: dict[str, Scalar] = {
                "seq": event.seq,
                "done_on": event.on,
                "outcome": event.outcome,
                "because": event.unfit_because,
            }
            out.append(Step(code, values))
    return tuple(out[:5])


def _why_not(event: Event, on: date) -> str:
    if event.clears_on(on):
        return ""
    if not event.live:
        return "due_passed_over_replaced"
    if not event.fit:
        return "due_passed_over_unfit"
    if event.outcome != "pass":
        return "due_passed_over_outcome"
    return "due_passed_over_not_accepted"


def breakpoints(facts: Facts) -> list[date]:
    """Every day on which what a requirement says can change, the first possible day included.

    Ends of stays and of follow-ups are days of other records, so nothing here lies ahead of the
    records but what a rule puts there, and the day after a result must be chased.
    """
    days = {LONG_AGO}
    days.update(event.on for event in facts.events)
    days.update(event.accepted_on for event in facts.events if event.accepted_on)
    days.update(event.completed_on for event in facts.events if event.completed_on)
    away = [event for event in facts.events if event.kind in AWAITED_AFTER.values()]
    days.update(event.valid_until + timedelta(days=1) for event in away if event.valid_until)
    days.update(stay.from_on for stay in facts.stays)
    days.update(
        stay.until_on + timedelta(days=1) for stay in facts.stays if stay.until_on < OPEN_END
    )
    days.update(one.from_on for one in facts.traits)
    days.update(one.from_on for one in facts.schedules)
    for point in facts.follow_ups:
        days.update({point.opened_on, point.closed_on} - {None})  # type: ignore[arg-type]
    return sorted(days)


@dataclass(frozen=True, slots=True)
class DecisionSpan:
    """A decision from a day until a day, both included."""

    from_on: date
    until_on: date
    decision: Decision


def spans(facts: Facts, requirement: str) -> list[DecisionSpan]:
    """The time line of a requirement: no gaps, from the first possible day to the last."""
    out: list[DecisionSpan] = []
    days = breakpoints(facts)
    ends = [*(day - timedelta(days=1) for day in days[1:]), OPEN_END]
    for day, end in zip(days, ends, strict=True):
        decision = decide(facts, requirement, day).value
        if out and out[-1].decision == decision:
            out[-1] = DecisionSpan(out[-1].from_on, end, decision)
        else:
            out.append(DecisionSpan(day, end, decision))
    return out
