"""The decay of a source from its reference date on, and the levels that it falls below: one set of
figures for the picture, its text alternative and the table beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import thresholds
from inventory.calc.category import CATEGORY_FROM
from inventory.calc.decay import DAYS_PER_YEAR, fraction
from inventory.calc.errors import DomainError
from inventory.calc.units import format_activity
from inventory.sentences import SENTENCES, day_text, fill, number_text

AHEAD_DAYS = 15 * DAYS_PER_YEAR
HALF_LIVES = 10
#: From this ratio on between the first and the last activity the axis is logarithmic.
LOG_FROM = 8.0


@dataclass(frozen=True, slots=True)
class Level:
    """A level that the activity falls below: in words, and from which day on."""

    name: str
    short: str
    bq: float
    first_on: date | None
    passed: bool

    @property
    def when(self) -> str:
        """The first day below it, in words."""
        if self.first_on is None:
            return _("not before the year 10000")
        said = _("since %(on)s") if self.passed else _("from %(on)s")
        return said % {"on": day_text(self.first_on)}

    @property
    def sentence(self) -> str:
        """Below 3.00 GBq (...) from 3 May 2031."""
        return f"{self.name}: {self.when}"


@dataclass(frozen=True, slots=True)
class Curve:
    """What is drawn: days from ``start`` to ``end``, an activity on ``start``, levels."""

    label: str
    on: date
    start: date
    end: date
    start_bq: float
    half_life_days: float
    levels: tuple[Level, ...]
    lacking: tuple[str, ...]

    def bq_on(self, day: date) -> float:
        """The activity in Bq at the start of a day."""
        return self.start_bq * fraction((day - self.start).days, self.half_life_days)

    @property
    def logarithmic(self) -> bool:
        """Whether a linear axis would hide most of it."""
        return self.start_bq > LOG_FROM * self.bq_on(self.end)

    @property
    def shown(self) -> list[Level]:
        """The levels that the picture has room for."""
        return [one for one in self.levels if one.first_on and one.first_on <= self.end]

    @property
    def alternative(self) -> str:
        """What the picture says."""
        values = {
            "label": self.label,
            "start_bq": format_activity(self.start_bq),
            "start": day_text(self.start),
            "today_bq": format_activity(self.bq_on(self.on)),
            "on": day_text(self.on),
            "end_bq": format_activity(self.bq_on(self.end)),
            "end": day_text(self.end),
        }
        said = _(
            "Decay of %(label)s: %(start_bq)s on %(start)s, %(today_bq)s on %(on)s, %(end_bq)s on "
            "%(end)s."
        )
        if not self.shown:
            return f"{said % values} {_('It crosses no level in that time.')}"
        return f"{said % values} {'; '.join(one.sentence for one in self.shown)}."


def curve_of(known: knowledge.Known, on: date) -> Curve | None:
    """The curve of a source as described on a day; None where something for it is not known."""
    data, nuclide = known.snapshot_on(on), known.nuclide_on(on)
    stated, reference = data.get("activity_bq"), data.get("reference_on")
    if not stated or not reference or nuclide is None:
        return None
    reference_on = date.fromisoformat(reference)
    start = min(reference_on, on)  # what is stated for a later day was more before
    half_life_days = nuclide.half_life_days
    try:
        start_bq = float(stated) * fraction((start - reference_on).days, half_life_days)
        found = thresholds.crossings(start_bq, start, nuclide)
    except DomainError:  # so far before its reference date that there is no number
        return None
    return Curve(
        label=data.get("label") or known.item.label,
        on=on,
        start=start,
        end=_end(reference_on, start, on, half_life_days),
        start_bq=start_bq,
        half_life_days=half_life_days,
        levels=tuple(_level(one, on) for one in found),
        lacking=tuple(
            fill(step.code, step.values, SENTENCES) for step in thresholds.lacking(nuclide)
        ),
    )


def _end(reference_on: date, start: date, on: date, half_life_days: float) -> date:
    """15 years ahead or ten half-lives, and always a little after the day asked about."""
    ten = _later(reference_on, HALF_LIVES * half_life_days)
    least = _later(on, max(0.1 * (on - start).days, 30.0))
    return max(min(_later(on, AHEAD_DAYS), ten), least)


def _later(day: date, days: float) -> date:
    room = (date.max - day).days
    return day + timedelta(days=min(int(days), room))


def _level(crossing: thresholds.Crossing, on: date) -> Level:
    first_on = crossing.first_on
    return Level(
        name=level_name(crossing.threshold),
        short=_short(crossing.threshold),
        bq=crossing.threshold.bq,
        first_on=first_on,
        passed=first_on is not None and first_on <= on,
    )


def _short(threshold: thresholds.Threshold) -> str:
    if threshold.times_d is None:
        return _("exemption activity")
    return _("%(times)s D") % {"times": number_text(threshold.times_d)}


def level_name(threshold: thresholds.Threshold) -> str:
    """A level in words, with the category that begins below it and its activity."""
    values = {"activity": format_activity(threshold.bq)}
    if threshold.times_d is None:
        return _("below the exemption activity of %(activity)s") % values
    below = dict(_next_categories())[threshold.times_d]
    values |= {"times": number_text(threshold.times_d), "category": str(below)}
    return _("below %(times)s D, category %(category)s (%(activity)s)") % values


def _next_categories() -> Iterator[tuple[float, int]]:
    """The category below each boundary."""
    for (_number, least), (below, _least) in pairwise([*CATEGORY_FROM, (5, 0.0)]):
        yield least, below


def why_no_curve(known: knowledge.Known, on: date) -> str:
    """The sentence in the place of a curve."""
    data = known.snapshot_on(on)
    if not data.get("activity_bq"):
        return _("No decay curve: the activity is not known.")
    if not data.get("reference_on"):
        return _("No decay curve: the reference date is not known.")
    if known.nuclide_on(on) is None:
        return _("No decay curve: the nuclide table does not have this nuclide.")
    return _("No decay curve: the reference date lies too far away for this half-life.")
