"""Times without evidence: late leak tests and calibrations, and what was never done at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import due
from inventory.calc.explain import Step
from inventory.calc.open_points import open_points
from inventory.followups.wording import opened_text
from inventory.sentences import SENTENCES, day_text, fill, value_text
from reports.audit import row, times
from reports.audit.row import Finding, days_text
from reports.registers.evidence import newest, newest_text
from reports.registers.late import label


@dataclass(frozen=True, slots=True)
class Told:
    """One thing with the time line of its requirement up to a day."""

    one: knowledge.Known
    requirement: str
    on: date
    line: Sequence[times.Stretch]

    @property
    def evidence(self) -> str:
        """The kind of record that the requirement asks for."""
        return knowledge.evidence_of(self.requirement)

    @property
    def state(self) -> str:
        """The state at the end of the day."""
        return self.line[-1].state

    def event(self, record: int | None) -> due.Event | None:
        """What a record says of it."""
        return next((event for event in self.one.events if event.record == record), None)

    def finding(self, kind: str, reason: str, **more: object) -> Finding:
        """A finding about it."""
        item = self.one.item
        about = {"code": item.code, "order": item.label_sort, "subject": label(self.one, self.on)}
        return Finding(kind=kind, reason=reason, **about, **more)  # type: ignore[arg-type]


def told(one: knowledge.Known, requirement: str, on: date) -> Told:
    """The time line of a requirement of a thing."""
    return Told(one, requirement, on, times.stretches(one, requirement, on))


# ---------------------------------------------------------------- late, never done


Meanwhile = Callable[[times.Gap], str]


def late(found: Told, kind: str, meanwhile: Meanwhile | None = None) -> Iterator[Finding]:
    """A line for each time that was late; ``meanwhile`` adds what happened in it."""
    for gap in times.late(found.line, found.on):
        after = found.event(gap.before.record)
        reason = [_due_text(gap, after), _end_text(found, gap)]
        yield _gap(found, kind, gap, reason, meanwhile)


def without(found: Told, kind: str, meanwhile: Meanwhile | None = None) -> Iterator[Finding]:
    """A line for each time in which nothing was there that could be relied on."""
    for gap in times.never_done(found.line):
        reason = [_nothing_text(found, gap), _end_text(found, gap)]
        yield _gap(found, kind, gap, reason, meanwhile)


def _gap(
    found: Told,
    kind: str,
    gap: times.Gap,
    reason: Sequence[str],
    meanwhile: Meanwhile | None,
) -> Finding:
    said = [days_text(gap.days), meanwhile(gap) if meanwhile else ""]
    return found.finding(
        kind,
        " ".join(part for part in reason if part),
        from_on=gap.from_on,
        until_on=gap.ended_on,
        days=gap.days,
        figures="\n".join(part for part in said if part),
        records=_records(found, gap),
    )


def _records(found: Told, gap: times.Gap) -> tuple[int, ...]:
    """The evidence before and after it."""
    named = [gap.before.record, gap.after.record if gap.after else None]
    events = [found.event(record) for record in named]
    return tuple(event.seq for event in events if event is not None)


def _due_text(gap: times.Gap, after: due.Event | None) -> str:
    values = {"due": value_text("due_on", gap.before.due_on)}
    if after is None:
        return _("It was due on %(due)s.") % values
    values |= {"on": day_text(after.on), "seq": str(after.seq)}
    return _("After record %(seq)s of %(on)s it was due on %(due)s.") % values


def _end_text(found: Told, gap: times.Gap) -> str:
    """What put an end to it."""
    if gap.after is None:
        return ""
    event = found.event(gap.after.record)
    if gap.counts_again and event is not None and event.outcome == "pass":
        values = {"on": day_text(event.on), "seq": event.seq}
        if gap.ended_on is not None and event.on < gap.ended_on:
            values["from"] = day_text(gap.ended_on)
            return _("Then record %(seq)s of %(on)s, which counts from %(from)s.") % values
        return _("Then record %(seq)s of %(on)s.") % values
    return _("Then: %(state)s.") % {"state": value_text("state", gap.after.state)}


def _nothing_text(found: Told, gap: times.Gap) -> str:
    last = found.on if gap.ended_on is None else gap.ended_on - timedelta(days=1)
    sent = gap.before.state == due.AWAITED
    since = found.event(gap.before.record) if not sent else None
    if since is not None:
        values = {"on": day_text(since.on), "seq": since.seq}
        said = _("Not shown good since record %(seq)s of %(on)s failed or accused.") % values
    elif (event := newest(found.one, found.evidence, last)) is None:
        said = _("Nothing is recorded.")
    else:
        values = {"newest": newest_text(event, last)}
        said = _("Nothing that counts is recorded; the newest: %(newest)s.") % values
    return f"{said} {_('A result was awaited.')}" if sent else str(said)


# ---------------------------------------------------------------- as things stand on the day


def failures(found: Told) -> Iterator[Finding]:
    """A line for each failure or accusation that nobody has closed by the day."""
    for point in found.one.follow_ups:
        if point.open_on(found.on):
            values = {"said": opened_text(point.kind, point.opened_on, point.seq)}
            yield found.finding(
                row.FAILURE_OPEN,
                _("%(said)s Its follow-up is open.") % values,
                from_on=point.opened_on,
                days=(found.on - point.opened_on).days,
                figures=days_text((found.on - point.opened_on).days),
                records=(point.seq,),
            )


def old(found: Told) -> Iterator[Finding]:
    """The newest evidence of any kind is older than three years."""
    event = newest(found.one, found.evidence, found.on)
    if event is None or found.state == due.NOT_REQUIRED:
        return
    if event.on < times.years_ago(found.on):
        values = {"newest": newest_text(event, found.on)}
        yield found.finding(
            row.OLD,
            _("The newest leak test on record: %(newest)s.") % values,
            from_on=event.on,
            days=(found.on - event.on).days,
            figures=days_text((found.on - event.on).days),
            records=(event.seq,),
        )


def punctuality(found: Told) -> Iterator[Finding]:
    """In date on how many days of the last three years, where it was not on all of them."""
    since = times.recent_from(found.on)
    recent, all_time = times.share(found.line, since), times.share(found.line)
    if recent.complete:
        return
    first = next(one.from_on for one in found.line if one.state not in times.NOT_COUNTED)
    values = {"recent": share_text(recent), "all": share_text(all_time), "first": day_text(first)}
    reason = _("Since %(first)s in date on %(all)s.") % values
    if since > first:
        reason = _("In the last three years in date on %(recent)s.") % values + " " + reason
    yield found.finding(
        row.PUNCTUALITY,
        reason,
        from_on=max(since, first),
        until_on=found.on,
        figures=_("%(percent)s %% in date") % {"percent": recent.percent},
    )


def share_text(found: times.Share) -> str:
    """780 of 1095 days (71.2 %)."""
    values = {"good": found.good, "counted": found.counted, "percent": found.percent}
    return _("%(good)s of %(counted)s days (%(percent)s %%)") % values


def not_known(found: Told) -> Iterator[Finding]:
    """What the description of a source leaves open."""
    if steps := unknown(found):
        said = [fill(step.code, step.values, SENTENCES) for step in steps]
        yield found.finding(row.NOT_KNOWN, " ".join(said))


def unknown(found: Told) -> list[Step]:
    """The open points of a source but those about wipes that wait to be accepted."""
    one, on = found.one, found.on
    known = one.nuclide_on(on) is not None
    steps = open_points(one.snapshot_on(on), one.events, on, nuclide_known=known)
    return [step for step in steps if step.code != "open_not_accepted"]
