"""Input that cannot be true is refused before it is judged: DomainError with its ``field``."""

from __future__ import annotations

import math
import sys

from inventory.calc.errors import DomainError
from inventory.calc.explain import Scalar

from .compare import over
from .terms import BASES, COMPARATORS, Factor, Limit, Reported

_LONGEST_COUNT = 366 * 86400
_MOST_COUNTS = 10**15
#: Student's factor for 95 % is 4.5 at two degrees of freedom; 95 would be the probability itself.
_LARGEST_COVERAGE = 10


def _finite(value: float) -> bool:
    """Whether it fits a float; an integer may be too long for one."""
    return abs(value) <= sys.float_info.max


def check_number(
    value: float, name: str, *, above: float = 0.0, equal: bool = False, code: str = ""
) -> None:
    """Refuse what is no finite number above ``above``, or at it where ``equal``."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not _finite(value):
        raise DomainError("number_not_finite", {"name": name}, field=name)
    if value < above or (value == above and not equal):
        code = code or ("number_too_small" if equal else "number_not_above")
        raise DomainError(code, {"name": name, "number": value, "least": above}, field=name)


def _check_optional(owner: object, *names: str, equal: bool) -> None:
    for name in names:
        value = getattr(owner, name)
        if value is not None:
            check_number(value, name, equal=equal)


def check_limit(limit: Limit | None) -> None:
    """Refuse a limit that is not positive or is compared in an unknown way."""
    if limit is None:
        return
    check_number(limit.bq, "limit_bq")
    _check_optional(limit, "required_detection_bq", "action_fraction", equal=False)
    if limit.comparator not in COMPARATORS:
        raise DomainError("comparator_unknown", {"given": limit.comparator}, field="comparator")


def check_factor(factor: Factor, most_counts: float) -> None:
    """An efficiency that no counter can have is refused: it would make every wipe look clean."""
    if factor.basis not in BASES:
        raise DomainError("basis_unknown", {"given": factor.basis}, field="efficiency_basis")
    check_number(factor.efficiency, "efficiency", code="efficiency_not_positive")
    _check_optional(factor, "source_efficiency", "window_cm2", equal=False)
    _check_optional(factor, "u_rel", equal=True)
    emission = factor.basis == "per_2pi_emission"
    if emission and over(factor.efficiency, 1.0):
        raise DomainError(
            "emission_efficiency_above_one", {"efficiency": factor.efficiency}, field="efficiency"
        )
    per_decay = factor.per_decay
    if per_decay is not None and over(per_decay, most_counts):
        values: dict[str, Scalar] = {"efficiency_per_decay": per_decay, "most_counts": most_counts}
        raise DomainError("efficiency_above_ceiling", values, field="efficiency")
    if emission and factor.source_efficiency and over(factor.source_efficiency, most_counts):
        values = {"source_efficiency": factor.source_efficiency, "most_counts": most_counts}
        raise DomainError("source_efficiency_above_ceiling", values, field="source_efficiency")


def whole_counts(counts: float, field: str) -> int:
    """Counts as an integer: whole, not negative, not absurdly many."""
    kinds = isinstance(counts, int | float) and not isinstance(counts, bool)
    if not kinds or not _finite(counts) or counts != int(counts):
        raise DomainError("counts_not_whole", {"field": field}, field=field)
    if counts < 0:
        raise DomainError("counts_below_zero", {"field": field, "counts": counts}, field=field)
    if counts > _MOST_COUNTS:
        raise DomainError("counts_too_many", {"field": field}, field=field)
    return int(counts)


def counting_time(seconds: float | None, field: str) -> float | None:
    """A counting time in seconds, positive and at most a year; None where none was given."""
    if seconds is None:
        return None
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        raise DomainError("count_time_not_positive", {"field": field}, field=field)
    if not _finite(seconds) or seconds <= 0:
        raise DomainError("count_time_not_positive", {"field": field}, field=field)
    if seconds > _LONGEST_COUNT:
        raise DomainError("count_time_too_long", {"field": field}, field=field)
    return float(seconds)


def check_reported(result: Reported) -> None:
    """Refuse figures that cannot be and statements that do not fit each other."""
    if result.activity_bq is not None:
        check_number(result.activity_bq, "activity_bq", above=-math.inf)
    _check_optional(
        result, "expanded_uncertainty_bq", "coverage_factor", "less_than_bq", "at_most_bq",
        "detection_limit_bq", "decision_threshold_bq", "laboratory_detection_limit_bq",
        equal=False,
    )  # fmt: skip
    k = result.coverage_factor
    if k is not None and k > _LARGEST_COVERAGE:
        raise DomainError("coverage_factor_too_large", {"number": k}, field="coverage_factor")
    stated = [v is not None for v in (result.activity_bq, result.less_than_bq, result.at_most_bq)]
    if sum(stated) > 1:
        raise DomainError("reported_two_figures", field="activity_bq")
    if not any(stated) and not result.not_detected:
        raise DomainError("reported_no_figure", field="activity_bq")
    if result.expanded_uncertainty_bq is not None and result.activity_bq is None:
        raise DomainError("uncertainty_without_activity", field="expanded_uncertainty_bq")
    if result.coverage_factor is not None and result.expanded_uncertainty_bq is None:
        raise DomainError("coverage_without_uncertainty", field="coverage_factor")
