"""The register of leak tests: every wipe by a day, what came of it, and what it rests on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from config.accounts.models import Site, User
from inventory import knowledge
from inventory.calc import due
from inventory.calc.asof import AsOf
from inventory.calc.units import format_activity, to_unit
from inventory.sentences import day_text, value_text
from reports.registers import columns
from reports.registers.base import OUTCOMES, Cell, Column, Register
from reports.registers.frame import Content, framed
from reports.registers.leak_read import told
from reports.registers.leak_row import Row, rows_of

KIND = "leak"


def build(
    site: Site, at: AsOf, *, made_by: User, made_at: datetime, since: date | None = None
) -> Register:
    """The register of a site as of a day, complete; ``since``: of wipes taken from that day on."""
    rows = [row for one in told(site, at, since) for row in rows_of(one)]
    unit = wanted_unit(due.schedule_on(knowledge.schedules_of(site, at.known), at.on))
    content = Content(
        columns=layout(unit), rows=rows, totals=_totals(rows, at.on, since), from_on=since
    )
    return framed(KIND, _("Register of leak tests"), site, at, content, made_by, made_at)


def wanted_unit(schedule: due.Schedule | None) -> str:
    """The unit in which the schedule wants results stated."""
    return schedule.rules.leak_limit.unit if schedule else "Bq"


def _totals(rows: Sequence[Row], on: date, since: date | None) -> Iterator[str]:
    count = ngettext("%(n)s result by %(on)s", "%(n)s results by %(on)s", len(rows))
    said = count % {"n": len(rows), "on": day_text(on)}
    yield (_("%(said)s, from %(since)s on.") if since else _("%(said)s.")) % {
        "said": said,
        "since": day_text(since) if since else "",
    }
    counts = Counter(row.state for row in rows)
    words = {state: value_text("outcome", state) for state in OUTCOMES}
    words |= {"not_relied_on": _("not relied on"), "awaited": _("result awaited")}
    found = [f"{word} {counts[state]}" for state, word in words.items() if counts[state]]
    if found:
        yield _("Of these: %(states)s.") % {"states": ", ".join(found)}
        yield _("Where no day is given for a person's act, it was the day of the wipe.")


def layout(unit: str = "Bq") -> tuple[Column, ...]:
    """The columns: few and full for people, one for each value for programs."""
    return (
        Column(
            "record",
            _("Record"),
            lambda row: Cell(str(row.record), mark=row.mark),
            width=0.75,
        ),
        columns.day("wiped_on", _("Wiped"), 1.2),
        columns.text("code", _("Code"), only="programs"),
        columns.text("source_where", _("Source, and where it was"), 2.2, only="people"),
        columns.text("source", _("Source"), only="programs"),
        columns.text("where", _("Where"), only="programs"),
        columns.text("nuclide", _("Nuclide"), only="programs"),
        Column("result", _("Result"), lambda row: _result(row, unit), width=2.9, only="people"),
        columns.text("way", _("How the result came"), only="programs"),
        *_figures(unit),
        Column("limit", _("Limit"), lambda row: _limit(row, unit), width=1.4, only="people"),
        columns.text("comparator", _("Comparator"), only="programs"),
        columns.text("outcome", _("Outcome"), only="programs"),
        columns.state("verdict", _("Verdict"), 3.4),
        columns.text("relied_accepted", _("Relied on"), 1.9, only="people"),
        columns.text("relied", _("Relied on"), only="programs"),
        columns.text("accepted_by", _("Accepted by"), only="programs"),
        columns.day("accepted_on", _("Accepted on"), only="programs"),
        columns.text("who", _("Sampled, counted, reported"), 2.2, only="people"),
        *_who(),
        columns.text("counter_calibration", _("Counter and calibration"), 2.1, only="people"),
        *_counter(),
        columns.text("schedule", _("Schedule"), only="programs"),
        columns.text("entered_by", _("Entered by"), only="programs"),
        columns.day("entered_on", _("Entered on"), only="programs"),
        columns.text("remarks_text", _("Corrections and late entries"), only="programs"),
    )


def _figures(unit: str) -> Iterator[Column]:
    """Activities, each in Bq; the one on the wipe and its limit also in the schedule's unit."""
    heads = {
        "activity_bq": _("Activity on the wipe"),
        "standard_uncertainty_bq": _("Standard uncertainty"),
        "decision_threshold_bq": _("Decision threshold"),
        "detection_limit_bq": _("Detection limit"),
        "upper_bound_bq": _("Upper bound (95 %)"),
        "limit_bq": _("Limit"),
    }
    for key, head in heads.items():
        yield columns.activity(key, head, only="programs")
        if unit != "Bq" and key in ("activity_bq", "limit_bq"):
            yield _in_unit(key, head, unit)


def _in_unit(key: str, head: str, unit: str) -> Column:
    def get(row: Row) -> Cell:
        value = getattr(row, key)
        return Cell("" if value is None else repr(to_unit(value, unit)))

    name = key.removesuffix("_bq")
    return Column(f"{name}_wanted", head, get, unit=unit_text(unit), kind="number", only="programs")


def unit_text(unit: str) -> str:
    """A unit as people write it."""
    return unit.replace("u", "\N{MICRO SIGN}", 1) if unit.startswith("u") else unit


def in_unit(bq: float, unit: str) -> str:
    """An activity in Bq, and in the unit that the schedule wants."""
    said = format_activity(bq)
    return said if unit == "Bq" else f"{said} ({to_unit(bq, unit):.3g}\u00a0{unit_text(unit)})"


def _who() -> tuple[Column, ...]:
    return (
        columns.text("sampled_by", _("Sampled by"), only="programs"),
        columns.text("counted_by", _("Counted by"), only="programs"),
        columns.day("counted_on", _("Counted on"), only="programs"),
        columns.text("laboratory", _("Laboratory"), only="programs"),
        columns.text("report", _("Report"), only="programs"),
        columns.day("reported_on", _("Reported on"), only="programs"),
        columns.text("declared_by", _("Declared by"), only="programs"),
    )


def _counter() -> tuple[Column, ...]:
    return (
        columns.text("counter", _("Counter"), only="programs"),
        columns.number("calibration", _("Calibration (record)"), only="programs"),
        columns.day("calibrated_on", _("Calibrated on"), only="programs"),
        columns.text("certificate", _("Certificate"), only="programs"),
    )


def _result(row: Row, unit: str) -> Cell:
    """How the result came, the activity with its uncertainty, and what could be detected."""
    said = [row.way, *row.stated]
    if row.activity_bq is not None:
        values = {"bq": in_unit(row.activity_bq, unit)}
        if row.standard_uncertainty_bq is None:
            said.append(_("%(bq)s, uncertainty not stated") % values)
        else:
            values["u"] = format_activity(row.standard_uncertainty_bq)
            said.append(_("%(bq)s ±\u00a0%(u)s (k\u00a0=\u00a01)") % values)
    figures = (
        (row.decision_threshold_bq, _("decision threshold %(bq)s")),
        (row.detection_limit_bq, _("detection limit %(bq)s")),
    )
    able = [text % {"bq": format_activity(bq)} for bq, text in figures if bq is not None]
    return Cell("\n".join([*said, ", ".join(able)]).strip())


def _limit(row: Row, unit: str) -> Cell:
    if row.limit_bq is None:
        return Cell(_("none known"))
    return Cell(f"{in_unit(row.limit_bq, unit)}\n{row.comparator}")
