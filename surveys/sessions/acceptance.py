"""Accept the wipes of a session together: those that stand, never those that need a reason."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from config.accounts.models import Role, User, roles_on
from inventory.calc.errors import DomainError
from inventory.knowledge import ACCEPTS
from inventory.ledger.models import Record, RecordLink
from inventory.ledger.write import read_body, writing
from inventory.requirements.actions import acceptance
from surveys.leak.models import COUNTED_IN, LEAK_TEST_KIND
from surveys.monitors.in_force import CountersOnDays
from surveys.sessions.checks import reads_low


def wipes_of(session: Record) -> list[Record]:
    """The wipes that were counted in a session, corrected ones and what replaced them included."""
    found = Record.objects.filter(
        kind=LEAK_TEST_KIND, links__target=session, links__role=COUNTED_IN
    )
    return list(
        found.select_related("recorded_by", "replaced_by", "instrument", "instrument__monitor")
        .prefetch_related("about__item")
        .order_by("seq")
    )


@dataclass(frozen=True, slots=True)
class Waiting:
    """A wipe that nobody has accepted. ``because``: why it cannot be accepted with the others."""

    record: Record
    because: str = ""


def waiting(wipes: Sequence[Record]) -> list[Waiting]:
    """Those that wait to be accepted, in a fixed number of queries."""
    done = set(
        RecordLink.objects.filter(target__in=wipes, role=ACCEPTS).values_list("target", flat=True)
    )
    open_ones = [
        wipe
        for wipe in wipes
        if not (wipe.accepted_by_id or wipe.pk in done or hasattr(wipe, "replaced_by"))
    ]
    counters = CountersOnDays([wipe.instrument for wipe in open_ones if wipe.instrument])
    low = _counted_low(open_ones)
    return [Waiting(wipe, _because(wipe, counters, low)) for wipe in open_ones]


def _counted_low(wipes: Sequence[Record]) -> set[int]:
    """Those whose session had a check source that read low: passes there need a look by itself."""
    links = RecordLink.objects.filter(record__in=wipes, role=COUNTED_IN).select_related("target")
    return {one.record_id for one in links if reads_low(read_body(one.target)["detail"]["check"])}


def _because(wipe: Record, counters: CountersOnDays, low: Collection[int]) -> str:
    body = read_body(wipe)
    if any(point["verdict"]["needs_acceptance"] for point in body["points"]):
        return "stays_declared"
    if not all(mention.fit for mention in wipe.about.all()):
        return "stays_unfit"
    if wipe.pk in low:
        return "stays_check_low"
    return "stays_calibration_changed" if _changed(wipe, body["detail"], counters) else ""


def _changed(wipe: Record, detail: dict[str, Any], counters: CountersOnDays) -> bool:
    """Whether the counter's calibration is no longer what the wipe was judged with."""
    if wipe.instrument is None:
        return False
    now = counters(wipe.instrument, date.fromisoformat(detail["counted_on"]))
    seq = str(now.record.seq) if now.record else None
    return seq != detail["calibration"] or bool(now.unfit_because)


def accept_wipes(
    session: Record, *, by: User, at: datetime, numbers: Collection[int]
) -> list[Record]:
    """Accept those wipes of a session that have these numbers and wait without a reason to stay
    behind: what the supervisor was shown, and nothing else. Doing it twice writes once."""
    assert session.site is not None
    with writing(session.site, by=by, at=at) as ledger:
        if Role.RPS not in roles_on(by, session.site, ledger.today):
            raise DomainError("only_rps_accepts")
        ready = [
            one.record
            for one in waiting(wipes_of(session))
            if not one.because and one.record.seq in numbers
        ]
        if not ready:
            return []
        return ledger.append_many([acceptance(wipe, by, ledger.today) for wipe in ready])
