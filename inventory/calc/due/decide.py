"""What a requirement says on a day: the only rule code."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from inventory.calc.due.candidates import candidate
from inventory.calc.due.case import Case, Question
from inventory.calc.due.facts import Event, Facts, Schedule
from inventory.calc.due.gives import Candidate
from inventory.calc.due.holds import stands
from inventory.calc.due.passed_over import failed_since
from inventory.calc.due.states import (
    AWAITED,
    DATED,
    FAILED,
    NEVER_DONE,
    NOT_REQUIRED,
    UNDECIDED,
    Decision,
)
from inventory.calc.explain import Explained, Scalar, Step
from inventory.calc.stays import MISSING
from inventory.rules.conditions import as_text, by_decay, holds
from inventory.rules.schema import ACCOUNTING, ACCUSED_BY, BY_DECAY, NuclideTable, Row
from inventory.rules.strictest import left

#: Kinds of record that look for a thing and may not find it.
_LOOKED_FOR = (ACCOUNTING, *ACCUSED_BY[ACCOUNTING])

Grounds = Callable[[], tuple[Step, ...]]


@dataclass(frozen=True, slots=True)
class Answer:
    """A decision whose grounds are made when somebody asks for them."""

    decision: Decision
    grounds: Grounds

    def explained(self) -> Explained[Decision]:
        """With its steps."""
        return Explained(self.decision, self.grounds())


def decide(facts: Facts, requirement: str, on: date) -> Explained[Decision]:
    """What a requirement says on a day, with the steps that made it.

    The first of these that applies: failed; not on this site; then by the rows of the schedule.
    """
    return answer(Case(facts, requirement), on).explained()


def answer(case: Case, on: date) -> Answer:
    """The same, for somebody who asks for many days."""
    question = Question(case, on)
    return _failed(question) or _missing(question) or _away(question) or _by_rows(question)


def _failed(question: Question) -> Answer | None:
    still_open = [
        point
        for point in question.facts.follow_ups
        if point.kind in question.case.accusing and point.open_on(question.on)
    ]
    if not still_open:
        return None
    first = min(still_open, key=lambda point: (point.opened_on, point.seq))
    code = "due_not_found_open" if first.kind in _LOOKED_FOR else "due_follow_up_open"
    step = Step(code, {"kind": first.kind, "seq": first.seq, "opened_on": first.opened_on})
    return Answer(Decision(FAILED, record=first.record), lambda: (step, _once_closed(question)))


def _once_closed(question: Question) -> Step:
    """What would hold if everything open were closed that day: by which rows, and who says so."""
    then = _away(question) or _by_rows(question)
    state = then.decision.state_on(question.on)
    values: dict[str, Scalar] = {"state": state, "due_on": then.decision.due_on}
    code = "due_once_closed_on" if then.decision.due_on else "due_once_closed"
    return Step(code, values, because=then.grounds())


def _missing(question: Question) -> Answer | None:
    """What is missing has not been accounted for until it is found, with its gauge or alone: no
    check clears it, and closing the follow-up does not bring it back."""
    stay = question.stay
    if question.requirement != ACCOUNTING or stay is None or stay.whereabouts != MISSING:
        return None
    step = Step("due_missing", {"since_on": stay.from_on})
    return Answer(Decision(FAILED), lambda: (step,))


def _away(question: Question) -> Answer | None:
    if question.is_here:
        return None
    step = Step("due_not_on_site", {"on": question.on})
    return Answer(Decision(NOT_REQUIRED), lambda: (step,))


# --- by the rows of the schedule -------------------------------------------------------------


@dataclass(slots=True)
class Weighed:
    """The rows looked at on a day, and what became of each."""

    winner: Candidate | None = None
    others: list[Candidate] = field(default_factory=list)  # weighed and less strict
    silent: list[Row] = field(default_factory=list)  # hold, and ask for nothing that day
    set_aside: list[Row] = field(default_factory=list)  # another mode stands before them
    not_met: list[Row] = field(default_factory=list)
    lapsed: list[Row] = field(default_factory=list)  # a hold that no longer stands
    unknown: list[Row] = field(default_factory=list)  # a condition is not known


def _by_rows(question: Question) -> Answer:
    schedule = question.facts.schedule_on(question.on)
    rows = question.rows(schedule)
    if schedule is None:
        return Answer(Decision(UNDECIDED), lambda: (Step("due_no_schedule"),))
    if not rows:
        return Answer(Decision(UNDECIDED), lambda: (Step("due_no_row"), schedule_step(schedule)))
    day = question.case.decay_day(question.on)
    weighed = weigh(question, schedule, rows, day)
    proposed = _proposed(question, schedule, rows, weighed)
    return _with_what_is_away(question, _said(question, schedule, weighed, proposed))


def weigh(question: Question, schedule: Schedule, rows: Sequence[Row], decay_day: date) -> Weighed:
    """Which rows hold, and which of their answers is the strictest."""
    out = Weighed()
    asked = question.circumstances(schedule, decay_day)
    holding: list[Row] = []
    for row in rows:
        met = holds(row, asked.ask)
        if met is None:
            out.unknown.append(row)
        elif not met:
            out.not_met.append(row)
        elif not stands(question, row):
            out.lapsed.append(row)
        else:
            holding.append(row)
    weighing = left(holding)
    if len(weighing) < len(holding):
        out.set_aside = [row for row in holding if not any(row is one for one in weighing)]
    for row in weighing:
        _enter(out, candidate(question, row, schedule), row)
    for row in out.unknown:
        if row.mode in ("default", "replaces", "adds"):
            _enter_unknown(out, candidate(question, row, schedule))
    return out


def _enter(out: Weighed, found: Candidate | None, row: Row) -> None:
    if found is None:
        out.silent.append(row)
    elif out.winner is None or found.strictness < out.winner.strictness:
        if out.winner is not None:
            out.others.append(out.winner)
        out.winner = found
    else:
        out.others.append(found)


def _enter_unknown(out: Weighed, found: Candidate | None) -> None:
    """What is not known never loosens: such a row decides where it is stricter, else it is as if
    it did not hold."""
    if found is None:
        return
    if out.winner is None or found.strictness < out.winner.strictness:
        _enter(out, found, found.row)


def _proposed(question: Question, schedule: Schedule, rows: Sequence[Row], weighed: Weighed) -> str:
    """The row that would decide if what decay has changed were confirmed; empty for none."""
    decay_day = question.case.decay_day(question.on)
    if decay_day == question.on:
        return ""
    decaying = [row for row in rows if by_decay(row)]
    if not decaying:
        return ""
    before = question.circumstances(schedule, decay_day)
    after = question.circumstances(schedule, question.on)
    if all(
        before.ask(name, wanted) == after.ask(name, wanted)
        for row in decaying
        for name, wanted in row.when
        if name in BY_DECAY
    ):
        return ""
    then = weigh(question, schedule, rows, question.on).winner
    if then is None or weighed.winner is None or then.row.id == weighed.winner.row.id:
        return ""
    return then.row.id


def _said(
    question: Question, schedule: Schedule, weighed: Weighed, proposed: str
) -> tuple[Answer, Candidate | None]:
    winner, tables = weighed.winner, schedule.rules.tables

    def grounds() -> tuple[Step, ...]:
        first = winner.grounds() if winner else (Step("due_no_row"),)
        if winner and winner.row.when:  # why this row and no other
            first = (*first, _looked_at("due_row_decides", winner.row, tables))
        return (*first, *_alternatives(weighed, proposed, tables), schedule_step(schedule))

    decision = winner.decision if winner else Decision(UNDECIDED)
    return Answer(replace(decision, proposed=proposed) if proposed else decision, grounds), winner


Tables = Mapping[str, NuclideTable]


def _alternatives(weighed: Weighed, proposed: str, tables: Tables) -> tuple[Step, ...]:
    """What was looked at and did not decide, and why."""

    def looked_at(code: str, rows: Iterable[Row]) -> list[Step]:
        return [_looked_at(code, row, tables) for row in rows]

    lost = [row for row in _rows(weighed) if row.id == proposed]
    steps = looked_at("due_row_proposed", lost)
    steps += [_less_strict(one, tables) for one in weighed.others]
    steps += looked_at("due_row_set_aside", weighed.set_aside)
    steps += looked_at("due_row_done", weighed.silent)
    steps += looked_at("due_row_lapsed", weighed.lapsed)
    steps += looked_at("due_row_unknown", weighed.unknown)
    steps += looked_at("due_row_not_met", [row for row in weighed.not_met if row.id != proposed])
    return tuple(steps)


def _rows(weighed: Weighed) -> list[Row]:
    return [*weighed.not_met, *weighed.set_aside, *(one.row for one in weighed.others)]


def _looked_at(code: str, row: Row, tables: Tables) -> Step:
    values: dict[str, Scalar] = {"row": row.id, "row_conditions": as_text(row.when, tables)}
    return Step(code, values, row.cite)


def _less_strict(one: Candidate, tables: Tables) -> Step:
    if one.decision.state == DATED:
        values: dict[str, Scalar] = {"row": one.row.id, "due_on": one.decision.due_on}
        return Step("due_row_later", values, one.row.cite)
    return _looked_at("due_row_set_aside", one.row, tables)


def schedule_step(schedule: Schedule) -> Step:
    """Whose authority the site's schedule has, as a step."""
    values: dict[str, Scalar] = {
        "title": schedule.rules.title,
        "version": schedule.rules.version,
        "adopted_on": schedule.adopted_on,
        "adopted_by": schedule.adopted_by,
    }
    code = "due_schedule_adopted" if schedule.adopted_on else "due_schedule_draft"
    own = sum(row.authority != "template" for row in schedule.rules.rows)
    return Step(f"{code}_own", {**values, "own": own}) if own else Step(code, values)


# --- a result that is on its way -------------------------------------------------------------


def _with_what_is_away(question: Question, said: tuple[Answer, Candidate | None]) -> Answer:
    """A result on its way keeps the due date that there is without it: waiting is no grace. Where
    there is none, it is waited for until the day on which it must be chased, and no longer: what
    was never shown to be sound must not look under way for ever."""
    without, winner = said
    sent = question.case.history.by_kind.get(question.case.away_kind)
    if not sent or without.decision.state not in (NEVER_DONE, DATED):
        return without
    settled = [one for one in (winner and winner.evidence, failed_since(question)) if one]
    away = _away_to_be_judged(question, max(settled, key=lambda one: one.order, default=None))
    if not away:
        return without
    first, decision = away[0], without.decision
    if decision.due_on is not None or any(_in_time(event, question.on) for event in away):
        decision = replace(
            decision, state=AWAITED, warn_on=first.valid_until, record=first.record, since=first.on
        )
    return Answer(decision, lambda: (*(_on_its_way(one) for one in away[:5]), *without.grounds()))


def _on_its_way(event: Event) -> Step:
    return Step(
        "due_awaited" if event.valid_until else "due_awaited_undated",
        {
            "seq": event.seq,
            "done_on": event.on,
            "laboratory": event.away_to,
            "chase_on": event.valid_until,
        },
    )


def _away_to_be_judged(question: Question, after: Event | None) -> list[Event]:
    """What was taken by the day and has no result yet, in the order of taking. One taken before
    the last pass or failure is left out: its result could not change what holds."""
    return [
        event
        for event in question.case.history.by_kind.get(question.case.away_kind, ())
        if event.live
        and event.on <= question.on
        and (event.completed_on is None or question.on < event.completed_on)
        and (after is None or event.order > after.order)
    ]


def _in_time(event: Event, on: date) -> bool:
    return event.valid_until is None or on <= event.valid_until
