"""What a rule set may say: frozen data, a closed table of conditions, no expressions.

Conditions of one row are joined by AND; OR is a second row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.calc.explain import Cite, Scalar
from inventory.calc.stays import AT_LOCATION, IN_GAUGE

LEAK_TEST, CALIBRATION = "leak_test", "calibration"
#: The requirements there are: kind of subject, kind of record that can satisfy it.
REQUIREMENTS: dict[str, tuple[str, str]] = {
    LEAK_TEST: ("source", "leak_test"),
    CALIBRATION: ("monitor", "calibration"),
}
#: The kind of record after which the result that satisfies a requirement is awaited.
AWAITED_AFTER: dict[str, str] = {LEAK_TEST: "wipe_sent"}
#: Traits that a condition may ask for, and the type of its value.
CONDITIONS: dict[str, type] = {
    "gas": bool,
    "alpha_emitter": bool,
    "neutron_source": bool,
    "whereabouts": str,
    "monitor_kind": str,
}
#: What a trait can be, where that is a closed list: a misspelt value would hold for nothing.
VALUES: dict[str, tuple[str, ...]] = {
    "whereabouts": (IN_GAUGE, AT_LOCATION),
    "monitor_kind": ("wipe_counter", "contamination", "dose_rate"),
}
#: Units in which a rule set may want results of wipe tests, as ``calc.units`` spells them.
RESULT_UNITS = ("Bq", "kBq", "uCi", "nCi", "pCi", "dpm")
RESULTS = ("interval", "undecided", "not_required")
MODES = ("default", "replaces", "adds")


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a rule set for one requirement."""

    id: str
    requirement: str
    result: str
    months: int | None
    lead_days: int
    mode: str
    when: tuple[tuple[str, Scalar], ...]
    cite: Cite
    note: str = ""

    def applies(self, traits: Mapping[str, Scalar]) -> bool:
        """Whether every condition holds. A trait that is not known holds for nothing."""
        return all(traits.get(name) == wanted for name, wanted in self.when)


@dataclass(frozen=True, slots=True)
class LimitRow:
    """The limit of a wipe test: activity on the wipe, comparator, required detection limit."""

    bq: float
    comparator: str
    required_detection_bq: float
    action_fraction: float
    cite: Cite
    unit: str = "Bq"  # in which the register must state results; one of RESULT_UNITS


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A released version of a rule set; ``sha256`` is that of its file."""

    id: str
    version: int
    title: str
    sha256: str
    rows: tuple[Row, ...]
    leak_limit: LimitRow

    @property
    def name(self) -> str:
        """How documents name it."""
        return f"{self.title}, version {self.version}"

    def rows_for(self, requirement: str) -> tuple[Row, ...]:
        """The rows of one requirement, in the order of the file."""
        return tuple(row for row in self.rows if row.requirement == requirement)
