"""The paragraph above the history audit: what was looked at, and its totals as sentences."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.sentences import day_text
from reports.audit import gaps, row, times
from reports.audit.again import Held
from reports.audit.row import FINDINGS, Finding, days_text, wipes_text
from surveys.monitors.models import CALIBRATION_KIND

#: What of a source may be unknown, by the codes of its open points.
UNKNOWN = {
    "open_serial_unknown": "serial",
    "open_nuclide_unknown": "nuclide",
    "open_activity_unknown": "activity",
    "open_reference_unknown": "reference",
    "open_reference_day_unknown": "reference_day",
    "open_arrival_unknown": "arrival",
}


@dataclass(slots=True)
class Seen:
    """What the audit has looked at so far: sources first, then monitors."""

    on: date
    sources: int = 0
    monitors: int = 0
    calibrations: int = 0
    wipes: dict[int, date] = field(default_factory=dict)  # record -> day
    unfit: list[Held] = field(default_factory=list)  # counted out of calibration
    counted_on: dict[int, list[date]] = field(default_factory=lambda: defaultdict(list))
    recent: times.Share = field(default_factory=times.Share)
    all_time: times.Share = field(default_factory=times.Share)
    always_recent: int = 0  # sources in date on every day of the last three years
    asked_recent: int = 0
    unknown: Counter[str] = field(default_factory=Counter)

    def source(self, found: gaps.Told, held: Sequence[Held]) -> None:
        """Count a source with its wipes."""
        self.sources += 1
        for one in held:
            if one.counter is not None and one.counted_on is not None:
                if one.unfit_now or not one.event.fit:
                    self.unfit.append(one)
                if one.event.record not in self.wipes:
                    self.counted_on[one.counter.pk].append(one.counted_on)
            self.wipes[one.event.record] = one.event.on
        recent = times.share(found.line, times.recent_from(self.on))
        self.recent += recent
        self.all_time += times.share(found.line)
        self.asked_recent += bool(recent.counted)
        self.always_recent += bool(recent.counted and recent.complete)
        self.unknown.update(
            {UNKNOWN[step.code] for step in gaps.unknown(found) if step.code in UNKNOWN}
        )

    def monitor(self, found: gaps.Told) -> None:
        """Count a monitor with its calibrations."""
        self.monitors += 1
        self.calibrations += sum(
            event.kind == CALIBRATION_KIND
            and bool(event.outcome)
            and event.live
            and event.on <= self.on
            for event in found.one.events
        )


def totals(seen: Seen, found: Sequence[Finding]) -> Iterator[str]:
    """The sentences, the most general first."""
    yield _looked_at(seen)
    yield from _punctual(seen)
    yield from _late(found)
    yield _counts(found)
    yield from _unknown(seen)


def _looked_at(seen: Seen) -> str:
    sources = ngettext("%(n)s source", "%(n)s sources", seen.sources) % {"n": seen.sources}
    monitors = ngettext("%(n)s monitor", "%(n)s monitors", seen.monitors) % {"n": seen.monitors}
    calibrations = ngettext("%(n)s calibration", "%(n)s calibrations", seen.calibrations)
    said = _("%(sources)s with %(wipes)s on record, %(monitors)s with %(calibrations)s.") % {
        "sources": sources,
        "wipes": wipes_text(len(seen.wipes)),
        "monitors": monitors,
        "calibrations": calibrations % {"n": seen.calibrations},
    }
    if not seen.wipes:
        return said
    days = {"first": min(seen.wipes.values()), "last": max(seen.wipes.values())}
    dated = _("The first wipe is of %(first)s, the last of %(last)s.")
    return f"{said} {dated % {name: day_text(day) for name, day in days.items()}}"


def _punctual(seen: Seen) -> Iterator[str]:
    if not seen.all_time.counted:
        yield _("No leak test was required on any day: nothing can be said of punctuality.")
        return
    values = {
        "recent": gaps.share_text(seen.recent),
        "all": gaps.share_text(seen.all_time),
        "since": day_text(times.recent_from(seen.on)),
        "always": seen.always_recent,
        "asked": seen.asked_recent,
    }
    if seen.recent.counted:
        yield (
            _(
                "Leak tests were in date on %(recent)s of the last three years (since %(since)s), "
                "and on %(all)s in all."
            )
            % values
        )
        yield (
            _("In date on every day of the last three years: %(always)s of %(asked)s sources.")
            % values
        )
    else:
        yield (
            _("Leak tests were in date on %(all)s, none of them in the last three years.") % values
        )


def _late(found: Sequence[Finding]) -> Iterator[str]:
    late = [one for one in found if one.kind == row.LATE]
    if not late:
        yield _("No leak test was late.")
        return
    longest = max(late, key=lambda one: one.days)
    sources = len({one.code for one in late})
    values = {
        "n": len(late),
        "sources": sources,
        "longest": days_text(longest.days),
        "who": longest.subject,
        "still": sum(one.until_on is None for one in late),
    }
    once = ngettext("A leak test was late once", "Leak tests were late %(n)s times", len(late))
    at = ngettext("at %(sources)s source", "at %(sources)s sources", sources)
    yield (
        once + ", " + at + _("; the longest by %(longest)s (%(who)s); %(still)s of them still.")
    ) % values


def _counts(found: Sequence[Finding]) -> str:
    """How many findings of each kind, and of which there is none."""
    counts = Counter(one.kind for one in found)
    there = [f"{text} {counts[kind]}" for kind, text in FINDINGS.items() if counts[kind]]
    none = [str(text) for kind, text in FINDINGS.items() if not counts[kind]]
    said = []
    if there:
        said.append(_("Findings: %(found)s.") % {"found": "; ".join(there)})
    if none:
        said.append(_("None of these: %(none)s.") % {"none": "; ".join(none)})
    return " ".join(said)


def _unknown(seen: Seen) -> Iterator[str]:
    words = {
        "serial": _("serial"),
        "nuclide": _("nuclide in the table"),
        "activity": _("activity"),
        "reference": _("reference date"),
        "reference_day": _("day of the reference date"),
        "arrival": _("day of arrival"),
    }
    there = [f"{word} {seen.unknown[name]}" for name, word in words.items() if seen.unknown[name]]
    if there:
        yield _("Not known of so many sources: %(unknown)s.") % {"unknown": "; ".join(there)}
