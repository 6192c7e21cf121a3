"""What a calibration or a function check of a monitor must show."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.calc.explain import Cite
from inventory.rules.conditions import Answer
from inventory.rules.schema import MonitorRow, Wanted
from inventory.rules.tolerance import asked, within
from inventory.sentences import lines

CITE = Cite("Invented rules", "clause 3", known_by="own")


def row(percent: float = 20, comparator: str = "at_most", **fields: Any) -> MonitorRow:
    values = {"id": f"tolerance.{percent}", "applies_to": "calibration", "cite": CITE}
    return MonitorRow(
        **(values | {"tolerance_percent": percent, "comparator": comparator} | fields)
    )


@pytest.mark.parametrize(
    ("comparator", "error", "kept"),
    [
        ("at_most", 20, True),
        ("at_most", -20, True),
        ("at_most", 20.1, False),
        ("at_most", -20.1, False),
        ("at_most", 0, True),
        ("below", 19.9, True),
        ("below", 20, False),
        ("below", -20, False),
        # A sum of floats that misses 20 by its last place is 20.
        ("at_most", 20.000000000000004, True),
    ],
)
def test_the_edge(comparator, error, kept):
    said = within(row(comparator=comparator), error)
    assert said.value is kept
    (line,) = lines(said.steps)
    assert "%" in line.text and "%(" not in line.text
    assert said.steps[0].cite == CITE


def unknown(name: str, wanted: Wanted) -> Answer:
    return None


def never(name: str, wanted: Wanted) -> Answer:
    return False


def test_the_narrowest_that_holds():
    rows = [row(30), row(20, when=(("use", "medical"),)), row(10, applies_to="function_check")]
    assert asked(rows, "calibration", never) == rows[0]
    # Not known whether it is for that use: the narrower one.
    assert asked(rows, "calibration", unknown) == rows[1]
    assert asked([row(20), row(20, "below")], "calibration", never) == row(20, "below")
    assert asked(rows[:2], "function_check", unknown) is None
