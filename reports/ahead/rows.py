"""The rows of the document: one for each thing, under the heading of its part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext_lazy

from inventory.calc import ahead
from inventory.requirements.wording import booking_text
from inventory.sentences import day_text
from inventory.shutdowns.wording import days_text, overlap_text, shutdown_text
from reports.ahead import other_words, stop_words, words
from reports.ahead.read import Ahead, Stop

MONTHS, SHUTDOWNS, COVER, YEARS = "months", "shutdowns", "monitor_cover", "years"
PARTS = {
    MONTHS: gettext_lazy("The coming year"),
    SHUTDOWNS: gettext_lazy("Planned shutdowns"),
    COVER: gettext_lazy("Monitor cover"),
    YEARS: gettext_lazy("Ten years"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the document."""

    part: str
    heading: str
    when: str = ""
    first_on: date | None = None
    last_on: date | None = None
    code: str = ""
    subject: str = ""
    where: str = ""
    work: str = ""
    state: str = ""
    sentence: str = ""
    booked: str = ""
    count: int | None = None
    remarks: tuple[str, ...] = ()
    mark: str = ""

    @property
    def name(self) -> str:
        """What a footnote would call it."""
        return self.subject

    @property
    def subject_where(self) -> str:
        """What it is, and where."""
        return "\n".join(part for part in (self.subject, self.where) if part)


def rows_of(found: Ahead) -> Iterator[Row]:
    """Every row, part after part."""
    for month in words.together(found.months):
        yield from _month(found, month)
    for stop in found.stops:
        yield from _stop(found, stop)
    for one in found.cover:
        yield from _cover(found, one)
    for year in found.years.years:
        yield from _year(found, year)


def _heading(part: str, text: str) -> str:
    return f"{PARTS[part]}: {text}"


def _month(found: Ahead, month: ahead.Month) -> Iterator[Row]:
    title = words.month_title(month)
    if month.rounds:
        title = f"{title} ({words.month_summary(month)})"
    shared: dict[str, Any] = {"part": MONTHS, "heading": _heading(MONTHS, title)}
    if not month.rounds:
        yield Row(**shared, sentence=words.month_summary(month))
    for one in month.rounds:
        for need in one.needs:
            yield Row(**shared, **_need(found, need), count=1)
        if one.needs and one.projected:
            places = [(found.names.label(one.place), one.projected)]
            yield _projected(found, month, shared, one.requirement, places)
    for requirement, _n, places in words.projected_only(month, found.names):
        yield _projected(found, month, shared, requirement, places)


def _projected(
    found: Ahead,
    month: ahead.Month,
    shared: dict[str, Any],
    requirement: str,
    places: list[tuple[str, int]],
) -> Row:
    n = sum(count for _place, count in places)
    return Row(
        **shared,
        first_on=month.first,
        last_on=month.last,
        work=found.kinds.word(requirement),
        where=words.places_text(places),
        sentence=words.projected_text(n),
        count=n,
    )


def _need(found: Ahead, need: ahead.Need) -> dict[str, Any]:
    booking = found.bookings.get(need.key)
    return {
        **_thing(found, need.item),
        "when": day_text(need.due_on) if need.due_on else "",
        "first_on": need.due_on,
        "work": found.kinds.word(need.requirement),
        "state": need.state,
        "sentence": words.need_text(need, found.asked.on),
        "booked": booking_text(booking, found.asked.on) if booking else "",
    }


def _thing(found: Ahead, item: int) -> dict[str, Any]:
    thing = found.names.things[item]
    return {"code": thing.code, "subject": thing.label, "where": found.names.where(item)}


def _stop(found: Ahead, stop: Stop) -> Iterator[Row]:
    said = f"{shutdown_text(stop.shutdown)} ({stop_words.stop_summary(stop.verdicts)})"
    shared: dict[str, Any] = {"part": SHUTDOWNS, "heading": _heading(SHUTDOWNS, said)}
    short = stop_words.short_by_kind(stop.verdicts, found.kinds)
    for sentence in filter(None, (overlap_text(stop.overlaps), short)):
        yield Row(**shared, sentence=sentence)
    if not stop.verdicts and not stop.overlaps:
        yield Row(**shared, sentence=stop_words.stop_summary(()))
    for one in stop.verdicts:
        need = _need(found, one.need) | {
            "state": stop_words.verdict_state(one),
            "sentence": stop_words.verdict_text(one, found.asked.on),
        }
        yield Row(**shared, **need)


def _cover(found: Ahead, one: ahead.Cover) -> Iterator[Row]:
    shared: dict[str, Any] = {
        "part": COVER,
        "heading": _heading(COVER, other_words.measures(one.what)),
    }
    for first, last in one.gaps:
        yield Row(
            **shared,
            when=days_text(first, last),
            first_on=first,
            last_on=last,
            state="falls_short",
            sentence=other_words.gap_text(one.what, (first, last)),
        )
    if not one.gaps:
        yield Row(**shared, state="reached", sentence=other_words.no_gap_text(found.end))
    for monitor in one.monitors:
        booking = found.calibrations.get(monitor)
        if booking:
            said = booking_text(booking, found.asked.on)
            yield Row(**shared, **_thing(found, monitor), booked=said)


def _year(found: Ahead, year: ahead.Year) -> Iterator[Row]:
    title = other_words.year_title(year, found.asked.on)
    for ending in year.endings:
        yield Row(
            part=YEARS,
            heading=_heading(YEARS, title),
            when=day_text(ending.on),
            first_on=ending.on,
            **_thing(found, ending.item),
            sentence=other_words.ending_text(ending),
        )
