"""Count a wipe again on the same counter: every count is pooled and judged once, in a record that
replaces the first. The best of several counts would pass a source at the limit too often."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.ledger.models import Record
from inventory.ledger.write import read_body
from inventory.sentences import error_text, value_text
from surveys.leak.forms import WipeForm
from surveys.leak.models import LEAK_TEST_KIND, Way
from surveys.leak.wipe import Count
from surveys.monitors.in_force import in_force
from surveys.sentences import SENTENCES


@dataclass(frozen=True, slots=True)
class Earlier:
    """The counts that are there. ``apart``: why they cannot be pooled with new ones; a code."""

    gross: list[Count]
    apart: str = ""


def can_be_recounted(record: Record) -> bool:
    """Whether the record is a wipe that was counted here."""
    return record.kind == LEAK_TEST_KIND and read_body(record)["detail"]["way"] == Way.COUNTS


def earlier(old: Record, on: date) -> Earlier:
    """What a count of this day joins. A count that is not relied on, or was made before another
    calibration, stays out of the sum; the reason of the new record says so."""
    detail = read_body(old)["detail"]
    gross = [(float(number), float(time) if time else None) for number, time in detail["gross"]]
    unfit = old.about.filter(fit=False).values_list("unfit_because", flat=True).first()
    if unfit:
        return Earlier(gross, unfit)
    now = in_force(old.instrument, on).record if old.instrument else None
    if (str(now.seq) if now else None) != detail["calibration"]:
        return Earlier(gross, "recount_calibration_changed")
    return Earlier(gross)


def initial(values: dict[str, Any], old: Record, on: date) -> dict[str, Any]:
    """The form of the first count, ready for another one."""
    there = earlier(old, on)
    out = values | {"counted_on": on}
    if there.apart:
        why = value_text("because", there.apart, SENTENCES)
        because = _("Counted again; the first count stays out of the sum: %(why)s.") % {"why": why}
        return out | {"gross_counts": "", "because": because}
    return out | {
        "gross_counts": f"{values['gross_counts']} + ",
        "gross_seconds": f"{values['gross_seconds']} + ",
        "because": _("Counted again; all counts are pooled."),
    }


class RecountForm(WipeForm):
    """The form of a wipe that was counted before: same counter, earlier counts kept."""

    def clean(self) -> dict[str, Any]:
        """New counts join the earlier ones; nothing is left out here."""
        data = super().clean()
        if data.get("way") != Way.COUNTS:
            self._miss("way", _("A recount is counted here."))
            return data
        counter = data.get("counter")
        if counter is not None and counter != self.replaces.instrument:
            self._miss("counter", error_text(DomainError("another_counter"), SENTENCES))
        there = earlier(self.replaces, self.today)
        gross = [(float(number), time) for number, time in data.get("gross") or []]
        kept = gross[: len(there.gross)] == there.gross and len(gross) > len(there.gross)
        if "gross_counts" not in self.errors and not there.apart and not kept:
            said = _(
                "Keep the earlier counts and their times and add the new one behind them. To leave "
                "a count out, correct the record and say why."
            )
            self._miss("gross_counts", said)
        return data
