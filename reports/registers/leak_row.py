"""One line of the register of leak tests, made from the record's own text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from inventory import knowledge
from inventory.calc import due, stays
from inventory.ledger import body as bodies
from inventory.sentences import day_text, value_text
from reports.registers.evidence import correction
from reports.registers.late import (
    around,
    first_described,
    label,
    late_entries,
    later_sentence,
    where,
)
from reports.registers.leak_read import Told, recorded_on
from surveys.leak import wording
from surveys.leak.models import SENT_KIND
from surveys.sentences import SENTENCES

FIGURES = (
    *("activity_bq", "standard_uncertainty_bq", "decision_threshold_bq"),
    *("detection_limit_bq", "upper_bound_bq", "limit_bq"),
)
#: Records that say what a thing is called and where it was.
NAMED_AND_PLACED = (bodies.DESCRIBED, *stays.VERBS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The result of one wipe for one source: what the register prints, and its footnote."""

    record: int
    wiped_on: date
    code: str
    source: str
    where: str
    nuclide: str = ""
    way: str
    stated: tuple[str, ...] = ()
    activity_bq: float | None = None
    standard_uncertainty_bq: float | None = None
    decision_threshold_bq: float | None = None
    detection_limit_bq: float | None = None
    upper_bound_bq: float | None = None
    limit_bq: float | None = None
    comparator: str = ""
    outcome: str
    state: str
    sentence: str
    relied: str
    accepted_by: str = ""
    accepted_on: date | None = None
    sampled_by: str = ""
    counted_by: str = ""
    counted_on: date | None = None
    laboratory: str = ""
    report: str = ""
    reported_on: date | None = None
    declared_by: str = ""
    counter: str = ""
    calibration: int | None = None
    calibrated_on: date | None = None
    certificate: str = ""
    schedule: str = ""
    entered_by: str
    entered_on: date
    remarks: tuple[str, ...] = ()
    mark: str = ""

    @property
    def name(self) -> str:
        """What the footnote calls it."""
        values = {"source": self.source, "on": day_text(self.wiped_on)}
        return _("%(source)s, wiped on %(on)s") % values

    @property
    def source_where(self) -> str:
        """The source, and below it where it was."""
        return f"{self.source}\n{self.where}"

    @property
    def remarks_text(self) -> str:
        """The footnote in one field."""
        return " ".join(self.remarks)

    @property
    def relied_accepted(self) -> str:
        """Whether it is relied on, and who accepted it."""
        accepted = self._happened(_("accepted by %(who)s"), self.accepted_by, self.accepted_on)
        return "\n".join(part for part in (self.relied, accepted) if part)

    @property
    def who(self) -> str:
        """Who did what and when, a line each; a day that is not said is that of the wipe."""
        both = _("sampled and counted by %(who)s")
        sampled = self.sampled_by or _("somebody not named")
        same = self.sampled_by == self.counted_by and self.counted_on == self.wiped_on
        said = [
            self._happened(both if same else _("sampled by %(who)s"), sampled),
            ""
            if same
            else self._happened(_("counted by %(who)s"), self.counted_by, self.counted_on),
            self._happened(_("reported by %(who)s"), self.laboratory, self.reported_on),
            self._happened(_("report %(who)s"), self.report),
            self._happened(_("declared by %(who)s"), self.declared_by),
            self._happened(_("entered by %(who)s"), self.entered_by, self.entered_on),
        ]
        return "\n".join(part for part in said if part)

    def _happened(self, text: str, who: str, on: date | None = None) -> str:
        """Who, and when if that was another day; nothing without a name or a day."""
        if not who and on is None:
            return ""
        said = text % {"who": who or _("somebody not named")}
        if on is None or on == self.wiped_on:
            return said
        return _("%(said)s on %(on)s") % {"said": said, "on": day_text(on)}

    @property
    def counter_calibration(self) -> str:
        """The counter and its calibration that the verdict rests on."""
        if not self.counter:
            return ""
        if self.calibration is None:
            return f"{self.counter}\n" + _("no calibration that holds")
        values = {
            "on": day_text(self.calibrated_on) if self.calibrated_on else "",
            "seq": self.calibration,
        }
        said = _("calibrated on %(on)s (record\u00a0%(seq)s)") % values
        if self.certificate:
            said = _("%(said)s, certificate %(number)s") % {
                "said": said,
                "number": self.certificate,
            }
        return f"{self.counter}\n{said}"


def rows_of(told: Told) -> Iterator[Row]:
    """One line for every source that the record has a result for, or that awaits one."""
    sources = told.among.of_code(told.record.pk)
    if told.record.kind == SENT_KIND:
        for one in sources.values():
            yield Row(**_shared(told, one), **_awaited(told, one))
        return
    for point in told.body["points"]:
        one = sources[point["item"]]
        yield Row(**_shared(told, one), **_result(told, one, point))


def _shared(told: Told, one: knowledge.Known) -> dict[str, Any]:
    """What every line has."""
    body, on, site = told.body, told.record.effective_on, told.among.site
    return {
        "record": told.record.seq,
        "wiped_on": on,
        "code": one.item.code,
        "source": label(one, on),
        "where": where(one, on, told.among.places),
        "sampled_by": body["performed_by"],
        "entered_by": body["recorded_by"]["name"],
        "entered_on": recorded_on(site, body),
        "remarks": tuple(_remarks(told, one)),
    }


def _remarks(told: Told, one: knowledge.Known) -> Iterator[str]:
    """What it corrects, who corrected it, and what of it was learnt after the day."""
    site, on, wiped_on = told.among.site, told.among.at.on, told.record.effective_on
    if said := correction(one, event_of(one, told.record.pk)):
        yield said
    about = list(late_entries(one, site, on, records=[told.record.pk]))
    for thing in (one, *around(one, wiped_on, told.among.places)):
        about += late_entries(
            thing, site, on, kinds=NAMED_AND_PLACED, untold=first_described(thing), until=wiped_on
        )
    if late := later_sentence(iter(about)):
        yield late


def event_of(one: knowledge.Known, record: int) -> due.Event | None:
    """What a record says of an item."""
    return next((event for event in one.events if event.record == record), None)


def _awaited(told: Told, one: knowledge.Known) -> dict[str, Any]:
    """A wipe that is away at a laboratory."""
    detail = told.body["detail"]
    laboratory = told.laboratory
    values = {
        "laboratory": laboratory or _("a laboratory"),
        "sent": value_text("sent_on", detail.get("sent_on")),
        "chase": value_text("chase_on", detail.get("chase_on")),
    }
    event = event_of(one, told.record.pk)
    stands = event is None or event.live
    text = _("Result awaited: sent to %(laboratory)s on %(sent)s, to be chased on %(chase)s.")
    common = {"way": _("sent to a laboratory"), "laboratory": laboratory}
    if (given_up := told.among.given_up.get(told.record.pk)) and stands:
        return common | _given_up(given_up, values)
    return {
        **common,
        "outcome": value_text("state", due.AWAITED),
        "state": due.AWAITED if stands else "not_relied_on",
        "sentence": text % values,
        "relied": "" if stands else _corrected_by(one, told.record.pk),
    }


def _given_up(body: Mapping[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    """A wipe whose result never came: it shows nothing about the source."""
    text = _("Given up on %(on)s: %(why)s. Sent to %(laboratory)s on %(sent)s, no result came.")
    on = day_text(date.fromisoformat(body["effective_on"]))
    return {
        "outcome": _("given up"),
        "state": "not_relied_on",
        "sentence": text % {**values, "on": on, "why": body["reason"].strip().rstrip(".")},
        "relied": _("satisfies nothing"),
    }


def _result(told: Told, one: knowledge.Known, point: Mapping[str, Any]) -> dict[str, Any]:
    """Figures, verdict, and what they rest on."""
    verdict, detail, on = point["verdict"], told.body["detail"], told.among.at.on
    event = event_of(one, told.record.pk)
    assert event is not None
    schedule = detail["schedule"]
    return {
        "nuclide": point["nuclide"] or "",
        "way": value_text("way", detail["way"], SENTENCES),
        "stated": tuple(
            f"{value_text('stated', name, SENTENCES)}: {text}"
            for name, text in (detail.get("stated") or {}).items()
        ),
        **{name: _float(verdict.get(name)) for name in FIGURES},
        "comparator": value_text("comparator", verdict["comparator"], SENTENCES)
        if verdict["comparator"]
        else "",
        "outcome": value_text("outcome", verdict["outcome"], SENTENCES),
        "state": _state(event, verdict["outcome"], on),
        "sentence": wording.finding(point),
        "relied": _relied(one, event, on),
        **_acceptance(told),
        **_how(told),
        "schedule": _("%(title)s, version %(version)s") % schedule if schedule else "",
    }


def _float(text: str | None) -> float | None:
    return None if text is None else float(text)


def _state(event: due.Event, outcome: str, on: date) -> str:
    """The mark before the verdict: no tick for a pass that is not relied on."""
    if event.clears_on(on):
        return "pass"  # a bare statement that somebody accepted by name included
    return "not_relied_on" if outcome == "pass" or not event.live else outcome


def _relied(one: knowledge.Known, event: due.Event, on: date) -> str:
    """Whether it counts, and why not. Bad evidence never clears, but it accuses."""
    if not event.live:
        said = _corrected_by(one, event.record)
    elif not event.fit:
        said = _("no: %(why)s") % {"why": value_text("because", event.unfit_because)}
    elif event.outcome != "pass":
        said = _("acts at once") if event.outcome == "fail" else _("satisfies nothing")
    elif not event.clears_on(on):
        said = _("no: entered, not accepted")
    else:
        said = _("yes")
    if event.accuses and event.outcome != "fail":
        said += "\n" + _("accuses: act as on a leak")
    return said


def _corrected_by(one: knowledge.Known, record: int) -> str:
    newer = next((new for new, old in one.corrections.items() if old == record), None)
    event = event_of(one, newer) if newer else None
    return _("no: corrected by record %(seq)s") % {"seq": event.seq if event else "?"}


def _acceptance(told: Told) -> dict[str, Any]:
    """Who accepted it by the day, in the same act or later."""
    if told.body["accepted_by"]:
        name = told.body["accepted_by"]["name"]
        return {"accepted_by": name, "accepted_on": recorded_on(told.among.site, told.body)}
    later = told.among.acceptances.get(told.record.pk)
    if later is None:
        return {}
    return {
        "accepted_by": later["recorded_by"]["name"],
        "accepted_on": bodies.day(later["effective_on"]),
    }


def _how(told: Told) -> dict[str, Any]:
    """Who counted or reported it, with what."""
    detail = told.body["detail"]
    days = {name: bodies.day(detail.get(name)) for name in ("counted_on", "reported_on")}
    names = ("counted_by", "report", "declared_by")
    out: dict[str, Any] = {**days, **{name: detail.get(name) or "" for name in names}}
    out["laboratory"] = told.laboratory
    if told.counter is not None:
        out["counter"] = label(told.counter, days["counted_on"] or told.record.effective_on)
    calibration = told.among.calibrations.get(detail.get("calibration") or "")
    if calibration is not None:
        out["calibration"] = int(calibration["seq"])
        out["calibrated_on"] = bodies.day(calibration["effective_on"])
        out["certificate"] = calibration["detail"]["certificate"]
    return out
