"""A recorded wipe as people read it: made from the record's own text, never worked out again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.explain import step_from_data, steps_to_data
from inventory.calc.units import format_activity
from inventory.knowledge import COMPLETES
from inventory.sentences import Line, lines, number_text, value_text
from surveys.calc.leak import verdict_to_data
from surveys.leak.judging import Judged
from surveys.sentences import SENTENCES

Pairs = list[tuple[str, str]]


def judged_point(judged: Judged) -> dict[str, Any]:
    """A verdict that was not recorded, in the form in which a record keeps it."""
    return {
        "verdict": verdict_to_data(judged.verdict.value),
        "steps": steps_to_data(judged.verdict.steps),
    }


def finding(point: Mapping[str, Any]) -> str:
    """The finding as one sentence."""
    return verdict_lines(point)[0].text


def verdict_lines(point: Mapping[str, Any]) -> Sequence[Line]:
    """Every step of a frozen verdict as a sentence."""
    return list(lines([step_from_data(step) for step in point["steps"]], SENTENCES))


def fit_text(fit: bool, unfit_because: str) -> str:
    """Why a result is not relied on, or nothing."""
    if fit:
        return ""
    why = value_text("because", unfit_because)
    return _("Not relied on: %(why)s. It satisfies nothing, but it can still accuse.") % {
        "why": why
    }


def figures(point: Mapping[str, Any]) -> Pairs:
    """The figures that people compare, each with its unit; what does not exist is left out."""
    verdict = point["verdict"]
    names = (
        ("activity_bq", _("Activity on the wipe")),
        ("standard_uncertainty_bq", _("Standard uncertainty")),
        ("decision_threshold_bq", _("Decision threshold")),
        ("detection_limit_bq", _("Detection limit")),
        ("lower_bound_bq", _("Lower bound (95 %)")),
        ("upper_bound_bq", _("Upper bound (95 %)")),
        ("limit_bq", _("Limit")),
        ("least_activity_bq", _("At least")),
    )
    return [
        (label, format_activity(float(verdict[name])))
        for name, label in names
        if verdict.get(name) is not None
        and not (name == "least_activity_bq" and verdict["outcome"] != "not_evaluable")
    ]


def outcome_of(point: Mapping[str, Any]) -> str:
    """The outcome that a mark is drawn for."""
    return str(point["verdict"]["outcome"])


def basis(body: Mapping[str, Any]) -> Pairs:
    """What the verdict rests on: schedule and version, limit, calibration, formula."""
    detail = body["detail"]
    schedule = detail["schedule"]
    out: Pairs = []
    if schedule:
        adopted = (
            _("adopted on %(on)s by %(by)s")
            % {"on": value_text("adopted_on", schedule["adopted_on"]), "by": schedule["adopted_by"]}
            if schedule["adopted_on"]
            else _("draft, not adopted")
        )
        text = _("%(title)s, version %(version)s (%(adopted)s)")
        out.append((_("Schedule"), text % {**schedule, "adopted": adopted}))
        out.append((_("SHA-256 of its file"), schedule["sha256"]))
    if detail["calibration"]:
        out.append(
            (_("Calibration in force"), _("record %(seq)s") % {"seq": detail["calibration"]})
        )
    out += _laboratory(body)
    verdict = body["points"][0]["verdict"]
    if verdict["comparator"]:
        out.append((_("Comparator"), value_text("comparator", verdict["comparator"], SENTENCES)))
    out.append((_("Formulas"), str(verdict["formula_version"])))
    return out


def _laboratory(body: Mapping[str, Any]) -> Pairs:
    """The description of the laboratory that it was judged by, and the limit stated there."""
    described = body["detail"].get("laboratory_described")
    if not described:
        return []
    out = [(_("Laboratory as described in"), _("record %(seq)s") % {"seq": described})]
    limits = {
        (point["nuclide"], point["laboratory_limit"]["text"])
        for point in body["points"]
        if point.get("laboratory_limit")
    }
    for nuclide, text in sorted(limits, key=str):
        term = _("Detection limit that it states, %(nuclide)s") % {"nuclide": nuclide or "?"}
        out.append((term, text))
    return out


def inputs(body: Mapping[str, Any]) -> Pairs:
    """What was entered."""
    detail = body["detail"]
    out: Pairs = [(_("Way"), value_text("way", detail["way"], SENTENCES))]
    for name, label in (
        ("why", _("Reason")),
        ("point_wiped", _("Point wiped")),
        ("method", _("Method")),
        ("counted_on", _("Counted on")),
        ("counted_by", _("Counted by")),
        ("laboratory", _("Laboratory")),
        ("report", _("Report number")),
        ("reported_on", _("Reported on")),
        ("declared_by", _("Declared by")),
        ("document", _("Document")),
        ("accept_because", _("Accepted because")),
    ):
        if detail.get(name):
            out.append((label, value_text(name, detail[name], SENTENCES)))
    out += [
        (label, counts_text(detail[name]))
        for name, label in (("gross", _("Gross counts")), ("background", _("Background counts")))
        if detail.get(name)
    ]
    out += [
        (value_text("stated", name, SENTENCES), text)
        for name, text in detail.get("stated", {}).items()
    ]
    out += [
        (_("Result of the wipe sent in"), _("record %(seq)s") % {"seq": link["seq"]})
        for link in body["links"]
        if link["role"] == COMPLETES
    ]
    if body["remark"]:
        out.append((_("Remark"), body["remark"]))
    return out


def counts_text(counts: Sequence[Sequence[str | None]]) -> str:
    """431 in 600 s; 425 in 600 s."""
    return "; ".join(
        _("%(counts)s in %(seconds)s s")
        % {
            "counts": number_text(float(count or 0)),
            "seconds": number_text(float(seconds)) if seconds else "?",
        }
        for count, seconds in counts
    )
