"""What is counted and what comes out: counts, pairs, estimates, weights, and the constants."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from inventory.calc.errors import DomainError
from inventory.calc.explain import Cite

NORMAL = NormalDist()

#: One-sided confidence of thresholds, limits and bounds.
CONFIDENCE = 0.95
#: 1.6448536, the one-sided 95 % quantile.
K_ONE_SIDED = NORMAL.inv_cdf(CONFIDENCE)
#: 2.9957323 counts: the upper bound that no count at all leaves open.
ZERO_COUNTS_BOUND = -math.log(1 - CONFIDENCE)
#: Below this many background counts the normal approximation detects too often (up to 24 %).
LOW_BACKGROUND_COUNTS = 20
#: Net rates this many standard deviations below zero mean a background that does not fit.
BACKGROUND_Z = 3.0

ISO_11929 = Cite("ISO 11929-1", edition="2019", known_by="memory")


@dataclass(frozen=True, slots=True)
class Count:
    """Counts in a counting time (s). Not whole for a ratemeter's equivalent count."""

    counts: float
    seconds: float

    def __post_init__(self) -> None:
        check_finite(self.counts, "counts")
        check_positive(self.seconds, "seconds")
        if self.counts < 0:
            raise DomainError("counts_negative", {"counts": self.counts}, field="counts")

    @property
    def rate(self) -> float:
        """Count rate in 1/s."""
        return self.counts / self.seconds


@dataclass(frozen=True, slots=True)
class Pair:
    """A gross count and the background that is taken from it."""

    gross: Count
    background: Count


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, both in the value's unit."""

    value: float
    u: float

    @property
    def u_rel(self) -> float:
        """Relative standard uncertainty; the value is not zero."""
        return self.u / abs(self.value)


@dataclass(frozen=True, slots=True)
class Weight:
    """w, the Bq that one net count per second stands for, and its relative uncertainty."""

    w: float
    u_rel: float


def check_finite(value: float, name: str) -> None:
    """Refuse what is no finite number."""
    if isinstance(value, bool) or not math.isfinite(value):
        raise DomainError("number_not_finite", {"name": name}, field=name)


def check_positive(value: float, name: str) -> None:
    """Refuse what is no finite number above zero."""
    check_finite(value, name)
    if value <= 0:
        raise DomainError("number_not_positive", {"name": name, "number": value}, field=name)
