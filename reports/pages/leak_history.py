"""The leak tests of a source against the limit: one set of figures for the picture, its text
alternative and the table below it. Everything is read from the records' own text."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory import knowledge
from inventory.calc.due import Event
from inventory.calc.units import format_activity
from inventory.ledger.models import Record
from inventory.sentences import day_text, value_text
from surveys.calc.leak import Verdict, verdict_from_data
from surveys.leak.models import LEAK_TEST_KIND
from surveys.sentences import SENTENCES

#: Shapes of a result. Where it stands: at the activity, or at what it is known to be below.
VALUE, BELOW, FAIL = "value", "below", "fail"
INCONCLUSIVE, NOT_EVALUABLE, NO_FIGURE = "inconclusive", "not_evaluable", "no_figure"
#: Half the length of a bar is so many standard uncertainties.
COVERAGE = 2.0


@dataclass(frozen=True, slots=True)
class Result:
    """One result: where and how it is drawn (``bq`` None: at the bottom), and in words."""

    on: date
    seq: int
    shape: str
    bq: float | None
    u_bq: float | None
    relied_on: bool
    replaced: bool
    result: str
    detection_limit: str
    verdict: str
    outcome: str
    why_not: str
    limit_bq: float | None
    comparator: str | None


@dataclass(frozen=True, slots=True)
class History:
    """The results of a source up to a day, oldest first."""

    label: str
    on: date
    results: tuple[Result, ...]

    @property
    def drawn(self) -> list[Result]:
        """Those in the picture: a corrected record is answered by the one in its place."""
        return [one for one in self.results if not one.replaced]

    @property
    def limits(self) -> list[tuple[float, str]]:
        """Each limit with its comparator that a verdict rests on, in order of size."""
        pairs = {(one.limit_bq, one.comparator) for one in self.drawn if one.limit_bq}
        return sorted((bq, comparator or "") for bq, comparator in pairs if bq is not None)

    @property
    def alternative(self) -> str:
        """What the picture says."""
        shown = self.drawn
        values = {
            "label": self.label,
            "first": day_text(shown[0].on),
            "last": day_text(shown[-1].on),
            "limits": "; ".join(limit_text(*one) for one in self.limits) or _("no limit known"),
        }
        said = _("Leak tests of %(label)s from %(first)s to %(last)s (%(limits)s).")
        if len(shown) == 1:
            said = _("Leak test of %(label)s on %(last)s (%(limits)s).")
        parts = [*_counts(shown), _("last: %(verdict)s") % {"verdict": shown[-1].verdict}]
        return f"{said % values} {'; '.join(parts)}. {_('The table below has the same figures.')}"


def limit_text(bq: float, comparator: str) -> str:
    """A limit with what happens at it."""
    said = _("limit %(limit)s") % {"limit": format_activity(bq)}
    if not comparator:
        return said
    return f"{said}: {value_text('comparator', comparator, SENTENCES)}"


def _counts(results: Sequence[Result]) -> list[str]:
    def count(wanted: Iterable[bool]) -> int:
        return sum(wanted)

    below = count(one.shape == BELOW for one in results)
    fails = count(one.shape == FAIL for one in results)
    unrelied = count(not one.relied_on for one in results)
    total = len(results)
    out = [ngettext("%(n)s result", "%(n)s results", total) % {"n": total}]
    if below:
        out.append(_("%(n)s not detected or stated as less than") % {"n": below})
    if fails:
        out.append(ngettext("%(n)s fails", "%(n)s fail", fails) % {"n": fails})
    if unrelied:
        out.append(_("%(n)s not relied on") % {"n": unrelied})
    return out


def history_of(known: knowledge.Known, on: date) -> History:
    """The results of a source up to a day: two queries at most beside what is known."""
    events = [one for one in known.events if one.kind == LEAK_TEST_KIND and one.on <= on]
    texts = Record.objects.filter(pk__in=[one.record for one in events])
    bodies = {pk: json.loads(text) for pk, text in texts.values_list("pk", "body")}
    found = []
    for event in sorted(events, key=lambda one: one.order):
        for point in bodies[event.record]["points"]:
            if point["item"] == known.item.code:
                found.append(_result(event, bodies[event.record], point, on))
    return History(known.snapshot_on(on).get("label") or known.item.label, on, tuple(found))


def _result(event: Event, body: Mapping[str, Any], point: Mapping[str, Any], on: date) -> Result:
    verdict = verdict_from_data(point["verdict"])
    shape, bq = _place(verdict)
    why_not = _why_not(event, on)
    finding = value_text("finding", verdict.finding, SENTENCES)
    return Result(
        on=event.on,
        seq=event.seq,
        shape=shape,
        bq=bq,
        u_bq=verdict.standard_uncertainty_bq if bq == verdict.activity_bq else None,
        relied_on=not why_not,
        replaced=not event.live,
        result=_result_text(verdict),
        detection_limit=_activity(verdict.detection_limit_bq),
        verdict=finding,
        outcome=verdict.outcome if event.fit else "not_relied_on",
        why_not=why_not,
        limit_bq=verdict.limit_bq,
        comparator=verdict.comparator,
    )


def _place(verdict: Verdict) -> tuple[str, float | None]:
    """Its shape, and the activity at which it stands. A wipe that shows nothing stands at what it
    could have seen; one without any figure at the bottom."""
    activity = verdict.activity_bq
    positive = activity if activity is not None and activity > 0 else None
    if verdict.outcome == "fail":
        return FAIL, positive
    if verdict.outcome == "not_evaluable":
        least = verdict.least_activity_bq
        return NOT_EVALUABLE, positive or (least if least and least > 0 else None)
    if verdict.detected is False or (positive is None and _ceiling(verdict) is not None):
        return BELOW, _ceiling(verdict)
    if positive is None:
        return NO_FIGURE, None
    return (INCONCLUSIVE if verdict.outcome == "inconclusive" else VALUE), positive


def _ceiling(verdict: Verdict) -> float | None:
    """What the activity is known to be below: the detection limit, or the "<" of a report."""
    found = verdict.detection_limit_bq
    if verdict.activity_bq is None and verdict.upper_bound_bq is not None:
        found = verdict.upper_bound_bq
    return found if found is not None and found > 0 else None


def _result_text(verdict: Verdict) -> str:
    if verdict.activity_bq is not None:
        said = format_activity(verdict.activity_bq)
        if verdict.standard_uncertainty_bq is not None:
            said += f" ± {format_activity(COVERAGE * verdict.standard_uncertainty_bq, 2)}"
        return said
    if verdict.upper_bound_bq is not None:
        return f"< {format_activity(verdict.upper_bound_bq)}"
    if verdict.outcome == "not_evaluable" and verdict.least_activity_bq is not None:
        return _("at least %(activity)s") % {"activity": format_activity(verdict.least_activity_bq)}
    return _("no figure")


def _activity(bq: float | None) -> str:
    return "–" if bq is None else format_activity(bq)


def _why_not(event: Event, on: date) -> str:
    """Why a result is not relied on for that day, or nothing."""
    if not event.live:
        return _("replaced by a correction")
    if not event.fit:
        return value_text("because", event.unfit_because)
    if not event.accepted or (event.accepted_on or event.on) > on:
        return _("entered, not accepted")
    return ""
