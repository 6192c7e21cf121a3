"""What the wipes on record show: passes that nobody could have told, bare statements, documents
that say otherwise, results that come out differently now, counters out of calibration."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc.units import format_activity
from inventory.sentences import error_text, value_text
from reports.audit import row
from reports.audit.again import Held
from reports.audit.row import Finding
from reports.registers.late import label
from surveys.calc import leak
from surveys.sentences import SENTENCES

INSENSITIVE = "inconclusive_insensitive"
PASSED, FAILED = "passed", "failed"


def claim(held: Held) -> str:
    """What the document says of the wipe; a statement without figures is one too."""
    if held.claimed:
        return held.claimed
    return {True: PASSED, False: FAILED}.get(held.body["detail"].get("passed"), "")


def findings(held: Held, on: date) -> Iterator[Finding]:
    """What one wipe of one source shows."""
    verdict, said = held.verdict, claim(held)
    blind = verdict.finding == INSENSITIVE
    if blind:
        yield _finding(held, on, row.COULD_NOT_TELL, _blind_text(held, said))
    elif verdict.needs_acceptance:
        yield _finding(held, on, row.BARE, _bare_text(held, on))
    elif said and said != {"pass": PASSED, "fail": FAILED}.get(verdict.outcome):
        yield _finding(held, on, row.SAYS_OTHERWISE, _otherwise_text(held, said), verdict.outcome)
    if held.differs and not blind:
        yield _finding(held, on, row.JUDGED_ANEW, _anew_text(held), verdict.outcome)
    if held.refused is not None:
        why = error_text(held.refused, SENTENCES)
        text = _("With what is known now it cannot be judged again: %(why)s") % {"why": why}
        yield _finding(held, on, row.JUDGED_ANEW, text, "not_evaluable")


def _finding(held: Held, on: date, kind: str, reason: str, outcome: str = "") -> Finding:
    item = held.one.item
    return Finding(
        kind=kind,
        code=item.code,
        subject=label(held.one, on),
        order=item.label_sort,
        reason=reason,
        from_on=held.event.on,
        once=True,
        figures=figures(held.verdict),
        records=(held.event.seq,),
        outcome=outcome,
    )


def figures(verdict: leak.Verdict) -> str:
    """What was found, what could be detected and the limit, a line each."""
    named = (
        (verdict.activity_bq, _("activity %(bq)s")),
        (verdict.detection_limit_bq, _("detection limit %(bq)s")),
        (verdict.limit_bq, _("limit %(bq)s")),
    )
    return "\n".join(text % {"bq": format_activity(bq)} for bq, text in named if bq is not None)


def _blind_text(held: Held, said: str) -> str:
    return f"{_standing(held, said)} {_blind_because(held.verdict)}"


def _standing(held: Held, said: str) -> str:
    """As what it stands in the document and on record."""
    if said == PASSED:
        return str(_("The document says that it passed."))
    if held.recorded.outcome == "pass":
        return str(_("It is recorded as a pass."))
    words = {"finding": value_text("finding", held.recorded.finding, SENTENCES)}
    return _("It is recorded as: %(finding)s.") % words


def _blind_because(verdict: leak.Verdict) -> str:
    if verdict.detection_limit_bq is not None:
        values = {
            "sharp": format_activity(verdict.detection_limit_bq),
            "required": format_activity(verdict.required_detection_bq or 0.0),
        }
        return _("The test could detect %(sharp)s at best; %(required)s is required.") % values
    if verdict.upper_bound_bq is not None:
        values = {
            "upper": format_activity(verdict.upper_bound_bq),
            "limit": format_activity(verdict.limit_bq or 0.0),
        }
        return _("The result leaves room up to %(upper)s; the limit is %(limit)s.") % values
    return str(_("The efficiency was known so badly that no detection limit exists."))


def _bare_text(held: Held, on: date) -> str:
    detail = held.body["detail"]
    who = detail.get("declared_by") or detail.get("laboratory") or ""
    said = _("Stated by %(who)s to have passed, without the figures that a judgement needs.")
    if who in ("", _("not known")):
        said = _("Stated to have passed, nobody knows by whom, without figures.")
    standing = (
        _("The supervisor has accepted it.")
        if held.event.clears_on(on)
        else _("It satisfies nothing.")
    )
    why = detail.get("accept_because")
    because = _("Reason: %(why)s") % {"why": why} if why and held.event.clears_on(on) else ""
    return " ".join(part for part in (said % {"who": who}, standing, because) if part)


def _otherwise_text(held: Held, said: str) -> str:
    """The document's word against the figures."""
    words = {
        "claim": _("passed") if said == PASSED else _("failed"),
        "finding": value_text("finding", held.verdict.finding, SENTENCES),
    }
    return _("The document says %(claim)s; judged here it is: %(finding)s.") % words


def _anew_text(held: Held) -> str:
    words = {
        "then": value_text("finding", held.recorded.finding, SENTENCES),
        "now": value_text("finding", held.verdict.finding, SENTENCES),
    }
    return (
        _(
            "Recorded as: %(then)s. With the calibration of that day, nuclide and schedule as "
            "they are known now: %(now)s."
        )
        % words
    )


# ---------------------------------------------------------------- counters out of calibration


def counted_unfit(
    held: Iterable[Held], monitors: dict[int, knowledge.Known], on: date
) -> list[Finding]:
    """One line for each of these wipes, all of them counted on a counter out of calibration, then
    or as known now; ``held`` names a wipe once for each of its sources."""
    out: dict[int, Finding] = {}
    for one in held:
        assert one.counter is not None
        counter = monitors[one.counter.pk]
        named = label(one.one, on)
        if one.event.record in out:
            found = out[one.event.record]
            out[one.event.record] = replace(found, figures=f"{found.figures}\n{named}")
            continue
        out[one.event.record] = Finding(
            kind=row.COUNTED_UNFIT,
            code=one.counter.code,
            subject=label(counter, on),
            order=one.counter.label_sort,
            reason=_unfit_text(one),
            from_on=one.counted_on,
            once=True,
            figures=named,
            records=(one.event.seq,),
        )
    return list(out.values())


def _unfit_text(held: Held) -> str:
    then, now = held.event.unfit_because, held.unfit_now
    if held.event.fit:
        why = {"why": value_text("because", now)}
        return (
            _(
                "Recorded as relied on, but by what is known now %(why)s. Correct the record, so "
                "that it is judged again."
            )
            % why
        )
    if not now:
        why = {"why": value_text("because", then)}
        return (
            _(
                "Not relied on when it was recorded (%(why)s). A calibration that was entered "
                "since covers the day: correct the record, so that it is judged again."
            )
            % why
        )
    return _("Not relied on: %(why)s.") % {"why": value_text("because", now)}
