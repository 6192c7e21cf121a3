"""What the demo's sources are described as: the certificate's figures, what rules ask for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.calc.dates import add_months
from inventory.calc.units import parse_activity
from inventory.items.actions import SourceText
from reports.demo.told_things import Source


def source_snapshot(source: Source, reference: date) -> Mapping[str, Any]:
    """The description of a source whose activity is stated for a day."""
    activity = parse_activity(source.activity)
    by_year = source.precision == "year"
    if by_year:
        reference = date(reference.year, 12, 31)
    return SourceText(
        nuclide=source.nuclide,
        maker="Invented Sources",
        model=source.model,
        serial=source.serial,
        serial_unknown_because=source.serial_unknown_because,
        activity_text=activity.text,
        activity_bq=Decimal(activity.decimal),
        reference_text=str(reference.year) if by_year else reference.isoformat(),
        reference_on=reference,
        reference_precision=source.precision,
        use=source.use,
        **_life(source, reference),
    ).snapshot()


def _life(source: Source, reference: date) -> dict[str, Any]:
    """Where the maker states a working life, the certificate says when the source was made too."""
    if not source.life:
        return {}
    return {
        "made_text": reference.isoformat(),
        "made_on": reference,
        "made_precision": "day",
        "working_life_until": add_months(reference, 12 * source.life),
    }
