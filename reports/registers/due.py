"""The register of what is overdue and open: every requirement that a person must look at on a day,
what is past the day on which it was expected, and every open point."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.open_points import open_points
from inventory.custody.now import state_on
from inventory.custody.wording import past_count_text, past_text
from inventory.followups.wording import opened_text
from inventory.ledger.models import ItemKind, sort_key
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import REQUIREMENTS
from inventory.rules.schema import Row as Rule
from inventory.sentences import SENTENCES, cite_text, clause_text, day_text, fill, value_text
from reports.registers import columns
from reports.registers.base import Column, Register
from reports.registers.evidence import newest, newest_text
from reports.registers.frame import Content, framed, known_of
from reports.registers.late import Places, known_later, label, places, where
from reports.registers.source import states_text

KIND = "due"
#: States that nobody must look at.
CALM = (due.GOOD, due.ON_HOLD, due.NOT_REQUIRED)
#: The order of the parts of the register.
REQUIREMENT, MOVEMENT, FOLLOW_UP, OPEN_POINT = (
    *("requirement", "movement"),
    *("follow_up", "open_point"),
)
PARTS = (REQUIREMENT, MOVEMENT, FOLLOW_UP, OPEN_POINT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One thing to be done or cleared up: what the register prints of it, and its footnote."""

    part: str
    code: str
    subject: str
    subject_kind: str
    where: str
    what: str
    state: str
    sentence: str
    due_on: date | None = None
    why: str = ""
    clause: str = ""
    clause_short: str = ""
    clause_full: str = ""
    last: str = ""
    last_on: date | None = None
    remarks: tuple[str, ...] = ()
    mark: str = ""

    @property
    def order(self) -> tuple[int, int, date, str, str, str]:
        """The most urgent first, then by subject."""
        urgency = due.URGENCY.index(self.state) if self.state in due.URGENCY else 99
        last_day = self.due_on or date.max
        subject = sort_key(self.subject)
        return (PARTS.index(self.part), urgency, last_day, subject, self.code, self.sentence)

    @property
    def name(self) -> str:
        """What the footnote calls it."""
        return f"{self.subject}, {self.what}"

    @property
    def subject_where(self) -> str:
        """What it is, and where."""
        return "\n".join(part for part in (self.subject, self.where) if part)

    @property
    def reason(self) -> str:
        """Why, and by which clause; a note has the whole of it."""
        return "\n".join(part for part in (self.why, self.clause_short) if part)


def build(site: Site, at: AsOf, *, made_by: User, made_at: datetime) -> Register:
    """The register of a site as of a day, complete."""
    kinds = sorted({subject for subject, _kind in REQUIREMENTS.values()})
    rows: list[Row] = []
    done: list[str] = []
    for known in known_of(site, at, *kinds):
        there = places(known, at)
        for one in known:
            found = list(_rows(one, at.on, there))
            late = known_later(one, site, at.on, there)
            rows += _remarked(found, late)
            if late and not found:
                values = {"item": label(one, at.on), "late": late}
                done.append(_("%(item)s: nothing is open. %(late)s") % values)
    rows.sort(key=lambda row: row.order)
    content = Content(
        columns=layout(),
        rows=rows,
        totals=_totals(rows, at.on),
        more=[*done, *_clauses(rows)],
        landscape=False,
    )
    title = _("Register of what is overdue and open")
    return framed(KIND, title, site, at, content, made_by, made_at)


def _clauses(rows: Sequence[Row]) -> list[str]:
    """Every clause that is named, once: whole, how it was read, and when it was checked."""
    return sorted(
        {
            _("Clause “%(clause)s”: %(full)s.")
            % {"clause": row.clause_short, "full": row.clause_full}
            for row in rows
            if row.clause_full
        }
    )


def _remarked(rows: Sequence[Row], late: str) -> list[Row]:
    """What was learnt later stands under the first line of a thing."""
    if not (rows and late):
        return list(rows)
    return [replace(rows[0], remarks=(late,)), *rows[1:]]


def _rows(one: knowledge.Known, on: date, there: Places) -> Iterator[Row]:
    shared: dict[str, Any] = {
        "code": one.item.code,
        "subject": label(one, on),
        "subject_kind": str(ItemKind(one.item.kind).label),
        "where": where(one, on, there),
    }
    yield from _requirements(one, on, shared)
    yield from _past_expected(one, on, shared)
    yield from _follow_ups(one, on, shared)
    if one.item.kind == ItemKind.SOURCE and stays.at(one.stays, on):
        yield from _open_points(one, on, shared)


def _requirements(one: knowledge.Known, on: date, shared: Mapping[str, Any]) -> Iterator[Row]:
    for requirement in knowledge.requirements_for(one):
        said = knowledge.decide_on(one, requirement, on)
        state = said.value.state_on(on)
        if state in CALM:
            continue
        rule = knowledge.row_of(one, said.value, requirement, on)
        last = newest(one, knowledge.evidence_of(requirement), on)
        yield Row(
            part=REQUIREMENT,
            what=value_text("requirement", requirement),
            state=state,
            sentence=state_sentence(said.value, on, requirement),
            due_on=said.value.due_on,
            why=_why(said.value, rule) or fill(said.steps[0].code, said.steps[0].values, SENTENCES),
            clause=clause_text(rule.cite) if rule else "",
            clause_short=clause_text(rule.cite, short=True) if rule else "",
            clause_full=cite_text(rule.cite) if rule else "",
            last=newest_text(last, on),
            last_on=last.on if last else None,
            **shared,
        )


def _why(decision: due.Decision, rule: Rule | None) -> str:
    """The interval, where a day follows from one."""
    if decision.due_on is None or rule is None:
        return ""
    if rule.days:
        return ngettext("every %(n)s day", "every %(n)s days", rule.days) % {"n": rule.days}
    if rule.months is None:
        return ""
    return ngettext("every %(n)s month", "every %(n)s months", rule.months) % {"n": rule.months}


def _past_expected(one: knowledge.Known, on: date, shared: Mapping[str, Any]) -> Iterator[Row]:
    """What has not come back, or not left, on the day on which it should have."""
    state = state_on(one.moves, on)
    if state.awaited_on is None or on <= state.awaited_on:
        return
    yield Row(
        part=MOVEMENT,
        what=_("departure") if state.visiting else _("return"),
        state=due.LATE,
        sentence=past_text(state.awaited_on, on, visiting=state.visiting),
        due_on=state.awaited_on,
        why=_("said when it came") if state.visiting else _("said when it went"),
        **shared,
    )


def _follow_ups(one: knowledge.Known, on: date, shared: Mapping[str, Any]) -> Iterator[Row]:
    """One for every record that accused and that nobody had closed by the day."""
    for point in one.follow_ups:
        if not point.open_on(on):
            continue
        yield Row(
            part=FOLLOW_UP,
            what=_("follow-up"),
            state=due.FAILED,
            sentence=_("open since %(on)s") % {"on": day_text(point.opened_on)},
            why=opened_text(point.kind, point.opened_on, point.seq),
            **shared,
        )


def _open_points(one: knowledge.Known, on: date, shared: Mapping[str, Any]) -> Iterator[Row]:
    """What is unknown or odd about a source."""
    known = one.nuclide_on(on) is not None
    points = open_points(one.snapshot_on(on), one.events, on, nuclide_known=known)
    for step in points:
        yield Row(
            part=OPEN_POINT,
            what=_("open point"),
            state="",
            sentence=_("open"),
            why=fill(step.code, step.values, SENTENCES),
            **shared,
        )


def _totals(rows: Sequence[Row], on: date) -> Iterator[str]:
    asked = [row.state for row in rows if row.part == REQUIREMENT]
    count = ngettext(
        "%(n)s requirement to look at on %(on)s", "%(n)s requirements to look at on %(on)s",
        len(asked),
    )  # fmt: skip
    said = count % {"n": len(asked), "on": day_text(on)}
    yield f"{said}: {states_text(asked)}." if asked else f"{said}."
    if late := sum(row.part == MOVEMENT for row in rows):
        yield past_count_text(late)
    for part, one, many in (
        (FOLLOW_UP, _("1 follow-up is open."), _("%(n)s follow-ups are open.")),
        (OPEN_POINT, _("1 open point of a source."), _("%(n)s open points of sources.")),
    ):
        found = sum(row.part == part for row in rows)
        if found:
            yield one if found == 1 else many % {"n": found}


def layout() -> tuple[Column, ...]:
    """The columns."""
    return (
        columns.code("code", _("Code"), 1.15),
        columns.text("subject_where", _("What, and where"), 2.2, only="people"),
        columns.text("subject", _("Subject"), only="programs"),
        columns.text("subject_kind", _("Kind"), only="programs"),
        columns.text("where", _("Where"), only="programs"),
        columns.text("what", _("To be done"), 1.2),
        columns.state("state", _("State"), 1.6),
        columns.day("due_on", _("Due on"), 1.15),
        columns.text("reason", _("Why, and by which clause"), 2.7, only="people"),
        columns.text("why", _("Why"), only="programs"),
        columns.text("clause", _("Clause"), only="programs"),
        columns.text("last", _("Last recorded"), 2.0),
        columns.day("last_on", _("Last recorded on"), only="programs"),
    )
