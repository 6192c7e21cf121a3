"""The register of monitors of a day, a second time, from the texts of the records."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from tests.oracle.told import (
    OUTCOMES,
    about,
    codes,
    counts,
    described,
    evidence,
    fold,
    newest,
    state,
    told,
    where,
)

KINDS = {
    "wipe_counter": "wipe counter",
    "contamination": "contamination monitor",
    "dose_rate": "dose-rate monitor",
}
BASES = {
    "per_decay": "counts per decay",
    "per_2pi_emission": "counts per emission into 2π",
    "surface_response": "1/s per Bq/cm²",
}


def rows(site: Any, day: date, known: datetime | None = None) -> list[dict[str, str]]:
    """One line for every monitor that was there at the end of the day."""
    all_told = told(site, known)
    lines = [_line(code, all_told, day) for code in codes(all_told, "monitor")]
    here = [line for line in lines if line is not None]
    return sorted(here, key=lambda line: (fold(line["Monitor"]), line["Code"]))


def _line(code: str, all_told: Any, day: date) -> dict[str, str] | None:
    mine = about(code, all_told)
    place = where(mine, all_told, day)
    if place is None:
        return None
    what = described(mine, day)
    found = evidence(mine, "calibration", day)
    last = found[-1] if found else None
    good = [one for one, item in found if counts(one, item, all_told, day)]
    sentence, due = state(code, all_told, "calibration", day)
    detail = last[0]["detail"] if last else {}
    return {
        "Code": code,
        "Monitor": what["label"],
        "Maker": what["maker"],
        "Model": what["model"],
        "Serial": what["serial"],
        "Kind": KINDS[what["monitor_kind"]],
        "Where": place,
        "Last calibration": newest(mine, all_told, "calibration", day),
        "Calibrated on": last[0]["effective_on"] if last else "",
        "Outcome": OUTCOMES[last[1]["outcome"]] if last else "",
        "Record": last[0]["seq"] if last else "",
        "Certificate": detail.get("certificate", ""),
        "Laboratory": detail.get("laboratory", ""),
        "Valid until": detail.get("valid_until") or "",
        "Efficiencies from record": good[-1]["seq"] if good else "",
        "Efficiencies in force": "; ".join(map(_efficiency, good[-1]["points"])) if good else "",
        "Calibration": sentence,
        "Due on": due.isoformat() if due else "",
    }


def _efficiency(point: Any) -> str:
    said = f"{point['nuclide']}: {float(point['efficiency']):.3g} {BASES[point['basis']]}"
    if point["u_rel"] is None:
        return f"{said}, uncertainty not stated"
    return f"{said} ± {100 * float(point['u_rel']):.3g} % (k = 1)"
