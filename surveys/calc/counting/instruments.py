"""What an instrument gives: its efficiency from a reference source, its check-source reading, a
ratemeter's reading."""

from __future__ import annotations

import math
from dataclasses import dataclass

from inventory.calc.errors import DomainError

from .rates import net_rate
from .terms import Count, Estimate, Pair, check_positive

#: A check-source reading may differ by this fraction from the decayed reference: "more than 20
#: percent" is out, 20 percent is in (10 CFR 35.61(b) [seen]; a licensee's manual [seen]).
CHECK_TOLERANCE = 0.20


@dataclass(frozen=True, slots=True)
class ReferenceEfficiency:
    """Counts per decay found with a reference source, and what the source had on that day."""

    efficiency: float
    u_rel: float
    decay_factor: float
    activity_bq: float


@dataclass(frozen=True, slots=True)
class CheckReading:
    """A check-source reading against the decayed reference (net rates in 1/s).

    ``state`` is ``within``, ``high``, ``low`` or ``uncertain`` (it could not tell).
    """

    state: str
    net_rate_per_s: float
    expected_per_s: float
    deviation: float


def check_reading(
    now: Estimate,
    reference_per_s: float,
    days: float,
    half_life_days: float,
    tolerance: float = CHECK_TOLERANCE,
) -> CheckReading:
    """d = M/(M_ref 2^(-days/T)) - 1 against the tolerance; at the tolerance is within.

    Uncertain where twice the standard uncertainty of the reading is more than the tolerance of what
    was expected. It is measured against the expected rate, so that a dead counter is low. [own]
    """
    check_positive(reference_per_s, "reference_per_s")
    check_positive(half_life_days, "half_life_days")
    expected = reference_per_s * math.exp2(-days / half_life_days)
    check_positive(expected, "reference_per_s")
    deviation = now.value / expected - 1
    within = abs(deviation) <= tolerance * (1 + 1e-9)
    state = "within" if within else "high" if deviation > 0 else "low"
    if 2 * now.u / expected > tolerance:
        state = "uncertain"
    return CheckReading(state, now.value, expected, deviation)


def efficiency_from_reference(
    standard: Count, background: Count, reference: Estimate, days: float, half_life_days: float
) -> ReferenceEfficiency:
    """Counts per decay from a reference source of ``reference`` Bq, ``days`` after its date.

    eps = net rate/(A_ref 2^(-days/T)); the uncertainty of A_ref joins in quadrature. [own]
    Raises ``reference_not_above_background``.
    """
    check_positive(reference.value, "reference_activity_bq")
    check_positive(half_life_days, "half_life_days")
    net = net_rate(Pair(standard, background))
    if net.value <= 0:
        raise DomainError("reference_not_above_background", field="standard_counts")
    decay_factor = math.exp2(-days / half_life_days)
    now = reference.value * decay_factor
    u_rel = math.hypot(net.u_rel, reference.u_rel)
    return ReferenceEfficiency(net.value / now, u_rel, decay_factor, now)


def ratemeter(rate: float, time_constant: float, resolution: float = 0.0) -> Estimate:
    """Reading of an exponential ratemeter and its uncertainty (1/s), resolution included.

    u^2 = r/(2 tau) + d^2/12: Schiff and Evans 1936 [seen abstract], ISO 11929-1 Annex B [mem].
    """
    count = ratemeter_count(rate, time_constant)
    return Estimate(rate, math.sqrt(rate / count.seconds + resolution * resolution / 12))


def ratemeter_count(rate: float, time_constant: float) -> Count:
    """The count that a ratemeter reading stands for: 2 tau seconds. Schiff and Evans 1936."""
    check_positive(time_constant, "time_constant")
    return Count(rate * 2 * time_constant, 2 * time_constant)


def settled_fraction(seconds: float, time_constant: float) -> float:
    """How far a ratemeter has come after a wait: 1 - exp(-t/tau); 0.95 at 3 tau."""
    check_positive(time_constant, "time_constant")
    return -math.expm1(-seconds / time_constant)
