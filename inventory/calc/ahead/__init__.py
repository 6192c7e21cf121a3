"""The work that lies ahead: months, planned shutdowns, monitor cover, ten years.

Plain values in and out; what is said of them is made where it is shown.
"""

from inventory.calc.ahead.cover import Cover, Days, cover, in_date
from inventory.calc.ahead.months import Month, Round, months_ahead, projected
from inventory.calc.ahead.needs import ONE_DAY, UNDATED, Interval, Need, Span, needs, window_end
from inventory.calc.ahead.shutdowns import (
    FALLS_SHORT,
    NO_DATE,
    REACHED,
    TAKE_ALONG,
    VERDICTS,
    Shutdown,
    Verdict,
    held_against,
    overlapping,
    verdict,
)
from inventory.calc.ahead.years import Ending, Year, by_year, levels_ahead

__all__ = [
    "FALLS_SHORT",
    "NO_DATE",
    "ONE_DAY",
    "REACHED",
    "TAKE_ALONG",
    "UNDATED",
    "VERDICTS",
    "Cover",
    "Days",
    "Ending",
    "Interval",
    "Month",
    "Need",
    "Round",
    "Shutdown",
    "Span",
    "Verdict",
    "Year",
    "by_year",
    "cover",
    "held_against",
    "in_date",
    "levels_ahead",
    "months_ahead",
    "needs",
    "overlapping",
    "projected",
    "verdict",
    "window_end",
]
