"""What the people of a demo site planned, could not do, and did about what failed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Booked:
    """Somebody has it booked; ``in_days`` from the demo day."""

    subject: str
    requirement: str
    in_days: int
    with_whom: str
    work_order: str
    days_ago: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shutdown:
    """A planned shutdown of a place (empty: of the whole site), days counted from the demo day."""

    name: str
    place: str
    begins_in: int
    ends_in: int
    days_ago: int
    remark: str = ""


@dataclass(frozen=True, slots=True)
class NotDone:
    """It was tried and not done."""

    subject: str
    requirement: str
    days_ago: int
    because: str
    meanwhile: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """The follow-up of a failure: text, who, days ago done (None: open); ``closed`` (days ago)
    because of ``reason``."""

    subject: str
    days_ago: int
    steps: tuple[tuple[str, str, int | None], ...]
    closed: int | None = None
    reason: str = ""
