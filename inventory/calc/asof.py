"""Which day is asked about, and what was known then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True)
class AsOf:
    """``on``: the day asked about, at its end, in the site's time zone.

    ``known``: only records recorded at or before this moment count; None means everything that
    is known now. Made in views and commands only: nothing below them reads a clock.
    """

    on: date
    known: datetime | None = None

    def sees(self, recorded_at: datetime) -> bool:
        """Whether a record made at ``recorded_at`` is part of this knowledge."""
        return self.known is None or recorded_at <= self.known
