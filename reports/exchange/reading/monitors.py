"""Rows of lists of monitors, of calibrations and of gauges."""

from __future__ import annotations

import re
from decimal import Decimal

from inventory.calc.explain import Step
from reports.exchange.reading import results
from reports.exchange.reading.asking import CellFault, Waiting, options
from reports.exchange.reading.cells import serial
from reports.exchange.reading.columns import RowReader
from reports.exchange.reading.counts import number_of
from reports.exchange.reading.nuclide import read_nuclide
from reports.exchange.reading.texts import is_unknown, tidy
from reports.exchange.understood import CalibrationEntry, Cell, GaugeEntry, MonitorEntry, Row
from surveys.monitors.in_force import Efficiency

KINDS = ("wipe_counter", "contamination", "dose_rate")
_WORDS = (
    (
        "wipe_counter",
        r"wipe|swab|smear|scaler|well counter|sample counter|drawer|scintillation counter|"
        r"counting|proportional counter|counter",
    ),
    ("contamination", r"contamination|frisker|pancake|surface|alpha.?beta|hand.?foot"),
    (
        "dose_rate",
        r"dose.?rate|survey|dosimeter|ion.?chamber|ratemeter|area monitor|neutron|[uµμ]?sv|"
        r"gamma monitor|rem.?meter|[uµμ]?r/h",
    ),
)  # fmt: skip


def read_monitor(row: RowReader) -> Row:
    """A monitor, perhaps with its last calibration."""
    number = serial(row).serial
    tag = row.text("tag", name_like=True) or number
    if not tag and not row.waiting:
        row.fault("read_monitor_without_name", "tag")
    model, probe = row.text("model"), row.text("probe")
    calibration = _calibration(row, tag)
    received = row.partial("received")
    entry = MonitorEntry(
        tag=tag,
        monitor_kind=_kind(row, model),
        place=row.joined("place", 200) or row.row.title[:200],
        maker=row.text("maker"),
        model=" + ".join(one for one in (model, probe) if one)[:100],
        serial=number,
        received_on=received.on if received else None,
        calibration=calibration,
    )
    row.text("remark", 1000)
    return row.done([entry])


def _kind(row: RowReader, model: str) -> str:
    """What it measures, by the words of the list; where they do not say, it is asked."""
    said = " ".join((row.text("monitor_kind", 200), model, row.text("probe")))
    for kind, pattern in _WORDS:
        if re.search(pattern, said, re.IGNORECASE):
            return kind
    shown = tidy(said)[:60] or row.text("tag")
    key = f"monitor_kind:{shown.casefold()}"
    labels = options(*KINDS, prefix="read_monitor_kind_")
    question = Step("read_ask_monitor_kind", {"text": shown})
    try:
        return row.asking.ask(key, question, labels, f"{row.where('tag')}: {row.cell('tag').text}")
    except Waiting:
        row.waiting = True
        return ""


def read_calibration(row: RowReader) -> Row:
    """A calibration of a monitor that is named by its tag or serial."""
    number = serial(row).serial
    tag = row.text("tag", name_like=True) or number
    if not tag:
        row.fault("read_monitor_without_name", "tag")
    entry = _calibration(row, tag)
    if entry is None and not row.waiting and not row.faults:
        row.fault("read_calibration_without_day", "calibrated_on")
    return row.done([entry] if entry else [])


def _calibration(row: RowReader, tag: str) -> CalibrationEntry | None:
    on, until = row.partial("calibrated_on"), row.partial("valid_until")
    certificate, laboratory = row.text("certificate"), row.text("laboratory", 200)
    efficiencies = _efficiencies(row)
    passed = _passed(row) if on is not None else None
    if on is None or passed is None:
        return None
    if on.precision != "day":
        row.note("read_first_day_taken", {"text": on.text})
    valid_until = until.earliest if until else None
    if valid_until is not None and valid_until < on.earliest:
        row.fault("read_valid_until_before", "valid_until")
    return CalibrationEntry(
        monitor=tag,
        on=on.earliest,
        passed=passed,
        certificate=certificate,
        laboratory=laboratory,
        valid_until=valid_until,
        efficiencies=tuple(efficiencies),
    )


def _passed(row: RowReader) -> bool | None:
    """Whether it passed. A list of days alone does not say so: asked once for the file."""
    word = row.one_of("passed", _verdict)
    if word:
        return word == results.PASSED
    labels = options("passed", "leave", prefix="read_calibration_")
    question = Step("read_ask_calibration_passed")
    try:
        answer = row.asking.ask("calibration_passed", question, labels, row.where("calibrated_on"))
    except Waiting:
        row.waiting = True
        return None
    if answer != "passed":
        row.note("read_calibration_left")
        return None
    return True


def _verdict(text: str) -> str:
    word = results.read_claim(text)
    if word == "cross":
        raise CellFault("read_claim_not_understood", text=text[:60])
    return word


# ---------------------------------------------------------------- efficiencies


def _efficiencies(row: RowReader) -> list[Efficiency]:
    out = []
    for name in row.columns:
        if name.startswith("efficiency:"):
            nuclide = _named(row, name)
            basis = _basis(row, name) if row.filled(name) else ""
            figure = _figure(row, name)
            if figure is not None and nuclide:
                out.append(Efficiency(nuclide, figure, basis=basis))
    if row.filled("efficiency") and row.filled("nuclide"):
        nuclide, basis = read_nuclide(row), _basis(row, "efficiency")
        figure = _figure(row, "efficiency")
        if figure is not None and nuclide:
            out.append(Efficiency(nuclide, figure, basis=basis))
    elif row.filled("efficiency"):
        row.note("read_efficiency_of_what", {"text": row.cell("efficiency").text})
    return [one for one in out if one.basis]


def _named(row: RowReader, name: str) -> str:
    text = name.partition(":")[2]
    if row.nuclides.is_one(text):
        return row.nuclides.resolve(text)
    row.note("read_efficiency_of_what", {"text": text})
    return ""


def _basis(row: RowReader, name: str) -> str:
    """What it is counted per. Read as per decay when it is per emission, it would hide a leak."""
    column = row.column(name)
    if column is not None and column.basis:
        return column.basis
    labels = options("per_decay", "per_2pi_emission", "surface_response", prefix="read_basis_")
    question = Step("read_ask_efficiency_basis")
    example = f"{row.where(name)}: {row.cell(name).text}"
    try:
        return row.asking.ask("efficiency_basis", question, labels, example)
    except Waiting:
        row.waiting = True
        return ""


def _figure(row: RowReader, name: str) -> float | None:
    def read(cell: Cell) -> tuple[float | None, str]:
        text = tidy(cell.text)
        if is_unknown(text):
            return None, ""
        per_cent = text.endswith("%")
        number = number_of(row, name, text.rstrip("% "))
        column = row.column(name)
        basis = column.basis if column else ""
        if number <= 0:
            raise CellFault("read_number_not_understood", text=text[:40])
        if not per_cent and basis != "surface_response":
            per_cent = _per_cent(row, name, number)
        value = float(number / 100 if per_cent else number)
        return value, f"{value:.4g}"

    return row.take(name, read, None)


def _per_cent(row: RowReader, name: str, number: Decimal) -> bool:
    """A bare number above one can only be per cent; 0.8 may be either, and is asked about."""
    column = row.column(name)
    if column is not None and column.unit == "%":
        return True
    if number > 1:
        row.note("read_efficiency_above_one", {"text": str(number)})
        return True
    labels = options("fraction", "per_cent", prefix="read_efficiency_")
    question = Step("read_ask_efficiency_unit", {"text": tidy(column.head if column else "")[:60]})
    example = f"{row.where(name)}: {row.cell(name).text}"
    return row.asking.ask("efficiency_unit", question, labels, example) == "per_cent"


# ---------------------------------------------------------------- gauges


def read_gauge(row: RowReader) -> Row:
    """A gauge, with or without sources."""
    tag = row.text("tag", name_like=True)
    housing = serial(row, "housing_serial").serial
    if not tag and not housing:
        row.fault("read_gauge_without_name", "tag")
    received = row.partial("received")
    entry = GaugeEntry(
        tag=tag or housing,
        place=row.joined("place", 200) or row.row.title[:200],
        maker=row.text("maker"),
        model=row.text("model"),
        housing_serial=housing,
        whom_to_ask=row.text("whom_to_ask", 200),
        received_on=received.on if received else None,
    )
    row.text("remark", 1000)
    return row.done([entry])
