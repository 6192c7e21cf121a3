"""Counting statistics: from counts and times to net rate, activity, limits and bounds.

Units: counts, seconds, 1/s, Bq; relative uncertainties are standard uncertainties over the value.
Notation of the field: n_g, t_g gross; n_0, t_0 background; r = n/t; w = Bq per net 1/s; k one-sided
95 % quantile. Marks: [seen] read in a copy, [mem] from memory, [own] derived here.

``terms`` names what is counted, ``rates`` makes net rates and activities, ``limits`` thresholds,
detection limits and bounds, ``low_counts`` what few counts need, ``batch`` checks one background
against many wipes, ``instruments`` calibrates and checks, ``planning`` tells times in advance.
"""

from __future__ import annotations

from .batch import BatchCheck, batch_check
from .instruments import (
    CHECK_TOLERANCE,
    CheckReading,
    ReferenceEfficiency,
    check_reading,
    efficiency_from_reference,
    ratemeter,
    ratemeter_count,
    settled_fraction,
)
from .limits import (
    BestEstimate,
    Bounds,
    best_estimate,
    bounds,
    decision_threshold,
    detection_limit,
    mdc_nureg_1507,
)
from .low_counts import is_detected, is_low, poisson_upper, stapleton_threshold
from .planning import counting_time, planned_detection_limit, planning_rate, time_to_pass
from .rates import (
    activity,
    agree,
    net_rate,
    pooled,
    rectangular,
    weight,
    z_background,
)
from .terms import (
    BACKGROUND_Z,
    CONFIDENCE,
    ISO_11929,
    K_ONE_SIDED,
    LOW_BACKGROUND_COUNTS,
    ZERO_COUNTS_BOUND,
    Count,
    Estimate,
    Pair,
    Weight,
)

__all__ = [
    "BACKGROUND_Z",
    "CHECK_TOLERANCE",
    "CONFIDENCE",
    "ISO_11929",
    "K_ONE_SIDED",
    "LOW_BACKGROUND_COUNTS",
    "ZERO_COUNTS_BOUND",
    "BatchCheck",
    "BestEstimate",
    "Bounds",
    "CheckReading",
    "Count",
    "Estimate",
    "Pair",
    "ReferenceEfficiency",
    "Weight",
    "activity",
    "agree",
    "batch_check",
    "best_estimate",
    "bounds",
    "check_reading",
    "counting_time",
    "decision_threshold",
    "detection_limit",
    "efficiency_from_reference",
    "is_detected",
    "is_low",
    "mdc_nureg_1507",
    "net_rate",
    "planned_detection_limit",
    "planning_rate",
    "poisson_upper",
    "pooled",
    "ratemeter",
    "ratemeter_count",
    "rectangular",
    "settled_fraction",
    "stapleton_threshold",
    "time_to_pass",
    "weight",
    "z_background",
]
