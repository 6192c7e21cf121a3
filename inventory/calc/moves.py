"""Movements: their verbs, where a thing can be after one, and how it can be kept there."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from datetime import time as time_of_day

OPEN_END = date(9999, 12, 31)
RECEIVED, INSTALLED, REMOVED, MOVED, STORED = (
    *("received", "installed", "removed"),
    *("moved", "stored"),
)
OUT, BACK, SENT_AWAY, ARRIVED, RETURNED = "out", "back", "sent_away", "arrived", "returned"
TRANSFERRED, DISPOSED, MISSING, FOUND, LEFT = (
    *("transferred", "disposed", "missing"),
    *("found", "left"),
)
VERBS = (
    *(RECEIVED, INSTALLED, REMOVED, MOVED, STORED),
    *(OUT, BACK, SENT_AWAY, ARRIVED, RETURNED),
    *(TRANSFERRED, DISPOSED, MISSING, FOUND, LEFT),
)
#: After these it is at a location: the one that is named, or the one that it went from.
TO_LOCATION = (RECEIVED, REMOVED, MOVED, STORED, BACK, RETURNED, FOUND)
#: After these it belongs to this site no longer.
FOR_GOOD = (TRANSFERRED, DISPOSED, LEFT)

#: Whereabouts a stay can have. Out: at a job and coming back; away: with somebody else.
IN_GAUGE, AT_LOCATION = "in_gauge", "at_location"
WENT_OUT, IN_TRANSIT, AWAY, LOST = "out", "in_transit", "away", "missing"
WHEREABOUTS = (AT_LOCATION, IN_GAUGE, WENT_OUT, IN_TRANSIT, AWAY, LOST)
#: Whereabouts of a gauge that hold for what is inside it too.
NOT_HERE = (WENT_OUT, IN_TRANSIT, AWAY, LOST)
#: How a thing is kept: in use; in storage; idle but ready; in the maker's shipping container.
IN_USE, IN_STORAGE, STANDBY, PACKED = "in_use", "stored", "standby", "packed"
KEEPINGS = (IN_USE, IN_STORAGE, STANDBY, PACKED)


@dataclass(frozen=True, slots=True)
class Move:
    """One movement: to a gauge or to a location (identifiers, the other is None); some verbs name
    neither."""

    on: date
    time: time_of_day | None
    seq: int
    verb: str
    gauge: int | None = None
    location: int | None = None
    place: int = 0  # the number of the record that it corrects
    keeping: str = IN_USE
    away_to: str = ""  # job site, consignee
    visiting: bool = False  # received from somebody who will take it away again
    record: int = 0
    expected_on: date | None = None  # back here, or the end of the visit, as was said then

    @property
    def order(self) -> tuple[date, time_of_day, int]:
        """Order within a day is the time if given, else the order of recording; a correction
        takes the place of what it corrects. An arrival without a time comes before whatever
        else happened that day, timed or not."""
        untimed = time_of_day.min if self.verb == RECEIVED else time_of_day.max
        return (self.on, self.time or untimed, self.place or self.seq)
