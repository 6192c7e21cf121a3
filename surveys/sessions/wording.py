"""A session and its wipes as people read them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.explain import Explained, step_from_data
from inventory.calc.units import format_activity
from inventory.sentences import lines, number_text
from surveys.calc.counting import BatchCheck, CheckReading
from surveys.leak import wording as leak_wording
from surveys.leak.judging import Judged
from surveys.sentences import SENTENCES
from surveys.sessions.rows import RowForm
from surveys.sessions.session import CHECK_ROLE
from surveys.sessions.work import Worked


def out_of_use(source: str) -> str:
    """What everybody must know of a source whose follow-up is open."""
    return _(
        "%(source)s: failed or suspected leak, out of use. Keep people away, do not handle. A wipe "
        "that passes does not end this; the supervisor closes the follow-up."
    ) % {"source": source}


def figures(point: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Activity with its uncertainty, decision threshold, detection limit: what a row has room for.
    What does not exist is left out; a wipe that is not evaluable says what is on it at least."""
    verdict = point["verdict"]
    out = []
    if verdict["activity_bq"] is not None:
        text = format_activity(float(verdict["activity_bq"]))
        if verdict["standard_uncertainty_bq"] is not None:
            u = format_activity(float(verdict["standard_uncertainty_bq"]), 2)
            text = _("%(activity)s ± %(u)s") % {"activity": text, "u": u}
        out.append((_("Activity"), text))
    for name, label in (
        ("decision_threshold_bq", _("Decision threshold")),
        ("detection_limit_bq", _("Detection limit")),
        ("limit_bq", _("Limit")),
    ):
        if verdict[name] is not None:
            out.append((label, format_activity(float(verdict[name]))))
    return out


def row_result(row: RowForm, worked: Worked) -> dict[str, Any]:
    """What stands below a row: its verdicts, or what is wrong with it."""
    judged = worked.judged.get(row.number, [])
    notes = list(worked.again.get(row.number, []))
    notes += [out_of_use(one.source.label) for one in judged if one.source.pk in worked.warned]
    faults = row.sentences if row.written else []
    if row.written and not faults and worked.session is None:
        faults = [_("Choose the counter and the day of counting at the top.")]
    return {
        "number": row.number,
        "verdicts": [_verdict(one) for one in judged],
        "faults": faults,
        "notes": notes,
    }


def _verdict(judged: Judged) -> dict[str, Any]:
    point = leak_wording.judged_point(judged)
    told = leak_wording.verdict_lines(point)
    fit = not judged.unfit_because
    return {
        "source": judged.source.label,
        "outcome": leak_wording.outcome_of(point) if fit else "not_relied_on",
        "finding": told[0].text,
        "fit_text": leak_wording.fit_text(fit, judged.unfit_because),
        "figures": figures(point),
        "lines": told,
    }


def batch_lines(batch: Explained[BatchCheck] | None) -> dict[str, Any] | None:
    """The background against the batch: a sentence, and whether it warns."""
    if batch is None or not batch.value.wipes:
        return None
    said = [line.text for line in lines(batch.steps, SENTENCES)]
    background = float(str(batch.steps[0].values["background_seconds"]))
    longer = batch.value.long_background_seconds
    if batch.value.state in ("agrees", "not_tested") and background < longer:
        text = _(
            "A background of %(seconds)s s or longer would make its share of the uncertainty small."
        )
        said.append(text % {"seconds": number_text(longer)})
    return {"warns": batch.value.state.startswith("reads_"), "sentences": said}


def check_lines(found: Explained[CheckReading | None] | None) -> dict[str, Any] | None:
    """The check source: a sentence, and whether it warns."""
    if found is None:
        return None
    return _said(found.steps[0].code, [line.text for line in lines(found.steps, SENTENCES)])


def kept_lines(steps: Sequence[Mapping[str, Any]]) -> dict[str, Any] | None:
    """The same from a record's text."""
    read = [step_from_data(step) for step in steps]
    if not read:
        return None
    return _said(read[0].code, [line.text for line in lines(read, SENTENCES)])


def _said(code: str, sentences: list[str]) -> dict[str, Any]:
    sound = ("check_first", "check_within", "batch_agrees", "batch_not_tested")
    return {"warns": code not in sound, "sentences": sentences}


def session_lines(body: Mapping[str, Any], role: str) -> Iterator[str]:
    """A session on the time line of its counter or its check source."""
    detail = body["detail"]
    if role != CHECK_ROLE:
        number = int(detail["wipes"])
        yield ngettext("%(n)s wipe counted.", "%(n)s wipes counted.", number) % {"n": number}
        if batch := kept_lines(detail["batch_steps"]):
            yield from batch["sentences"]
    if check := kept_lines(detail["check_steps"]):
        yield from check["sentences"]
