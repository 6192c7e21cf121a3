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
    """The counts that are there. ``apart``: why they cannot be pooled with new ones; a code.
    ``accuses``: everybody must act as on a leak because of them."""

    gross: list[Count]
    background: list[Count]
    apart: str = ""
    accuses: bool = False


def can_be_recounted(record: Record) -> bool:
    """Whether the record is a wipe that was counted here."""
    return record.kind == LEAK_TEST_KIND and read_body(record)["detail"]["way"] == Way.COUNTS


def earlier(old: Record, on: date) -> Earlier:
    """What a count of this day joins. A count that is not relied on, or was made before another
    calibration, stays out of the sum; the reason of the new record says so."""
    detail = read_body(old)["detail"]
    gross, background = (_counts(detail[name]) for name in ("gross", "background"))
    accuses = old.about.filter(accuses=True).exists()
    apart = old.about.filter(fit=False).values_list("unfit_because", flat=True).first() or ""
    now = in_force(old.instrument, on).record if old.instrument else None
    if not apart and (str(now.seq) if now else None) != detail["calibration"]:
        apart = "recount_calibration_changed"
    return Earlier(gross, background, apart, accuses)


def _counts(told: Any) -> list[Count]:
    return [(float(number), float(time) if time else None) for number, time in told]


def _joins(earlier: list[Count], data: Any) -> bool:
    """Whether counts of the form begin with the earlier ones, in their order."""
    return [(float(number), time) for number, time in data or []][: len(earlier)] == earlier


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
    """The form of a wipe that was counted before: the same wipe on the same counter, with the
    earlier counts and their background kept."""

    def clean(self) -> dict[str, Any]:
        """New counts join the earlier ones; nothing is left out here."""
        data = super().clean()
        if data.get("way") != Way.COUNTS:
            self._miss("way", _("A recount is counted here."))
            return data
        counter = data.get("counter")
        if counter is not None and counter != self.replaces.instrument:
            self._miss("counter", error_text(DomainError("another_counter"), SENTENCES))
        self._clean_same_wipe(data)
        there = earlier(self.replaces, data.get("counted_on") or self.today)
        if there.apart and there.accuses:
            said = _("The first count stands: it cannot be pooled. Record the new one by itself.")
            self._miss("gross_counts", said)
        elif not there.apart:
            self._clean_pooled(data, there)
        return data

    def _clean_same_wipe(self, data: dict[str, Any]) -> None:
        """Counting again makes a wipe no newer."""
        wiped_on, sources = data.get("wiped_on"), data.get("sources")
        if wiped_on and wiped_on != self.replaces.effective_on:
            self._miss(
                "wiped_on", _("A recount keeps the day of the wipe. For another day, correct.")
            )
        about = self.replaces.about.filter(role="subject").values_list("item", flat=True)
        if sources and {one.pk for one in sources} != set(about):
            self._miss("sources", _("A recount is of the same sources. For other ones, correct."))

    def _clean_pooled(self, data: dict[str, Any], there: Earlier) -> None:
        """The earlier counts stay, each with its background."""
        added = len(data.get("gross") or []) > len(there.gross)
        if "gross_counts" not in self.errors and not (
            added and _joins(there.gross, data.get("gross"))
        ):
            said = _(
                "Keep the earlier counts and their times and add the new one behind them. To leave "
                "a count out, correct the record and say why."
            )
            self._miss("gross_counts", said)
        if not _joins(there.background, data.get("background")):
            said = _("Keep the earlier background and its time; a new one is added behind it.")
            self._miss("background_counts", said)
