"""One wipe's verdict for one source: judged, worded by its finding, frozen as data."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite, Explained, Scalar, Step

from .checks import check_limit, check_number
from .counted import judge_counted
from .laboratory import judge_declared, judge_reported
from .rule import RULE, Case
from .terms import Counted, Limit, Reported, Result, Verdict

_INTEGERS = ("gross_counts", "background_counts")
_TEXTS = ("outcome", "finding", "nuclide", "comparator", "efficiency_basis", "formula_version")


def judge(
    result: Result,
    limit: Limit | None,
    *,
    nuclide: str | None,
    gas: bool = False,
    most_counts_per_decay: float = 1.0,
    efficiency_as_given: bool = False,
) -> Explained[Verdict]:
    """Judge one wipe for one source.

    ``nuclide`` None makes the result not evaluable, unless ``efficiency_as_given`` says that the
    efficiency is taken as that of the source (hand checks). ``most_counts_per_decay`` is 1 plus the
    ratios of the daughters in equilibrium; 1 is used where the nuclide is unknown. The first step
    is the finding, its grounds are below it. Raises DomainError, with ``field``, for input that
    cannot be true. measurement rule: JCGM 106:2012 cl. 8.3 [mem], ISO 11929-1:2019 [mem], [own].
    """
    check_limit(limit)
    check_number(most_counts_per_decay, "most_counts_per_decay", above=1.0, equal=True)
    most = most_counts_per_decay if nuclide is not None else 1.0
    case = Case(limit, nuclide, gas, most, efficiency_as_given)
    if isinstance(result, Counted):
        return _finished(*judge_counted(result, case))
    if isinstance(result, Reported):
        return _finished(*judge_reported(result, case))
    return _finished(*judge_declared(result, case))


def _finished(verdict: Verdict, grounds: tuple[Step, ...], cite: Cite) -> Explained[Verdict]:
    """The verdict with its finding as the first step. No infinite figure ever leaves here."""
    for item in fields(verdict):
        value = getattr(verdict, item.name)
        if isinstance(value, float) and not math.isfinite(value):
            raise DomainError("wipe_out_of_range", {"name": item.name}, field=item.name)
    names = (
        "activity_bq", "standard_uncertainty_bq", "limit_bq", "comparator", "upper_bound_bq",
        "lower_bound_bq", "detection_limit_bq", "required_detection_bq", "least_activity_bq",
        "z_background",
    )  # fmt: skip
    values: dict[str, Scalar] = {name: getattr(verdict, name) for name in names}
    steps: tuple[Step, ...] = (Step(_finding_code(verdict), values, cite, grounds),)
    if verdict.act_as_on_a_leak and verdict.outcome != "fail":
        steps += (Step("wipe_accuses", values, RULE),)
    return Explained(verdict, steps)


def _finding_code(verdict: Verdict) -> str:
    """The sentence's code: a finding is worded by what it rests on."""
    if verdict.finding == "pass":
        if verdict.detected is None:
            return "pass_stated_below" if verdict.activity_bq is None else "pass_reported"
        return "pass_detected" if verdict.detected else "pass_not_detected"
    if verdict.finding == "inconclusive_background" and verdict.gross_counts is None:
        return "inconclusive_reported_negative"
    if verdict.finding == "inconclusive_insensitive" and verdict.detection_limit_bq is None:
        counted = verdict.gross_counts is not None
        return "inconclusive_no_detection_limit" if counted else "inconclusive_stated_above"
    return verdict.finding


def verdict_to_data(verdict: Verdict) -> dict[str, str | bool | None]:
    """The verdict as JSON data, numbers as the shortest decimal string that reads back the same."""
    data: dict[str, str | bool | None] = {}
    for item in fields(verdict):
        value = getattr(verdict, item.name)
        is_data = value is None or isinstance(value, bool | str)
        data[item.name] = value if is_data else repr(value)
    return data


def verdict_from_data(data: Mapping[str, str | bool | None]) -> Verdict:
    """The verdict that ``verdict_to_data`` wrote; keys that it did not know yet stay None."""
    values: dict[str, object] = {}
    for item in fields(Verdict):
        value = data.get(item.name)
        if isinstance(value, str) and item.name not in _TEXTS:
            value_read = int(value) if item.name in _INTEGERS else float(value)
            values[item.name] = value_read
        elif item.name in data:
            values[item.name] = value
    return Verdict(**values)  # type: ignore[arg-type]
