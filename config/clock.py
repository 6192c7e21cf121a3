"""The one clock. Views and commands ask it; everything below them gets time as an argument."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def now() -> datetime:
    """This moment, aware, in UTC."""
    return datetime.now(UTC)


def day_at(moment: datetime, zone: str) -> date:
    """The calendar day of a moment in a site's time zone."""
    return moment.astimezone(ZoneInfo(zone)).date()


def today(zone: str) -> date:
    """The calendar day it is now in a site's time zone."""
    return day_at(now(), zone)
