"""Where a thing is, in words: the same on pages, in registers and in files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Protocol

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inventory.calc.moves import AWAY, IN_TRANSIT, IN_USE, LOST, NOT_HERE, WENT_OUT
from inventory.sentences import day_text, value_text


class Placed(Protocol):
    """A stay, as the calculation or the database has it."""

    @property
    def from_on(self) -> date:
        """Its first day."""

    @property
    def whereabouts(self) -> str:
        """One of ``moves.WHEREABOUTS``."""

    @property
    def keeping(self) -> str:
        """One of ``moves.KEEPINGS``."""

    @property
    def away_to(self) -> str:
        """Who has it, or at which job it is."""


def place_text(stay: Placed, names: Sequence[str | None]) -> str:
    """Where it is: ``G-1, Mill``; ``G-1, out at River bridge since 3 May 2026``; ``Store, in
    storage``. ``names``: what its gauge and its place are called."""
    return ", ".join([*(name for name in names if name), *about(stay)])


def about(stay: Placed) -> Iterator[str]:
    """What is to be said beside the names of gauge and place; nothing of a thing in use at its
    place."""
    if stay.whereabouts in NOT_HERE:
        yield not_here(stay)
    elif stay.keeping != IN_USE:
        yield value_text("keeping", stay.keeping)


def not_here(stay: Placed) -> str:
    """Where it is while it is not at a place of this site, and since when."""
    values = {"whom": stay.away_to, "on": day_text(stay.from_on)}
    said = {
        WENT_OUT: (_("out at %(whom)s since %(on)s"), _("out since %(on)s")),
        IN_TRANSIT: (
            _("sent to %(whom)s on %(on)s, arrival not confirmed"),
            _("sent away on %(on)s, arrival not confirmed"),
        ),
        AWAY: (_("away at %(whom)s since %(on)s"), _("away since %(on)s")),
        LOST: (_("missing since %(on)s"), _("missing since %(on)s")),
    }
    named, unnamed = said[stay.whereabouts]
    return (named if stay.away_to else unnamed) % values


def past_text(expected: date, on: date, *, visiting: bool) -> str:
    """What is past the day on which it was expected, and by how much."""
    said = (
        _("was to leave on %(expected)s, %(late)s")
        if visiting
        else _("expected back on %(expected)s, %(late)s")
    )
    return said % {"expected": day_text(expected), "late": late_by(expected, on)}


def late_by(expected: date, on: date) -> str:
    """How late it is; empty where it is not."""
    days = (on - expected).days
    return ngettext("%(n)s day late", "%(n)s days late", days) % {"n": days} if days > 0 else ""


def past_count_text(n: int) -> str:
    """How many things are past their day."""
    return ngettext(
        "%(n)s thing is past the day on which it was expected.",
        "%(n)s things are past the day on which they were expected.",
        n,
    ) % {"n": n}


def movement_lines(detail: Mapping[str, Any], names: Sequence[str]) -> Iterator[str]:
    """What a movement says, as sentences for a time line. ``names``: of gauge and location."""
    if names:
        kept = detail.get("keeping", IN_USE)
        words = [*names, *([value_text("keeping", kept)] if kept != IN_USE else [])]
        yield ", ".join(words) + "."
    if detail.get("away_to"):
        yield f"{detail['away_to']}."
    if detail["supplier"]:
        yield _("From %(supplier)s.") % {"supplier": detail["supplier"]}
    if detail.get("owner"):
        yield _("Visits; belongs to %(owner)s.") % {"owner": detail["owner"]}
    if detail.get("purpose"):
        yield f"{detail['purpose'].rstrip('.')}."
    if detail.get("expected_on"):
        on = {"on": day_text(date.fromisoformat(detail["expected_on"]))}
        yield (_("Until %(on)s.") if detail.get("owner") else _("Expected back on %(on)s.")) % on


def said_of_a_movement(detail: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What the page of a movement's record lists besides: term and text."""
    yield _("Authorisation"), detail.get("authorisation", "")
    yield _("Document"), detail.get("document", "")
