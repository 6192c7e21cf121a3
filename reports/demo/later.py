"""What becomes of the demo's things: monitors are calibrated, things move."""

from __future__ import annotations

from datetime import datetime

from inventory.custody.actions import Movement, move
from reports.demo.telling import Act, SiteStory
from reports.demo.told_things import Moved
from surveys.monitors.actions import Certificate, record_calibration
from surveys.monitors.in_force import Efficiency


def gather(story: SiteStory) -> None:
    """Every calibration and every movement."""
    for monitor in story.told.monitors:
        days = sorted((*monitor.calibrated, *monitor.failed), reverse=True)
        for number, days_ago in enumerate(days, 1):
            certificate = Certificate(
                on=story.day(days_ago),
                passed=days_ago not in monitor.failed,
                certificate=f"{monitor.tag}/{number}",
                laboratory="Invented Calibration Laboratory",
                efficiencies=[Efficiency(*row) for row in monitor.efficiencies],  # type: ignore[arg-type]
            )
            story.at(days_ago - 3, _calibrated(story, monitor.tag, certificate))
    for moved in story.told.moved:
        story.at(moved.days_ago, _moved(story, moved))


def _calibrated(story: SiteStory, tag: str, certificate: Certificate) -> Act:
    def act(at: datetime) -> None:
        record_calibration(story.items[tag], certificate, by=story.supervisor, at=at, accepted=True)

    return act


def _moved(story: SiteStory, moved: Moved) -> Act:
    def act(at: datetime) -> None:
        movement = Movement(
            moved.verb,
            story.items[moved.item],
            story.items[moved.to] if moved.to else None,
            story.day(moved.days_ago),
            keeping=moved.keeping,
            away_to=moved.away_to,
            expected_on=None if moved.back_in is None else story.day(-moved.back_in),
            purpose=moved.purpose,
            document=moved.document,
            authorisation=moved.authorisation,
        )
        move(movement, by=story.supervisor, at=at)

    return act
