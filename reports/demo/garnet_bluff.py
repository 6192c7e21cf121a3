"""Garnet Bluff Potash, invented: what is planned there, what is done about what is not there, and
everything of the site together."""

from __future__ import annotations

from reports.demo import garnet_bluff_checks as checks
from reports.demo import garnet_bluff_things as things
from reports.demo import garnet_bluff_wipes as wipes
from reports.demo.story import DemoSite
from reports.demo.told_plans import Booked, Steps

STEPS = (
    Steps(
        "GBP-902",
        12,
        (
            ("Search workshop, locker and store; ask everybody who has a key", "T Brook", 12),
            ("Ask the contractor who calibrated DR-11 on site", "R Ashdown", 9),
            ("Decide whether it is reported as missing", "R Ashdown", None),
        ),
    ),
)

SITE = DemoSite(
    slug="garnet-bluff",
    name="Garnet Bluff Potash",
    address="Section Road 9, Garnet Bluff",
    time_zone="America/Regina",
    rules=checks.RULES,
    places=things.PLACES,
    gauges=things.GAUGES,
    sources=things.SOURCES,
    monitors=things.MONITORS,
    permits=things.PERMITS,
    persons=things.PERSONS,
    moved=things.MOVED,
    laboratories=wipes.LABORATORIES,
    sent=wipes.SENT,
    declared=wipes.DECLARED,
    settings=checks.SETTINGS,
    confirmed=checks.CONFIRMED,
    rounds=checks.ROUNDS,
    done=checks.DONE,
    booked=(Booked("GBP-121", "leak_test", 21, "own staff", "MWO 300412", 4),),
    steps=STEPS,
    method="dry filter paper, tongs",
)
