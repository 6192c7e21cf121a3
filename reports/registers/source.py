"""The register of sealed sources: what was there on a day, where, how active, proven tight."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.access import schedule_text
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.calc.open_points import open_points
from inventory.calc.units import format_activity
from inventory.items.source import activity_on, category_on
from inventory.ledger.models import Chain, Item, ItemKind, sort_key
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import LEAK_TEST
from inventory.sentences import SENTENCES, day_text, fill, value_text
from reports.registers.base import CHUNK, Cell, Column, ListRows, Note, Register
from reports.registers.cautions import cautions

KIND = "source"


@dataclass(frozen=True, slots=True)
class Row:
    """One source on the day: what the register prints of it, and its footnote marks."""

    code: str
    order: str
    source: str
    nuclide: str
    stated: str
    reference: str
    activity_bq: float | None
    category: str
    where: str
    last_wipe: str
    state: str
    sentence: str
    open_points: str
    correction: str
    late: str
    mark: str = ""


def build(site: Site, at: AsOf, *, made_by: User, made_at: datetime) -> Register:
    """The register of a site as of a day, complete."""
    chain, _made = Chain.objects.get_or_create(site=site)
    rows, taken_off = _collect(site, at)
    rows, notes = _marked(sorted(rows, key=lambda row: (row.order, row.code)))
    schedule, about_schedule = _schedule(site, at)
    return Register(
        kind=KIND,
        title=_("Register of sealed sources"),
        site_name=site.name,
        site_address=site.address,
        at=at,
        schedule_line=schedule,
        made_at=made_at,
        made_by=made_by.name,
        number=_number(site, at, chain.length),
        chain_head=chain.head,
        chain_seq=chain.length,
        columns=_columns(),
        rows=ListRows(rows),
        zone=ZoneInfo(site.time_zone),
        notes=_numbered(notes, [*taken_off, *about_schedule]),
        totals=tuple(_totals(rows, at.on)),
        cautions=cautions(),
    )


def _number(site: Site, at: AsOf, seq: int) -> str:
    """What the document is called: site, kind, day, last record, and what was known."""
    known = f"-known-{site.day(at.known):%Y%m%d}" if at.known else ""
    return f"{site.slug}-{KIND}-{at.on:%Y%m%d}-{seq}{known}"


def _collect(site: Site, at: AsOf) -> tuple[list[Row], list[str]]:
    """The sources there at the end of the day, a fixed number of queries per chunk; and what to
    say of those that somebody learnt later were not there."""
    keys = list(Item.objects.filter(site=site, kind=ItemKind.SOURCE).values_list("pk", flat=True))
    rows: list[Row] = []
    taken_off: list[str] = []
    for start in range(0, len(keys), CHUNK):
        known = knowledge.load(keys[start : start + CHUNK], at.known).values()
        here = [one for one in known if stays.at(one.stays, at.on)]
        gone = [one for one in known if not stays.at(one.stays, at.on)]
        places = _places(here, at)
        rows += [_row(one, site, at, places) for one in here]
        taken_off += [
            _("%(source)s is not listed. Known later: %(late)s.")
            % {"source": one.snapshot_on(at.on).get("label", one.item.label), "late": late}
            for one in gone
            if (late := "; ".join(late_entries(one, site, at.on, kinds=stays.VERBS)))
        ]
    return rows, taken_off


def _schedule(site: Site, at: AsOf) -> tuple[str, list[str]]:
    """The line of the schedule in force on the day, and what became known of it later."""
    item = Item.objects.get(site=site, kind=ItemKind.SITE)
    one = knowledge.load([item.pk], at.known)[item.pk]
    late = "; ".join(late_entries(one, site, at.on, kinds=(knowledge.SCHEDULE_KIND,)))
    notes = [_("Schedule. Known later: %(late)s.") % {"late": late}] if late else []
    return schedule_text(one.facts().schedule_on(at.on)), notes


def _places(known: Sequence[knowledge.Known], at: AsOf) -> dict[int, knowledge.Known]:
    """The gauges and locations in which the sources were on the day."""
    found = [stays.at(one.stays, at.on) for one in known]
    return knowledge.load(
        {key for stay in found if stay for key in (stay.gauge, stay.location) if key}, at.known
    )


def _row(one: knowledge.Known, site: Site, at: AsOf, places: dict[int, knowledge.Known]) -> Row:
    data, nuclide = one.snapshot_on(at.on), one.nuclide_on(at.on)
    activity = activity_on(data, nuclide, at.on).value
    category = category_on(nuclide, activity)
    decision = knowledge.decide_on(one, LEAK_TEST, at.on).value
    points = open_points(data, one.events, at.on, nuclide_known=nuclide is not None)
    serial = data["serial"] or _("serial not known")
    return Row(
        code=one.item.code,
        order=sort_key(f"{data['nuclide']} {data['serial']}"),
        source="\n".join(part for part in (serial, _made(data)) if part),
        nuclide=data["nuclide"],
        stated=data["activity_text"] or _("not known"),
        reference=_reference(data),
        activity_bq=activity,
        category=_category(category),
        where=_where(one, at.on, places),
        last_wipe=last_wipe(one, at.on),
        state=decision.state_on(at.on),
        sentence=state_sentence(decision, at.on),
        open_points=" ".join(fill(step.code, step.values, SENTENCES) for step in points),
        correction=correction(one, at.on),
        late="; ".join(_late(one, site, at.on, places)),
    )


def _made(data: Any) -> str:
    return " ".join(part for part in (data["maker"], data["model"]) if part)


def _reference(data: Any) -> str:
    if not data["reference_on"]:
        return _("not known")
    day = day_text(date.fromisoformat(data["reference_on"]))
    if data["reference_precision"] == "day":
        return day
    return _("%(day)s (stated: %(text)s)") % {"day": day, "text": data["reference_text"]}


def _category(found: Any) -> str:
    if found is None:
        return _("not known")
    return _("none") if found.value is None else str(found.value)


def _where(one: knowledge.Known, on: date, places: dict[int, knowledge.Known]) -> str:
    stay = stays.at(one.stays, on)
    assert stay is not None
    there = [places[key] for key in (stay.gauge, stay.location) if key]
    return ", ".join(one.snapshot_on(on).get("label", one.item.label) for one in there)


def newest_wipe(one: knowledge.Known, on: date) -> due.Event | None:
    """The newest wipe by a day that was not corrected away."""
    past = [
        event
        for event in one.events
        if event.kind == LEAK_TEST and event.outcome and event.live and event.on <= on
    ]
    return max(past, key=lambda event: event.order, default=None)


def last_wipe(one: knowledge.Known, on: date) -> str:
    """Day, outcome and number of the newest wipe, and what keeps it from being relied on."""
    event = newest_wipe(one, on)
    if event is None:
        return _("none recorded")
    said = value_text("outcome", event.outcome)
    if not event.fit:
        why = {"why": value_text("because", event.unfit_because), "said": said}
        relied = _("%(said)s, though %(why)s") if event.accuses else _("not relied on: %(why)s")
        said = relied % why
    elif event.outcome == "pass" and not event.clears_on(on):
        said = _("entered, not accepted")
    values = {"on": day_text(event.on), "said": said, "seq": event.seq}
    return _("%(on)s: %(said)s (record %(seq)s)") % values


def correction(one: knowledge.Known, on: date) -> str:
    """What the newest wipe corrects, and why."""
    event = newest_wipe(one, on)
    old = one.corrections.get(event.record) if event else None
    wrong = next((each for each in one.events if each.record == old), None)
    if event is None or wrong is None:
        return ""
    values = {"seq": event.seq, "old": wrong.seq, "why": one.reasons[event.record].rstrip(" .")}
    return _("Record %(seq)s corrects record %(old)s: %(why)s.") % values


def _late(
    one: knowledge.Known, site: Site, on: date, places: dict[int, knowledge.Known]
) -> Iterator[str]:
    """Late entries about the source, and about the gauge and the place that it was in."""
    yield from late_entries(one, site, on)
    stay = stays.at(one.stays, on)
    for key in (stay.gauge, stay.location) if stay else ():
        if key:
            place = places[key]
            # Whatever went there was entered after the place was described for the first time.
            first = [found.record for found in place.all_described[:1]]
            yield from late_entries(place, site, on, untold=first)


def late_entries(
    one: knowledge.Known,
    site: Site,
    on: date,
    *,
    kinds: Collection[str] = (),
    untold: Collection[int] = (),
) -> Iterator[str]:
    """What was entered or corrected after the day and concerns it: the register says so.

    ``kinds``: of these kinds only; ``untold``: records whose late entry changed nothing.
    """
    replaced = {old: new for new, old in one.corrections.items()}
    events = [(event.on, event.record, event.seq, event.kind) for event in one.events]
    described = [(found.on, found.record, found.seq, "described") for found in one.all_described]
    for effective, record, seq, kind in sorted({*events, *described}):
        if effective > on or (kinds and kind not in kinds):
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


def _marked(rows: Sequence[Row]) -> tuple[list[Row], tuple[Note, ...]]:
    """Footnotes: what was entered late, and the open points of a source."""
    marked: list[Row] = []
    notes: list[Note] = []
    for row in rows:
        said = [text for text in (row.open_points, row.correction) if text]
        if row.late:
            said.append(_("Known later: %(late)s.") % {"late": row.late})
        mark = str(len(notes) + 1) if said else ""
        if said:
            notes.append(
                Note(mark, f"{row.nuclide} {row.source.splitlines()[0]}: {' '.join(said)}")
            )
        marked.append(replace(row, mark=mark))
    return marked, tuple(notes)


def _numbered(notes: Sequence[Note], more: Sequence[str]) -> tuple[Note, ...]:
    """The footnotes, then what is said of no row."""
    start = len(notes) + 1
    return (*notes, *(Note(str(place), text) for place, text in enumerate(more, start)))


def _totals(rows: Sequence[Row], on: date) -> Iterator[str]:
    count = ngettext("%(n)s source on %(on)s.", "%(n)s sources on %(on)s.", len(rows))
    yield count % {"n": len(rows), "on": day_text(on)}
    states: dict[str, int] = defaultdict(int)
    for row in rows:
        states[row.state] += 1
    said = [
        f"{value_text('state', state)} {states[state]}" for state in due.URGENCY if states[state]
    ]
    if said:
        yield _("Leak test: %(states)s.") % {"states": ", ".join(said)}
    sums = [
        _total_of(nuclide, [row for row in rows if row.nuclide == nuclide])
        for nuclide in sorted({row.nuclide for row in rows}, key=sort_key)
    ]
    if sums:
        yield _("Activity on the day: %(sums)s.") % {"sums": "; ".join(sums)}


def _total_of(nuclide: str, rows: Sequence[Row]) -> str:
    known = [row.activity_bq for row in rows if row.activity_bq is not None]
    values = {"nuclide": nuclide, "n": len(rows), "sum": format_activity(math.fsum(known))}
    if not known:
        return _("%(nuclide)s (%(n)s) not known") % values
    if len(known) < len(rows):
        return _("%(nuclide)s (%(n)s) at least %(sum)s, not every activity is known") % values
    return _("%(nuclide)s (%(n)s) %(sum)s") % values


def _source_cell(row: Row) -> Cell:
    return Cell(row.source, raw=row.source.replace("\n", ", "))


def _columns() -> tuple[Column, ...]:
    return (
        Column("code", _("Code"), lambda row: Cell(row.code, mark=row.mark), width=1.1),
        Column("source", _("Source"), _source_cell, width=2.0),
        Column("nuclide", _("Nuclide"), lambda row: Cell(row.nuclide), width=1.1),
        Column("stated", _("As stated"), lambda row: Cell(row.stated), width=1.1),
        Column("reference", _("Reference date"), lambda row: Cell(row.reference), width=1.3),
        Column(
            "activity",
            _("On the day"),
            lambda row: Cell(
                _("not known") if row.activity_bq is None else format_activity(row.activity_bq),
                raw="" if row.activity_bq is None else repr(row.activity_bq),
            ),
            raw_unit="Bq",
            kind="number",
            width=1.1,
        ),
        Column("category", _("Category"), lambda row: Cell(row.category), width=0.9),
        Column("where", _("Where"), lambda row: Cell(row.where), width=2.2),
        Column("last_wipe", _("Last wipe"), lambda row: Cell(row.last_wipe), width=1.9),
        Column(
            "leak_test",
            _("Leak test"),
            lambda row: Cell(row.sentence, state=row.state),
            kind="state",
            width=1.7,
        ),
    )
