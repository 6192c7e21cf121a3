"""What a wipe test is judged from and what comes out: limit, efficiency, results, verdict.

Activities in Bq on the wipe, times in seconds, efficiencies in counts per decay.
Marks: [seen] read in a copy, [mem] from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.calc.explain import Cite

#: Changes whenever the same input could give another verdict.
FORMULA_VERSION = "wipe 1"
#: Stands in for an efficiency's relative uncertainty that nobody stated.
DEFAULT_U_REL = 0.3
BASES = ("per_decay", "per_2pi_emission", "surface_response")
COMPARATORS = ("reaches", "exceeds")
OUTCOMES = ("pass", "fail", "inconclusive", "not_evaluable")

#: Counts and seconds of one count; seconds None where nobody wrote them down.
RawCount = tuple[float, float | None]


@dataclass(frozen=True, slots=True)
class Limit:
    """What the wipe is judged against (Bq).

    ``comparator``: ``reaches`` fails at the limit (10 CFR 35.67(e) "185 Bq or more" [seen]),
    ``exceeds`` above it (10 CFR 32.59 "more than" [seen]). ``required_detection_bq`` is the
    detection limit that the test must reach, the limit itself where None; a larger one than the
    limit is not used. ``action_fraction`` of the limit sets the ``watch`` flag.
    """

    bq: float
    comparator: str = "reaches"
    required_detection_bq: float | None = None
    action_fraction: float = 0.1
    cite: Cite | None = None

    @property
    def detection_bq(self) -> float:
        """The detection limit that a pass needs."""
        required = self.required_detection_bq
        return self.bq if required is None else min(required, self.bq)


@dataclass(frozen=True, slots=True)
class Factor:
    """A counter's efficiency for the nuclide and what it is counted per.

    ``per_decay``: counts per decay (4 pi). ``per_2pi_emission``: counts per emission into 2 pi,
    with ``source_efficiency`` (emissions into 2 pi per decay). ``surface_response``: 1/s per
    Bq/cm2, with the window's area in cm2. ``u_rel`` None takes 0.3, and the explanation says so.
    """

    efficiency: float
    u_rel: float | None = None
    basis: str = "per_decay"
    source_efficiency: float | None = None
    window_cm2: float | None = None

    @property
    def per_decay(self) -> float | None:
        """Counts per decay; None where the source efficiency or the window is missing."""
        if self.basis == "per_2pi_emission":
            eps_s = self.source_efficiency
            return None if eps_s is None else self.efficiency * eps_s
        if self.basis == "surface_response":
            return None if self.window_cm2 is None else self.efficiency / self.window_cm2
        return self.efficiency


@dataclass(frozen=True, slots=True)
class Counted:
    """A wipe counted here: all its counts on one counter (they pool), and each background once."""

    gross: tuple[RawCount, ...]
    background: tuple[RawCount, ...]
    factor: Factor | None = None


@dataclass(frozen=True, slots=True)
class Reported:
    """A laboratory's figures (Bq). ``at_most_bq`` is its "<= x", ``less_than_bq`` its "< x".

    ``detection_limit_bq`` and ``decision_threshold_bq`` stand in the report itself;
    ``laboratory_detection_limit_bq`` is what the laboratory states for that nuclide in general and
    is used for ``not_detected`` without a figure.
    """

    activity_bq: float | None = None
    expanded_uncertainty_bq: float | None = None
    coverage_factor: float | None = None
    less_than_bq: float | None = None
    at_most_bq: float | None = None
    detection_limit_bq: float | None = None
    decision_threshold_bq: float | None = None
    not_detected: bool = False
    laboratory_detection_limit_bq: float | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """A statement without figures: the test passed, or it failed."""

    passed: bool


Result = Counted | Reported | Declared


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is frozen with a wipe test. None: the value does not exist.

    ``needs_acceptance`` marks a bare statement that the test passed: its outcome is
    ``inconclusive``, and it satisfies nothing until a radiation protection supervisor accepts it
    by name. ``watch`` flags the action level and changes no outcome.
    ``act_as_on_a_leak`` is None only where no limit is known to compare with.
    """

    outcome: str
    finding: str
    nuclide: str | None = None
    activity_bq: float | None = None
    standard_uncertainty_bq: float | None = None
    decision_threshold_bq: float | None = None
    detection_limit_bq: float | None = None
    lower_bound_bq: float | None = None
    upper_bound_bq: float | None = None
    limit_bq: float | None = None
    comparator: str | None = None
    required_detection_bq: float | None = None
    detected: bool | None = None
    watch: bool = False
    needs_acceptance: bool = False
    efficiency_basis: str | None = None
    efficiency_per_decay: float | None = None
    relative_uncertainty_of_factor: float | None = None
    net_rate_per_s: float | None = None
    net_rate_uncertainty_per_s: float | None = None
    gross_counts: int | None = None
    gross_seconds: float | None = None
    background_counts: int | None = None
    background_seconds: float | None = None
    best_estimate_bq: float | None = None
    coverage_low_bq: float | None = None
    coverage_high_bq: float | None = None
    mdc_nureg_1507_bq: float | None = None
    z_background: float | None = None
    low_counts: bool | None = None
    least_activity_bq: float | None = None
    act_as_on_a_leak: bool | None = False
    formula_version: str = FORMULA_VERSION
