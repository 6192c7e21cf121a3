"""Some records about a subject in order, asked for many days: each answer is a piece of a list."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date

from inventory.calc.due.facts import Event


class Records:
    """Records in order (``Event.order``)."""

    def __init__(self, events: Sequence[Event]) -> None:
        self.events = events
        self._days = [event.on for event in events]
        self._clearing = [event for event in events if event.clears]
        self._clearing_days = [event.on for event in self._clearing]
        #: Whether any of them counts only from a later day on, that of its acceptance.
        self._later = any(event.accepted_on for event in self._clearing)
        self._against = [event for event in events if event.tells_against]
        self._against_days = [event.on for event in self._against]

    def by(self, day: date) -> Sequence[Event]:
        """Those of the day and before."""
        return self.events[: bisect_right(self._days, day)]

    def clearing(self, day: date) -> list[Event]:
        """Those that clear on the day (``Event.clears_on``)."""
        found = self._clearing[: bisect_right(self._clearing_days, day)]
        return [event for event in found if event.clears_on(day)] if self._later else found

    def unanswered(self, day: date) -> list[Event]:
        """The failures and accusations by the day that no pass came after for certain."""
        against = self._against[: bisect_right(self._against_days, day)]
        against = [event for event in against if event.tells_against_on(day)]
        passes = self.clearing(day) if against else []
        return [event for event in against if not any(one.surely_after(event) for one in passes)]
