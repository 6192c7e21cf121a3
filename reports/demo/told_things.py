"""Things of a demo site as plain data: places, gauges, sources, monitors, permits, people.

Days are counted back from the day on which the demo is loaded.
"""

from __future__ import annotations

from dataclasses import dataclass

#: The history of the sites begins so many days before the demo day: four years and a little.
BEGINS = 1500
FIRST_RECEIVED = BEGINS - 20
#: Years from the making of a source to the end of its working life, where its maker states any.
STATED_LIFE = 15


@dataclass(frozen=True, slots=True)
class Place:
    """A location; ``kind`` as ``LocationKind``."""

    name: str
    kind: str = "plant_area"
    within: str = ""


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge, the place it stands at, and whom to ask before its shutter is closed."""

    tag: str
    place: str
    ask: str
    model: str = ""
    device_kind: str = ""
    portable: bool = False


@dataclass(frozen=True, slots=True)
class Source:
    """A source; ``to`` is its gauge or place. ``life``: years of working life that its maker
    states; ``owner``: it visits, for ``stays`` days from the demo day, with the leak test of its
    certificate, made ``tested`` days ago."""

    nuclide: str
    activity: str
    model: str
    serial: str
    to: str
    reference: int  # days ago
    received: int = FIRST_RECEIVED
    precision: str = "day"
    serial_unknown_because: str = ""
    name: str = ""  # what the story calls it; its serial unless said
    use: str = "gauge"
    life: int = 0
    keeping: str = "in_use"
    owner: str = ""
    stays: int = 0
    tested: int = 0

    @property
    def key(self) -> str:
        """What the story calls it."""
        return self.name or self.serial


@dataclass(frozen=True, slots=True)
class Monitor:
    """A monitor with the days of its calibrations; efficiencies as a certificate states them."""

    tag: str
    kind: str
    place: str
    calibrated: tuple[int, ...]
    efficiencies: tuple[tuple[object, ...], ...] = ()
    failed: tuple[int, ...] = ()  # days of calibrations that found it out of tolerance


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing moved: to a place, or to somebody; expected in ``back_in`` days from today."""

    item: str
    verb: str
    days_ago: int
    to: str = ""
    away_to: str = ""
    back_in: int | None = None
    keeping: str = "in_use"
    purpose: str = ""
    document: str = ""
    authorisation: str = ""


@dataclass(frozen=True, slots=True)
class Document:
    """A file kept with a thing."""

    item: str
    title: str
    name: str
    text: str
    days_ago: int


@dataclass(frozen=True, slots=True)
class Permit:
    """A permit; ``ends_in`` days from the demo day."""

    number: str
    issued_by: str
    began: int
    ends_in: int
    conditions: str = ""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody with a duty; ``appointed`` (days ago), ``until_in`` (days from the demo day) and the
    days of trainings."""

    name: str
    duty: str
    appointed: int
    until_in: int
    trained: tuple[int, ...] = ()
