"""Whether a wipe or a calibration of a file is in the register already."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.calc.errors import DomainError
from inventory.calc.explain import Step
from inventory.calc.units import parse_result
from reports.exchange.fold import fold
from reports.exchange.understood import CalibrationEntry, CountsStated, WipeEntry
from surveys.leak.wipe import DeclaredBy, FromLaboratory

Counts = tuple[tuple[float, float | None], ...]


@dataclass(frozen=True, slots=True)
class Said:
    """What makes the result of a wipe the same as another: never who wrote it down, or how."""

    way: str
    passed: bool | None = None
    figure: float | None = None
    stated: frozenset[tuple[str, str]] = frozenset()
    counter: str = ""
    gross: Counts = ()
    background: Counts = ()

    def same_as(self, other: Said) -> bool:
        """Counts are the same by their numbers, a report by its figure or by its words."""
        if (self.way, self.passed) != (other.way, other.passed):
            return False
        if (self.counter, self.gross) != (other.counter, other.gross):
            return False
        if self.background != other.background:
            return False
        if self.figure is not None and other.figure is not None:
            return abs(self.figure - other.figure) <= 1e-9 * abs(self.figure)
        return self.stated == other.stated


def said_by_entry(entry: WipeEntry, counter: str) -> Said:
    """The result that a row states; ``counter`` is the code of the counter that it names."""
    result = entry.result
    if isinstance(result, DeclaredBy):
        return Said("declared", result.passed)
    if isinstance(result, FromLaboratory):
        told = result.figures
        figure = told.activity_bq
        for other in (told.less_than_bq, told.at_most_bq, told.detection_limit_bq):
            figure = other if figure is None else figure
        return Said("reported", figure=figure, stated=_words(result.stated))
    gross, background = _counts(result.gross), _counts(result.background)
    return Said("counts", counter=counter, gross=gross, background=background)


def said_by_record(body: Mapping[str, Any]) -> Said:
    """The result that a record's text holds."""
    detail = body["detail"]
    if detail["way"] == "declared":
        return Said("declared", detail["passed"])
    if detail["way"] == "reported":
        verdict = body["points"][0]["verdict"] if body["points"] else {}
        figure = verdict.get("activity_bq")
        figure = verdict.get("upper_bound_bq") if figure is None else figure
        number = None if figure is None else float(figure)
        return Said("reported", figure=number, stated=_words(detail["stated"]))
    return Said(
        "counts",
        counter=body["instrument"] or "",
        gross=_counts(detail["gross"]),
        background=_counts(detail["background"]),
    )


def _counts(pairs: Any) -> Counts:
    return tuple((float(count), float(s) if s is not None else None) for count, s in pairs)


def _words(stated: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    return frozenset((name, _figure(text)) for name, text in stated.items() if text)


def _figure(text: str) -> str:
    """A figure however it is written, so that 2.10 Bq and 2,1 Bq are one."""
    try:
        return str(parse_result(text).decimal.normalize())
    except DomainError:
        return fold(text)


def calibration_said(entry: CalibrationEntry) -> tuple[bool, str]:
    """What makes a calibration of a day the same as another."""
    return (entry.passed, fold(entry.certificate))


def calibration_recorded(body: Mapping[str, Any]) -> tuple[bool, str]:
    """The same of a recorded one."""
    (outcome,) = [one["outcome"] for one in body["items"] if one["role"] == "subject"]
    return (outcome == "pass", fold(body["detail"]["certificate"]))


def known_calibration(entry: CalibrationEntry, recorded: list[tuple[bool, str]]) -> bool:
    """Whether one of that day is the same; a certificate that one side does not name is any."""
    passed, number = calibration_said(entry)
    return any(passed == p and (not number or not n or number == n) for p, n in recorded)


def wipe_words(entry: WipeEntry) -> Step:
    """A wipe that will be recorded, as the row states it."""
    result = entry.result
    if isinstance(result, CountsStated):
        gross = " + ".join(f"{count:g}" for count, _ in result.gross)
        return Step("plan_wipe_counted", {"on": entry.on, "text": gross, "item": result.counter})
    if isinstance(result, DeclaredBy):
        said = "passed" if result.passed else "failed"
        return Step("plan_wipe_declared", {"on": entry.on, "result": said})
    signs = {"less_than": "< ", "at_most": "\u2264 ", "uncertainty": "\u00b1 "}
    told = " ".join(signs.get(name, "") + text for name, text in result.stated.items() if text)
    return Step("plan_wipe_reported", {"on": entry.on, "text": told, "item": result.laboratory})
