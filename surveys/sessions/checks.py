"""The check source: does the counter still read what it read the last time it was right?"""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory import knowledge
from inventory.calc.explain import Cite, Explained, Scalar, Step
from inventory.ledger.models import Item, Record
from inventory.ledger.write import read_body
from surveys.calc import counting
from surveys.calc.counting import CheckReading, Estimate
from surveys.leak.models import SESSION_KIND
from surveys.monitors.in_force import in_force
from surveys.sessions.session import CHECK_ROLE, Session, pooled

RULE = Cite("10 CFR 35.61(b): more than 20 percent, and the readings after it", known_by="copy")
#: Readings that later ones are compared with: what was outside must not become the new measure.
SOUND = ("first", "within")


def check(session: Session) -> Explained[CheckReading | None] | None:
    """The check-source reading of a session against the last sound one on the same counter since
    its calibration. None: no check source was counted."""
    now = _net(session)
    if session.check is None or now is None:
        return None
    source = session.check.source
    values: dict[str, Scalar] = {"source": source.label, "net_rate_per_s": now.value}
    last = _last_sound(session.counter, source, session.counted_on)
    if last is None:
        code = "check_first" if now.value > 0 else "check_no_counts"
        return Explained(None, (Step(code, values, RULE),))
    nuclide = knowledge.load([source.pk])[source.pk].nuclide_on(session.counted_on)
    values |= {"seq": last.seq, "last_on": last.effective_on}
    if nuclide is None:
        return Explained(None, (Step("check_nuclide_unknown", values, RULE),))
    reference = float(read_body(last)["detail"]["check"]["net_rate_per_s"])
    days = (session.counted_on - last.effective_on).days
    found = counting.check_reading(now, reference, days, nuclide.half_life_days)
    values |= {
        "expected_per_s": found.expected_per_s,
        "percent": round(100 * found.deviation, 1),
        "tolerance_percent": 100 * counting.CHECK_TOLERANCE,
    }
    return Explained(found, (Step(f"check_{found.state}", values, RULE),))


def check_text(
    session: Session, found: Explained[CheckReading | None] | None
) -> dict[str, Any] | None:
    """What the session's record keeps of its check source."""
    now = _net(session)
    if session.check is None or now is None or found is None:
        return None
    return {
        "source": session.check.source.code,
        "counts": [list(one) for one in session.check.counts],
        "net_rate_per_s": now.value,
        "uncertainty_per_s": now.u,
        "state": state_of(found, now),
        "expected_per_s": found.value.expected_per_s if found.value else None,
        "deviation": found.value.deviation if found.value else None,
    }


def state_of(found: Explained[CheckReading | None], now: Estimate) -> str:
    """The state that is kept; a first reading without net counts is no measure for others."""
    if found.value is not None:
        return found.value.state
    return "first" if now.value > 0 else "low"


def reads_low(kept: dict[str, Any] | None) -> bool:
    """Whether a session's check source, as kept, says that the counter may see too little."""
    return kept is not None and kept["state"] == "low"


def _net(session: Session) -> Estimate | None:
    """The net rate of the check source; None where a count or its time is missing."""
    if session.check is None:
        return None
    gross, background = pooled(session.check.counts), pooled(session.background)
    if gross is None or background is None:
        return None
    return counting.net_rate(counting.Pair(gross, background))


def _last_sound(counter: Item, source: Item, on: date) -> Record | None:
    """The latest session on this counter with a sound reading of this source, not before the
    calibration in force: after that the counter may read otherwise."""
    sessions = Record.objects.filter(
        kind=SESSION_KIND,
        instrument=counter,
        effective_on__lte=on,
        about__item=source,
        about__role=CHECK_ROLE,
    )
    calibration = in_force(counter, on).record
    if calibration is not None:
        sessions = sessions.filter(effective_on__gte=calibration.effective_on)
    for record in sessions.order_by("-effective_on", "-seq").iterator():
        if read_body(record)["detail"]["check"]["state"] in SOUND:
            return record
    return None
