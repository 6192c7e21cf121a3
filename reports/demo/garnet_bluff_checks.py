"""What is asked at Garnet Bluff under the Canadian rules, which nobody has adopted yet, and the
checks that answer it."""

from __future__ import annotations

from inventory.schedule.pieces import Taken
from reports.demo.told_checks import Confirmed, Done, Round, Setting, entered_by, monthly

#: Canada names no interval for accounting checks: until the licence's is entered, the British one.
RULES = (
    Taken(
        "ca",
        1,
        (
            *("leak_test", "shutter_check", "calibration", "working_life"),
            *("permit_validity", "appointment"),
        ),
    ),
    Taken("gb", 2, ("accounting_check",)),
)

_SLURRY = tuple(f"SD-10{n}" for n in range(1, 5))
_LABEL = "Plate on the housing"
#: Of the other gauges nobody has decided how often their shutters are checked.
SETTINGS = tuple(
    Setting(tag, "shutter_check", "label", 420, 6, _LABEL, "maker's label") for tag in _SLURRY
)

CONFIRMED = (
    Confirmed(
        *("GBP-310", "leak_test", 150),
        "Below 50 MBq by the certificate; stays on the register, label and shutter stay in force.",
    ),
)

_MONTHS = monthly(12, 14)
_ENTERED = entered_by(_MONTHS, 3)
_PORTABLE_DAYS = range(4, -1, -1)
#: Out at a job its custodian counts it there; today's count has not come yet.
_ON_THE_JOB = ("GBP-C-2", "GBP-N-2")

ROUNDS = (
    *(Round(days_ago, entered=_ENTERED.get(days_ago)) for days_ago in _MONTHS[:-1]),
    Round(
        _MONTHS[-1],
        not_seen=(("GBP-902", "drawer empty"),),
        remark="The rest of the workshop was searched the same day.",
    ),
    *(
        Round(days_ago, only_portable=True, left_out=() if days_ago else _ON_THE_JOB)
        for days_ago in _PORTABLE_DAYS
    ),
)

_OTHERS = (*(f"SD-12{n}" for n in range(1, 4)), *(f"BWG-20{n}" for n in range(1, 6)))
DONE = (
    Done("accounting_check", 6, ("VIS-7731",), remark="On arrival, with its owner."),
    *(
        Done("shutter_check", days_ago, (*_SLURRY, *_OTHERS), entered=min(days_ago, 385))
        for days_ago in (560, 385, 205)
    ),
    # One of the slurry gauges was left out of the last round: it is late today.
    Done("shutter_check", 20, (*_SLURRY[:-1], *_OTHERS)),
)
