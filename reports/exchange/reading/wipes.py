"""Past wipes: rows of a list of results, and the last wipe in the row of a source.

Nothing is made better than it is stated: a word stays a word, counts without background, time or
counter become no activity, and where a figure and a word disagree the failure stands.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from inventory.calc.dates import PartialDate
from inventory.calc.explain import Step
from inventory.calc.units import Activity
from inventory.sentences import day_text
from reports.exchange.reading import cells, counts, results
from reports.exchange.reading.asking import options
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.nuclide import read_nuclide
from reports.exchange.reading.results import FAILED, PASSED, ResultRead
from reports.exchange.reading.sentences import said
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import Cell, CountsStated, Row, WipeEntry
from surveys.calc.leak import Reported
from surveys.leak.wipe import DeclaredBy, FromLaboratory


def read_row(row: RowReader) -> Row:
    """One row of a list of results."""
    serials = _subjects(row)
    gauge = row.text("gauge", name_like=True)
    nuclide = read_nuclide(row)
    wipe = read_wipe(row, serials=serials, gauge="" if serials else gauge, nuclide=nuclide)
    if not serials and not gauge:
        row.fault("read_wipe_of_what", "serial")
    if wipe is None and not row.waiting and not row.faults:
        row.fault("read_wipe_says_nothing", "result")
    return row.done([wipe] if wipe else [])


def _subjects(row: RowReader) -> tuple[str, ...]:
    def read(cell: Cell) -> tuple[tuple[str, ...], str]:
        if not isinstance(cell.content, str):
            found = cells.read_serial(row, cell).serial
            return ((found,), found) if found else ((), "")
        parts = cells.parts_of(cell.text)
        known = [cells.read_serial(row, Cell(part, part)).serial for part in parts]
        if len(parts) > 1:
            row.note("read_wipe_of_several", {"n": len(parts)})
        out = tuple(dict.fromkeys(one for one in known if one))
        return out, ", ".join(out)

    return row.take("serial", read, ())


@dataclass(frozen=True, slots=True)
class _By:
    """Who sampled, and who answers for the figures."""

    sampled: str
    laboratory: str

    @property
    def answers(self) -> str:
        return self.laboratory or self.sampled or _("not known")

    @property
    def is_laboratory(self) -> bool:
        return bool(self.laboratory) or "lab" in self.sampled.casefold()


def read_wipe(
    row: RowReader, *, serials: tuple[str, ...] = (), gauge: str = "", nuclide: str = ""
) -> WipeEntry | None:
    """The wipe that a row states, or None where it states none."""
    on = row.partial("wiped_on")
    found = row.take("result", lambda cell: results.read_result(row, cell), ResultRead())
    by = _By(row.text("wiped_by", 200), row.text("laboratory", 200))
    claimed = _claimed(row, found)
    stated = counts.read(row, on)
    remarks: list[str] = []
    result = _result(row, found, by, claimed, stated, remarks)
    if found.pending:
        row.note("read_result_pending", {"text": found.pending})
    if result is None:
        _nothing_came(row, on, found)
        return None
    if on is None:
        if not row.waiting and not any(fault.field == "wiped_on" for fault in row.faults):
            row.fault("read_wipe_without_day", "wiped_on")
        return None
    remark = "; ".join([*remarks, *([row.text("remark", 1000)] if row.kind == "wipes" else [])])
    return WipeEntry(
        on=_day(row, on),
        result=result,
        subjects=serials,
        gauge=gauge,
        nuclide=nuclide,
        sampled_by=by.sampled,
        claimed=claimed,
        remark=remark.strip("; ")[:1000],
    )


def _nothing_came(row: RowReader, on: PartialDate | None, found: ResultRead) -> None:
    """A wipe without anything that it says about the source is no evidence, and is not lost."""
    if row.waiting or row.faults or (on is None and not found.rate):
        return
    if found.rate:
        row.note("read_rate_alone", {"text": found.rate})
        day = day_text(on.on) if on else ""
        row.remarks.append(said("remark_rate", day=day, text=found.rate))
    elif on is not None and not found.pending:
        row.note("read_wipe_without_result", {"on": on.text})
        row.remarks.append(said("remark_wiped", text=day_text(on.on)))


def _day(row: RowReader, on: PartialDate) -> date:
    """Of a month or year the first day: nothing falls due later for it than it would have."""
    if on.precision != "day":
        row.note("read_first_day_taken", {"text": on.text})
        row.remarks.append(said("remark_wiped_then", text=on.text))
    return on.earliest


def _claimed(row: RowReader, found: ResultRead) -> str:
    """What the list itself calls it; of two words that differ the failure stands."""
    words = {
        found.word,
        row.one_of("claimed", lambda text: _cross(row, results.read_claim(text))),
        row.one_of("leaking", results.read_leaking),
    } - {""}
    if len(words) > 1:
        row.note("read_words_differ")
    if FAILED in words:
        return FAILED
    if PASSED in words or found.not_detected:
        return PASSED
    return ""


def _cross(row: RowReader, word: str) -> str:
    """A cross may mean done or failed."""
    if word != "cross":
        return word
    labels = options(PASSED, FAILED, prefix="read_cross_")
    return row.asking.ask("cross", Step("read_ask_cross"), labels, row.where("claimed"))


def _result(
    row: RowReader,
    found: ResultRead,
    by: _By,
    claimed: str,
    stated: CountsStated | None,
    remarks: list[str],
) -> CountsStated | FromLaboratory | DeclaredBy | None:
    document = _("list of sources") if row.kind == "sources" else _("list of wipe results")
    figures = found.text if found.value is not None or found.rate else ""
    if claimed == FAILED:
        if figures:
            row.note("read_failed_with_figure", {"text": figures})
            remarks.append(figures)
        return DeclaredBy(False, by.answers, document)
    if stated is not None:
        if figures:
            remarks.append(said("remark_stated", text=figures))
        return stated
    reported = _reported(row, found)
    if reported is not None and (found.value is not None or reported.detection_limit_bq):
        return _from_laboratory(row, found, by, reported)
    if found.not_detected and by.is_laboratory:
        return _from_laboratory(row, found, by, Reported(not_detected=True))
    if claimed:
        if figures:
            remarks.append(figures)
        row.note("read_word_only")
        return DeclaredBy(True, by.answers, document)
    return None


def _reported(row: RowReader, found: ResultRead) -> Reported | None:
    limit = _beside(row, "detection_limit") or found.limit
    bound = found.value.bq if found.value is not None else None
    if bound is not None and found.sign != "=" and bound <= 0:
        row.fault("read_bound_not_positive", "result")
        return None
    spread = _beside(row, "uncertainty") or found.uncertainty
    return Reported(
        activity_bq=bound if found.sign == "=" else None,
        expanded_uncertainty_bq=spread.bq if spread and found.sign == "=" and bound is not None
        else None,
        coverage_factor=found.factor if spread and found.sign == "=" else None,
        less_than_bq=bound if found.sign == "<" else None,
        at_most_bq=bound if found.sign == "<=" else None,
        detection_limit_bq=limit.bq if limit else None,
        not_detected=found.not_detected,
    )  # fmt: skip


def _beside(row: RowReader, name: str) -> Activity | None:
    """A figure in a column of its own; without a unit it has that of the result."""

    def read(cell: Cell) -> tuple[Activity | None, str]:
        text = tidy(cell.text).lstrip("±<+/- ")
        if is_unknown(text):
            return None, ""
        column, result = row.column(name), row.column("result")
        if column is not None and result is not None and not column.unit:
            text = _with_the_results_unit(row, text)
        found = cells.with_unit(row, name, text)
        if found.exact <= 0:
            row.note("read_zero_beside", {"text": found.text})
            return None, ""
        return found, found.text

    return row.take(name, read, None)


def _with_the_results_unit(row: RowReader, text: str) -> str:
    if re.search(r"[A-Za-zµμ]", text):
        return text
    own = re.search(r"[A-Za-zµμ][A-Za-z]*$", tidy(row.cell("result").text))
    unit = own[0] if own and cells.is_activity(own[0]) else cells.unit_of(row, "result")
    return f"{text} {unit}"


def _from_laboratory(
    row: RowReader, found: ResultRead, by: _By, reported: Reported
) -> FromLaboratory:
    stated: dict[str, str] = {}
    names = {"=": "reported", "<": "less_than", "<=": "at_most"}
    if found.value is not None:
        stated[names[found.sign]] = found.value.text
    if reported.expanded_uncertainty_bq is not None:
        stated["uncertainty"] = row.cell("uncertainty").text or (
            found.uncertainty.text if found.uncertainty else ""
        )
    if reported.coverage_factor is not None:
        stated["coverage_factor"] = f"{reported.coverage_factor:g}"
    if reported.detection_limit_bq is not None:
        said = row.cell("detection_limit").text or (found.limit.text if found.limit else "")
        stated["detection_limit"] = said
    if found.not_detected:
        stated["not_detected"] = row.cell("result").text
    reported_on = row.partial("counted_on")
    return FromLaboratory(
        laboratory=by.answers,
        figures=reported,
        stated=stated,
        reported_on=reported_on.on if reported_on and reported_on.precision == "day" else None,
        report=row.text("report", 100),
    )
