"""What Thornmere asks of itself, under the British rules as its adviser has adopted them, and the
checks that answer it."""

from __future__ import annotations

from inventory.schedule.pieces import Taken
from reports.demo.story import THE_SITE
from reports.demo.told_checks import (
    Adopted,
    Done,
    Happened,
    OwnRow,
    Round,
    Setting,
    entered_by,
    monthly,
)

ADVISER = "Alix Counsell, radiation protection adviser"
REPORT = "Intervals at Thornmere (invented)"
BEGUN = (Taken("gb", 1),)
#: What the site goes by; the other requirements of the template are not taken yet.
TAKEN = (
    Taken(
        "gb",
        2,
        (
            *("leak_test", "accounting_check", "working_life", "shutter_check", "label_check"),
            *("calibration", "store_check", "local_rules_review", "contingency_rehearsal"),
            *("permit_validity", "appointment", "training"),
        ),
    ),
)


def _row(row: str, requirement: str, item: int, **said: object) -> OwnRow:
    """A row on the word of the adviser's report."""
    because = str(said.pop("because", ""))
    data = {
        **{"id": row, "requirement": requirement, "authority": "adviser"},
        **{"document": REPORT, "clause": f"adviser's report, item {item}", "known_by": "own"},
    }
    return OwnRow(data | said, because)


_ADOPTED = 340  # days ago
ADOPTED = Adopted(
    drafted=352,
    days_ago=_ADOPTED,
    by=ADVISER,
    taken=TAKEN,
    rows=(
        # Stricter than the template, which names no number: nobody has to say why.
        _row("shutter.default", "shutter_check", 1, months=6),
        _row("label.default", "label_check", 2, months=12),
        _row("store.default", "store_check", 3, months=3, lead_days=14),
        _row("training.default", "training", 4, months=36, lead_days=60),
        _row("local_rules.default", "local_rules_review", 5, months=12),
        _row("rehearsal.default", "contingency_rehearsal", 6, months=12),
        # Looser: with the reason, who decided it and when.
        _row(
            *("leak.stored", "leak_test", 7),
            result="on_hold",
            when={"keeping": "stored"},
            seen_months=3,
            because="Locked store, nobody handles them; the accounting check sees each of them.",
        ),
        _row(
            *("leak.after_storage", "leak_test", 8),
            result="entry",
            entry="after_storage",
            mode="adds",
            stored_months=1,
            note="Tested before it is used again.",
        ),
        _row(
            *("accounting.away", "accounting_check", 9),
            result="not_required",
            when={"whereabouts": "away"},
            because="Whoever has it has said that it arrived and accounts for it.",
        ),
    ),
    review_in=390,
    note="Gone through with the adviser, row by row.",
)

SETTINGS = (
    # Fumes of the recovery area: its shutter sticks.
    Setting("LG-421", "shutter_check", "adviser", 330, 3, REPORT, "adviser's report, item 10"),
    # The maker's label asks more often than the schedule does.
    Setting("DG-306", "leak_test", "label", 300, 12, "Plate on the housing", "maker's label"),
)

_DENSITY = (*(f"DG-30{n}" for n in range(1, 7)), *(f"DG-32{n}" for n in range(1, 5)))
_LEVEL = (*(f"LG-40{n}" for n in range(1, 9)), "LG-421")
_SCANNERS = ("BW-201", "BW-202", "BW-203", "BW-110", "BW-111", "AS-501")
_GAUGES = (*_DENSITY, *_LEVEL, *_SCANNERS)
#: The last round of shutters left these out: they are late today.
_STUCK_BEHIND = ("LG-408", "DG-323")
_ROUND = tuple(name for name in _GAUGES if name not in _STUCK_BEHIND)

#: Months of rounds; the tenth came a fortnight late.
_MONTHS = monthly(12, 14, late={9: 15})
#: A crate stands before the shelf since then: nobody has seen this source.
_BEHIND_CRATE = 160
_NOT_IN_DRAWER = _MONTHS[6]
_ENTERED = entered_by(_MONTHS[:6], 3) | entered_by(_MONTHS[7:], 3)

ROUNDS = (
    *(
        Round(
            days_ago,
            left_out=("TBM-0188",) if days_ago < _BEHIND_CRATE else (),
            not_seen=(("TBM-0904", "not in its drawer"),) if days_ago == _NOT_IN_DRAWER else (),
            remark="A crate stands before the lower shelf." if days_ago < _BEHIND_CRATE else "",
            entered=_ENTERED.get(days_ago),
        )
        for days_ago in _MONTHS
    ),
    Round(_NOT_IN_DRAWER - 3, remark="Counted again after one was not seen."),
)

DONE = (
    # From paper, on the day on which the schedule asked for them.
    *(Done("shutter_check", days_ago, _GAUGES, entered=_ADOPTED) for days_ago in (860, 690, 500)),
    Done("label_check", 700, _GAUGES, entered=_ADOPTED),
    Done("shutter_check", 310, _GAUGES),
    Done("shutter_check", 198, ("DG-305",), remark="After the blow: opens and closes freely."),
    Done("shutter_check", 120, _ROUND),
    *(Done("shutter_check", days_ago, ("LG-421",)) for days_ago in (225, 76)),
    Done("label_check", 345, _SCANNERS),
    Done("label_check", 270, (*_DENSITY, *_LEVEL)),
    *(Done("store_check", days_ago, ("Source store",)) for days_ago in (335, 248, 160, 74)),
    Done("local_rules_review", 300, (THE_SITE,), document="Local rules, issue 7"),
    Done("contingency_rehearsal", 402, (THE_SITE,), remark="Lost source, out of hours."),
    # An assessment has extended the working life of one source that is past it.
    Done(
        *("working_life", 330, ("TBM-0301",)),
        valid_in=400,
        document="Assessment TBM-0301/1 of the adviser",
        by=ADVISER,
    ),
)

HAPPENED = (
    Happened(
        *("DG-305", "damage", 200, ("TBM-0305",)),
        "Struck by a lift truck; plate bent, shutter closed and locked at once.",
    ),
)
