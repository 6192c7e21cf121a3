"""The wipes of a demo site as plain data: counted here, sent away, merely declared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


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
class Corrected:
    """The wipe of a source on a day was written down wrongly."""

    source: str
    days_ago: int
    gross: int
    because: str
    found: int  # days ago


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
