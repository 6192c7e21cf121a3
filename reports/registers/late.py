"""What was entered or corrected after the day of a register, and the footnotes that say so."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Protocol, TypeVar

from django.utils.translation import gettext as _

from config.accounts.models import Site
from inventory import knowledge
from inventory.calc import stays
from inventory.calc.asof import AsOf
from inventory.custody.wording import place_text
from inventory.sentences import day_text, value_text
from reports.registers.base import Note

Places = Mapping[int, knowledge.Known]


class Remarked(Protocol):
    """A row of a register that may need a footnote; every one is a dataclass."""

    @property
    def name(self) -> str:
        """What the footnote calls it."""

    @property
    def remarks(self) -> Sequence[str]:
        """The sentences of the footnote."""


R = TypeVar("R", bound=Remarked)


def marked(rows: Sequence[R], more: Sequence[str] = ()) -> tuple[list[R], tuple[Note, ...]]:
    """The rows with their marks, and the footnotes: those of the rows, then what concerns none."""
    out: list[R] = []
    notes: list[Note] = []
    for row in rows:
        mark = str(len(notes) + 1) if row.remarks else ""
        if mark:
            notes.append(Note(mark, f"{row.name}: {' '.join(row.remarks)}"))
        changes: Any = {"mark": mark}
        out.append(replace(row, **changes) if mark else row)  # type: ignore[type-var]
    start = len(notes) + 1
    notes += [Note(str(place), text) for place, text in enumerate(more, start)]
    return out, tuple(notes)


def places(known: Sequence[knowledge.Known], at: AsOf) -> dict[int, knowledge.Known]:
    """The gauges and locations in which things were on the day."""
    return places_of([stays.at(one.stays, at.on) for one in known], at)


def places_of(found: Sequence[stays.StaySpan | None], at: AsOf) -> dict[int, knowledge.Known]:
    """The gauges and locations of these stays."""
    return knowledge.load(
        {key for stay in found if stay for key in (stay.gauge, stay.location) if key}, at.known
    )


def where(one: knowledge.Known, on: date, there: Places) -> str:
    """Where a thing was on a day, as the gauge and the place were called then."""
    stay = stays.at(one.stays, on)
    if stay is None:
        return _("not on site") if one.item.kind in knowledge.MOVING else ""
    text = place_text(stay, [label(place, on) for place in around(one, on, there)])
    return ", ".join((text, _("visiting"))) if stay.visiting else text


def label(one: knowledge.Known, on: date) -> str:
    """What a thing was called on a day."""
    called: str = one.snapshot_on(on).get("label", one.item.label)
    return called


def known_later(one: knowledge.Known, site: Site, on: date, there: Places) -> str:
    """A sentence about everything learnt after the day: about the thing, and about the gauge and
    the place that it was in. Nothing when there is nothing."""
    return later_sentence(_with_places(one, site, on, there))


def later_sentence(entries: Iterator[str]) -> str:
    """Known later: one entry; another."""
    found = "; ".join(entries)
    return _("Known later: %(late)s.") % {"late": found} if found else ""


def _with_places(one: knowledge.Known, site: Site, on: date, there: Places) -> Iterator[str]:
    yield from late_entries(one, site, on)
    for place in around(one, on, there):
        yield from late_entries(place, site, on, untold=first_described(place))


def around(one: knowledge.Known, on: date, there: Places) -> list[knowledge.Known]:
    """The gauge and the place that a thing was in on a day."""
    stay = stays.at(one.stays, on)
    return [there[key] for key in (stay.gauge, stay.location) if key] if stay else []


def first_described(one: knowledge.Known) -> list[int]:
    """The record that made it known. Whatever concerns it was entered after that."""
    return [found.record for found in one.all_described[:1]]


def late_entries(
    one: knowledge.Known,
    site: Site,
    on: date,
    *,
    kinds: Collection[str] = (),
    records: Collection[int] = (),
    untold: Collection[int] = (),
    until: date | None = None,
) -> Iterator[str]:
    """What was entered or corrected after the day and concerns it: the register says so.

    ``kinds``, ``records``: of these only; ``untold``: records whose late entry changed nothing;
    ``until``: of what happened by this earlier day.
    """
    replaced = {old: new for new, old in one.corrections.items()}
    events = [(event.on, event.record, event.seq, event.kind) for event in one.events]
    described = [(found.on, found.record, found.seq, "described") for found in one.all_described]
    for effective, record, seq, kind in sorted({*events, *described}):
        if effective > (until or on) or (kinds and kind not in kinds):
            continue
        if records and record not in records:
            continue
        values = {"seq": seq, "kind": value_text("kind", kind), "on": day_text(effective)}
        recorded = site.day(one.recorded[record])
        if recorded > on and record not in untold:
            values["recorded"] = day_text(recorded)
            yield _("record %(seq)s (%(kind)s of %(on)s) was entered on %(recorded)s") % values
        newer = replaced.get(record)
        if newer and site.day(one.recorded[newer]) > on:
            values["recorded"] = day_text(site.day(one.recorded[newer]))
            yield _("record %(seq)s (%(kind)s of %(on)s) was corrected on %(recorded)s") % values
