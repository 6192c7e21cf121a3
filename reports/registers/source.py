"""The register of sealed sources: what was there on a day, where, how active, proven tight."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.open_points import open_points
from inventory.calc.units import format_activity
from inventory.followups.wording import opened_text
from inventory.items.source import activity_on, category_on
from inventory.ledger.models import ItemKind, sort_key
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import ACCOUNTING, ACCUSED_BY, LEAK_TEST
from inventory.sentences import SENTENCES, day_text, fill, value_text
from reports.registers import columns
from reports.registers.base import Cell, Column, Register
from reports.registers.evidence import correction, newest, newest_text
from reports.registers.frame import Content, framed, known_of
from reports.registers.late import (
    Places,
    known_later,
    label,
    late_entries,
    later_sentence,
    places,
    where,
)

KIND = "source"
#: Records after which it is not known to be where it should be.
NOT_SEEN = (ACCOUNTING, *ACCUSED_BY[ACCOUNTING])
#: The longest text that is not broken.
SHORT = 12


@dataclass(frozen=True, slots=True)
class Row:
    """One source on the day: what the register prints of it, and its footnote."""

    code: str
    order: str
    source: str
    nuclide: str
    stated: str
    reference_on: date | None
    reference_text: str
    activity_bq: float | None
    category: str
    where: str
    last_wipe: str
    state: str
    sentence: str
    remarks: tuple[str, ...]
    mark: str = ""

    @property
    def name(self) -> str:
        """What the footnote calls it."""
        return f"{self.nuclide} {self.source.splitlines()[0]}"


def build(site: Site, at: AsOf, *, made_by: User, made_at: datetime) -> Register:
    """The register of a site as of a day, complete."""
    rows, taken_off = _collect(site, at)
    rows.sort(key=lambda row: (row.order, row.code))
    content = Content(columns=layout(), rows=rows, totals=_totals(rows, at.on), more=taken_off)
    return framed(KIND, _("Register of sealed sources"), site, at, content, made_by, made_at)


def _collect(site: Site, at: AsOf) -> tuple[list[Row], list[str]]:
    """The sources there at the end of the day; and what to say of those that somebody learnt
    later were not there."""
    rows: list[Row] = []
    taken_off: list[str] = []
    for known in known_of(site, at, ItemKind.SOURCE):
        here = [one for one in known if stays.at(one.stays, at.on)]
        gone = [one for one in known if not stays.at(one.stays, at.on)]
        there = places(here, at)
        rows += [_row(one, site, at, there) for one in here]
        taken_off += not_listed(gone, site, at.on)
    return rows, taken_off


def not_listed(gone: Sequence[knowledge.Known], site: Site, on: date) -> Iterator[str]:
    """What was not there after all, and how that became known."""
    for one in gone:
        if late := later_sentence(late_entries(one, site, on, kinds=stays.VERBS)):
            values = {"item": label(one, on), "late": late}
            yield _("%(item)s is not listed. %(late)s") % values


def _row(one: knowledge.Known, site: Site, at: AsOf, there: Places) -> Row:
    data, nuclide = one.snapshot_on(at.on), one.nuclide_on(at.on)
    activity = activity_on(data, nuclide, at.on).value
    decision = knowledge.decide_on(one, LEAK_TEST, at.on).value
    wipe = newest(one, LEAK_TEST, at.on)
    serial = data["serial"] or _("serial not known")
    remarks = (
        *(not_seen_text(one, at.on), open_text(one, at.on)),
        *(correction(one, wipe), known_later(one, site, at.on, there)),
    )
    return Row(
        code=one.item.code,
        order=sort_key(f"{data['nuclide']} {data['serial']}"),
        source="\n".join(part for part in (serial, _made(data)) if part),
        nuclide=data["nuclide"],
        stated=_stated(data["activity_text"]),
        reference_on=date.fromisoformat(data["reference_on"]) if data["reference_on"] else None,
        reference_text="" if data["reference_precision"] == "day" else data["reference_text"],
        activity_bq=activity,
        category=_category(category_on(nuclide, activity)),
        where=_where(one, at.on, there),
        last_wipe=newest_text(wipe, at.on),
        state=decision.state_on(at.on),
        sentence=state_sentence(decision, at.on),
        remarks=tuple(text for text in remarks if text),
    )


def _where(one: knowledge.Known, on: date, there: Places) -> str:
    """Where it is by the records; and, where a check did not find it, that it may not be."""
    checks = [point for point in _not_seen(one, on) if point.kind == ACCOUNTING]
    if not checks:
        return where(one, on, there)
    values = {"where": where(one, on, there), "on": day_text(checks[-1].opened_on)}
    return _("%(where)s; not found on %(on)s") % values


def _not_seen(one: knowledge.Known, on: date) -> list[due.OpenPoint]:
    return [point for point in one.follow_ups if point.kind in NOT_SEEN and point.open_on(on)]


def not_seen_text(one: knowledge.Known, on: date) -> str:
    """What says that a source may not be where the register has it: every report of that kind that
    nobody had closed by the day."""
    points = _not_seen(one, on)
    return " ".join(opened_text(point.kind, point.opened_on, point.seq) for point in points)


def open_text(one: knowledge.Known, on: date) -> str:
    """The open points of a source as sentences."""
    known = one.nuclide_on(on) is not None
    points = open_points(one.snapshot_on(on), one.events, on, nuclide_known=known)
    return " ".join(fill(step.code, step.values, SENTENCES) for step in points)


def _stated(text: str) -> str:
    """A figure stays with its unit."""
    said = text or _("not known")
    return said.replace(" ", "\u00a0") if len(said) <= SHORT else said


def _made(data: Any) -> str:
    return " ".join(part for part in (data["maker"], data["model"]) if part)


def _category(found: Any) -> str:
    if found is None:
        return _("not known")
    return _("none") if found.value is None else str(found.value)


def _totals(rows: Sequence[Row], on: date) -> Iterator[str]:
    count = ngettext("%(n)s source on %(on)s.", "%(n)s sources on %(on)s.", len(rows))
    yield count % {"n": len(rows), "on": day_text(on)}
    if said := states_text([row.state for row in rows]):
        yield _("Leak test: %(states)s.") % {"states": said}
    sums = [
        _total_of(nuclide, [row for row in rows if row.nuclide == nuclide])
        for nuclide in sorted({row.nuclide for row in rows}, key=sort_key)
    ]
    if sums:
        yield _("Activity on the day: %(sums)s.") % {"sums": "; ".join(sums)}


def states_text(states: Sequence[str]) -> str:
    """How many are in each state, most urgent first: late 2, good 14."""
    counts: dict[str, int] = defaultdict(int)
    for state in states:
        counts[state] += 1
    found = [state for state in due.URGENCY if counts[state]]
    return ", ".join(f"{value_text('state', state)} {counts[state]}" for state in found)


def _total_of(nuclide: str, rows: Sequence[Row]) -> str:
    known = [row.activity_bq for row in rows if row.activity_bq is not None]
    values = {"nuclide": nuclide, "n": len(rows), "sum": format_activity(math.fsum(known))}
    if not known:
        return _("%(nuclide)s (%(n)s) not known") % values
    if len(known) < len(rows):
        return _("%(nuclide)s (%(n)s) at least %(sum)s, not every activity is known") % values
    return _("%(nuclide)s (%(n)s) %(sum)s") % values


def _reference(row: Row) -> Cell:
    """The day used; below it what was stated, where that was no day."""
    if row.reference_on is None:
        return Cell(_("not known"), raw="")
    said = day_text(row.reference_on)
    if row.reference_text:
        said += "\n" + _("(stated: %(text)s)") % {"text": row.reference_text}
    return Cell(said, raw=row.reference_on.isoformat())


def layout() -> tuple[Column, ...]:
    """The columns."""
    return (
        columns.code("code", _("Code"), 1.1),
        columns.text("source", _("Source"), 2.0),
        columns.text("nuclide", _("Nuclide"), 1.1),
        columns.text("stated", _("As stated"), 1.1),
        Column("reference", _("Reference date"), _reference, kind="date", width=1.3),
        columns.text("reference_text", _("Reference date as stated"), only="programs"),
        columns.activity("activity_bq", _("On the day"), 1.1, unknown=_("not known")),
        columns.text("category", _("Category"), 0.9),
        columns.text("where", _("Where"), 2.2),
        columns.text("last_wipe", _("Last wipe"), 1.9),
        columns.state("leak_test", _("Leak test"), 1.7),
    )
