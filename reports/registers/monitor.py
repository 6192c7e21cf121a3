"""The register of monitors: what was there on a day, and what its calibration said."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc import due, stays
from inventory.calc.asof import AsOf
from inventory.ledger import body as bodies
from inventory.ledger.models import ItemKind, Record, sort_key
from inventory.requirements.wording import state_sentence
from inventory.rules.schema import CALIBRATION
from inventory.sentences import day_text, number_text, value_text
from reports.registers import columns
from reports.registers.base import Column, Register
from reports.registers.evidence import correction, newest, newest_text
from reports.registers.frame import Content, framed, known_of
from reports.registers.late import Places, known_later, places, where
from reports.registers.source import not_listed, states_text
from surveys.monitors.models import Basis, MonitorKind

KIND = "monitor"
Texts = Mapping[int, Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One monitor on the day: what the register prints of it, and its footnote."""

    code: str
    monitor: str
    maker: str
    model: str
    serial: str
    kind: str
    where: str
    last: str
    calibrated_on: date | None
    outcome: str
    record: int | None
    certificate: str
    laboratory: str
    valid_until: date | None
    in_force: int | None
    efficiencies: str
    state: str
    sentence: str
    due_on: date | None
    remarks: tuple[str, ...]
    mark: str = ""

    @property
    def name(self) -> str:
        """What the footnote calls it."""
        return self.monitor

    @property
    def made(self) -> str:
        """Tag, and below it maker, model, serial."""
        made = " ".join(part for part in (self.maker, self.model) if part)
        serial = self.serial and _("serial %(serial)s") % {"serial": self.serial}
        return "\n".join(part for part in (self.monitor, made, serial) if part)

    @property
    def papers(self) -> str:
        """Certificate and laboratory of the last calibration."""
        return "\n".join(part for part in (self.certificate, self.laboratory) if part)

    @property
    def efficiencies_from(self) -> str:
        """Efficiencies in force, and from which record where that is not the last one."""
        if self.in_force is None:
            return _("none: no calibration holds")
        said = self.efficiencies or _("none stated")
        if self.in_force == self.record:
            return said
        return _("from record %(seq)s:") % {"seq": self.in_force} + "\n" + said


def build(site: Site, at: AsOf, *, made_by: User, made_at: datetime) -> Register:
    """The register of a site as of a day, complete."""
    rows: list[Row] = []
    taken_off: list[str] = []
    for known in known_of(site, at, ItemKind.MONITOR):
        here = [one for one in known if stays.at(one.stays, at.on)]
        there, texts = places(here, at), _texts(here, at.on)
        rows += [_row(one, site, at, there, texts) for one in here]
        gone = [one for one in known if not stays.at(one.stays, at.on)]
        taken_off += not_listed(gone, site, at.on)
    rows.sort(key=lambda row: (sort_key(row.monitor), row.code))
    content = Content(columns=layout(), rows=rows, totals=_totals(rows, at.on), more=taken_off)
    title = _("Register of monitors and calibrations")
    return framed(KIND, title, site, at, content, made_by, made_at)


def _in_force(one: knowledge.Known, on: date) -> due.Event | None:
    """The newest calibration that holds on the day: its efficiencies are used."""
    good = [event for event in one.events if event.kind == CALIBRATION and event.clears_on(on)]
    return max(good, key=lambda event: event.order, default=None)


def _texts(known: Sequence[knowledge.Known], on: date) -> Texts:
    """The texts of the calibrations that are printed, in one query."""
    wanted = [find for one in known for find in (newest(one, CALIBRATION, on), _in_force(one, on))]
    found = Record.objects.filter(pk__in={event.record for event in wanted if event})
    return {pk: json.loads(text) for pk, text in found.values_list("pk", "body")}


def _row(one: knowledge.Known, site: Site, at: AsOf, there: Places, texts: Texts) -> Row:
    data = one.snapshot_on(at.on)
    last, holds = newest(one, CALIBRATION, at.on), _in_force(one, at.on)
    detail = texts[last.record]["detail"] if last else {}
    decision = knowledge.decide_on(one, CALIBRATION, at.on).value
    remarks = (correction(one, last), known_later(one, site, at.on, there))
    return Row(
        code=one.item.code,
        monitor=data["label"],
        maker=data.get("maker", ""),
        model=data.get("model", ""),
        serial=data.get("serial", ""),
        kind=_word(MonitorKind, data.get("monitor_kind", "")),
        where=where(one, at.on, there),
        last=newest_text(last, at.on),
        calibrated_on=last.on if last else None,
        outcome=value_text("outcome", last.outcome) if last else "",
        record=last.seq if last else None,
        certificate=detail.get("certificate", ""),
        laboratory=detail.get("laboratory", ""),
        valid_until=bodies.day(detail.get("valid_until")),
        in_force=holds.seq if holds else None,
        efficiencies="\n".join(_efficiencies(texts[holds.record])) if holds else "",
        state=decision.state_on(at.on),
        sentence=state_sentence(decision, at.on),
        due_on=decision.due_on,
        remarks=tuple(text for text in remarks if text),
    )


def _word(choices: Any, code: str) -> str:
    """The word for a code; a code that nobody knows yet stands for itself."""
    return str(dict(choices.choices).get(code, code))


def _efficiencies(text: Mapping[str, Any]) -> Iterator[str]:
    """Cs-137: 0.31 counts per decay ± 10 % (k = 1)."""
    for point in text["points"]:
        values = {
            "nuclide": point["nuclide"],
            "efficiency": number_text(float(point["efficiency"])),
            "basis": _word(Basis, point["basis"]),
        }
        said = _("%(nuclide)s: %(efficiency)s %(basis)s") % values
        if point["u_rel"] is None:
            yield _("%(said)s, uncertainty not stated") % {"said": said}
        else:
            u = number_text(100 * float(point["u_rel"]))
            yield _("%(said)s ±\u00a0%(u)s\u00a0%% (k\u00a0=\u00a01)") % {"said": said, "u": u}


def _totals(rows: Sequence[Row], on: date) -> Iterator[str]:
    count = ngettext("%(n)s monitor on %(on)s.", "%(n)s monitors on %(on)s.", len(rows))
    yield count % {"n": len(rows), "on": day_text(on)}
    if said := states_text([row.state for row in rows]):
        yield _("Calibration: %(states)s.") % {"states": said}


def layout() -> tuple[Column, ...]:
    """The columns."""
    return (
        columns.code("code", _("Code"), 1.05),
        columns.text("made", _("Monitor"), 1.8, only="people"),
        columns.text("monitor", _("Monitor"), only="programs"),
        columns.text("maker", _("Maker"), only="programs"),
        columns.text("model", _("Model"), only="programs"),
        columns.text("serial", _("Serial"), only="programs"),
        columns.text("kind", _("Kind"), 1.2),
        columns.text("where", _("Where"), 1.7),
        columns.text("last", _("Last calibration"), 1.8),
        columns.day("calibrated_on", _("Calibrated on"), only="programs"),
        columns.text("outcome", _("Outcome"), only="programs"),
        columns.number("record", _("Record"), only="programs"),
        columns.text("papers", _("Certificate, laboratory"), 1.8, only="people"),
        columns.text("certificate", _("Certificate"), only="programs"),
        columns.text("laboratory", _("Laboratory"), only="programs"),
        columns.day("valid_until", _("Valid until"), 1.15),
        columns.text("efficiencies_from", _("Efficiencies in force"), 3.1, only="people"),
        columns.number("in_force", _("Efficiencies from record"), only="programs"),
        columns.text("efficiencies", _("Efficiencies in force"), joined="; ", only="programs"),
        columns.state("state", _("Calibration"), 1.5),
        columns.day("due_on", _("Due on"), only="programs"),
    )
