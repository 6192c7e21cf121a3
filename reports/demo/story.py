"""What a demo site is made of: plain data, days counted back from the day it is loaded.

Whatever is told this way always shows the same picture. Nothing and nobody in it is real.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

#: username, first name, last name, role: the same four people on every site of the demo.
PEOPLE = (
    ("supervisor", "Rowan", "Ashdown", "rps"),
    ("technician", "Tally", "Brook", "technician"),
    ("manager", "Marlow", "Reed", "manager"),
    ("inspector", "Isla", "Fenwick", "inspector"),
)
#: The history of the sites begins so many days before the demo day: four years and a little.
BEGINS = 1500


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


@dataclass(frozen=True, slots=True)
class Source:
    """A source; ``to`` is its gauge or place."""

    nuclide: str
    activity: str
    model: str
    serial: str
    to: str
    reference: int  # days ago
    received: int = BEGINS - 20
    precision: str = "day"
    serial_unknown_because: str = ""
    name: str = ""  # what the story calls it; its serial unless said

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
class Count:
    """One wipe of a counting session: the sources it covers and its gross counts."""

    sources: tuple[str, ...]
    gross: int
    seconds: float = 600.0
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Session:
    """A batch counted here with one background."""

    days_ago: int
    counter: str
    counts: tuple[Count, ...]
    background: int = 389
    background_seconds: float = 600.0
    accepted: bool = True
    check_source: tuple[str, int, float] | None = None  # serial, counts, seconds


@dataclass(frozen=True, slots=True)
class Laboratory:
    """A laboratory with the detection limits that it states, by nuclide."""

    name: str
    authorisation: str
    limits: tuple[tuple[str, str], ...]
    valid_for: int = 400  # days from the demo day


@dataclass(frozen=True, slots=True)
class Sent:
    """A batch of wipes sent to a laboratory; ``reported``: days ago of its report, None: it is
    still awaited. ``results``: source -> what the report says (``< 5 Bq``, ``3.2 ± 0.8 Bq``)."""

    days_ago: int
    laboratory: str
    sources: tuple[str, ...]
    chase_after: int = 28
    reported: int | None = None
    results: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Declared:
    """A result that only says that it passed, entered and not accepted unless ``because``."""

    sources: tuple[str, ...]
    days_ago: int
    by: str
    document: str
    entered_after: int = 10
    because: str = ""


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
class NotDone:
    """It was tried and not done."""

    subject: str
    requirement: str
    days_ago: int
    because: str
    meanwhile: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """The follow-up of a source's failure: text, who, days ago done (None: open)."""

    subject: str
    days_ago: int
    steps: tuple[tuple[str, str, int | None], ...]


@dataclass(frozen=True, slots=True)
class Corrected:
    """The wipe of a source on a day was written down wrongly."""

    source: str
    days_ago: int
    gross: int
    because: str
    found: int  # days ago


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing moved: to a place, or to a job and back in so many days from today."""

    item: str
    verb: str
    days_ago: int
    to: str = ""
    away_to: str = ""
    back_in: int | None = None


@dataclass(frozen=True, slots=True)
class Document:
    """A file kept with a thing."""

    item: str
    title: str
    name: str
    text: str
    days_ago: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoSite:
    """One site of the demo."""

    slug: str
    name: str
    address: str
    time_zone: str
    rules: tuple[str, int]
    places: Sequence[Place]
    gauges: Sequence[Gauge]
    sources: Sequence[Source]
    monitors: Sequence[Monitor]
    sessions: Sequence[Session] = ()
    laboratories: Sequence[Laboratory] = ()
    sent: Sequence[Sent] = ()
    declared: Sequence[Declared] = ()
    booked: Sequence[Booked] = ()
    not_done: Sequence[NotDone] = ()
    steps: Sequence[Steps] = ()
    corrected: Sequence[Corrected] = ()
    moved: Sequence[Moved] = ()
    documents: Sequence[Document] = ()
    supplier: str = "Invented Sources"
    method: str = "moist paper, plastic tongs"
    counts: dict[str, int] = field(default_factory=dict)


def in_batches(
    days_ago: int,
    counter: str,
    sources: Sequence[str],
    *,
    background: int = 389,
    size: int = 12,
) -> tuple[Session, ...]:
    """A round over many sources as counting sessions of consecutive days; every wipe is clean, its
    counts lying about the background by no more than chance."""
    out = []
    for number, start in enumerate(range(0, len(sources), size)):
        batch = sources[start : start + size]
        counts = tuple(
            Count((name,), background + (days_ago * 7 + place * 13) % 37 - 16)
            for place, name in enumerate(batch)
        )
        out.append(Session(days_ago - number, counter, counts, background))
    return tuple(out)
