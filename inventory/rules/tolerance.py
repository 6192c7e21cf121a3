"""What a calibration or a function check of a monitor must show."""

from __future__ import annotations

from collections.abc import Iterable

from inventory.calc.explain import Explained, Scalar, Step
from inventory.rules.conditions import Ask, compare
from inventory.rules.schema import Bound, MonitorRow


def asked(rows: Iterable[MonitorRow], applies_to: str, ask: Ask) -> MonitorRow | None:
    """The narrowest tolerance that holds for a ``calibration`` or a ``function_check``, None where
    the rule set is silent. A condition that is not known is taken as holding. Of two alike *below*
    is the narrower."""
    holding = [
        row
        for row in rows
        if row.applies_to == applies_to
        and all(ask(name, wanted) is not False for name, wanted in row.when)
    ]
    return min(
        holding, key=lambda row: (row.tolerance_percent, row.comparator != "below"), default=None
    )


def within(row: MonitorRow, error_percent: float) -> Explained[bool]:
    """Whether an error (indicated less true, in per cent of the true value) is within a row's
    tolerance, too low as well as too high; equal within 1e-9 is equal."""
    size = abs(error_percent)
    holds = compare(size, Bound(row.comparator, row.tolerance_percent))
    values: dict[str, Scalar] = {
        "row": row.id,
        "error_percent": error_percent,
        "tolerance_percent": row.tolerance_percent,
        "note": row.note,
    }
    code = "tolerance_kept" if holds else "tolerance_passed"
    return Explained(holds, (Step(code, values, row.cite),))
