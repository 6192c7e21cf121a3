"""The source register of a day, a second time: written from the domain's words with plain loops.

It reads the text of every record of the site, the nuclide table and the file of the rule set, and
shares no code with what it checks.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from tests.oracle.told import about, cells, codes, described, fold, newest, state, told, where


def rows(site: Any, day: date, known: datetime | None = None) -> list[dict[str, str]]:
    """One line for every source that was there at the end of the day."""
    all_told = told(site, known)
    lines = [_line(code, all_told, day) for code in codes(all_told, "source")]
    here = [line for line in lines if line is not None]
    here.sort(key=lambda line: (fold(f"{line['Nuclide']} {line.pop('serial')}"), line["Code"]))
    return here


def _line(code: str, all_told: Any, day: date) -> dict[str, str] | None:
    mine = about(code, all_told)
    place = where(mine, all_told, day)
    if place is None:
        return None
    what = described(mine, day)
    activity = _activity(what, day)
    serial = what["serial"] or "serial not known"
    made = " ".join(part for part in (what["maker"], what["model"]) if part)
    exact = what["reference_precision"] == "day"
    return {
        "Code": code,
        "Source": ", ".join(part for part in (serial, made) if part),
        "Nuclide": what["nuclide"],
        "As stated": what["activity_text"] or "not known",
        "Reference date": what["reference_on"] or "",
        "Reference date as stated": "" if exact else what["reference_text"],
        "On the day (Bq)": "" if activity is None else repr(activity),
        "Category": _category(what["nuclide"], activity),
        "Where": place,
        "Last wipe": newest(mine, all_told, "leak_test", day),
        "Leak test": state(code, all_told, "leak_test", day)[0],
        "serial": what["serial"],
    }


def _activity(what: Any, day: date) -> float | None:
    if not what["activity_bq"] or not what["reference_on"]:
        return None
    days = (day - date.fromisoformat(what["reference_on"])).days
    half_life = float(cells(what["nuclide"])["half_life_days"])
    return float(what["activity_bq"]) * 0.5 ** (days / half_life)


def _category(nuclide: str, activity: float | None) -> str:
    values = cells(nuclide)
    if activity is None:
        return "not known"
    ratio = 0.0
    if values["D_TBq"] != "unlimited":
        if not values["D_TBq"] or "from memory" in values["D_source"]:
            return "not known"
        ratio = activity / (float(values["D_TBq"]) * 1e12)
    for number, least in ((1, 1000), (2, 10), (3, 1), (4, 0.01)):
        if ratio >= least:
            return str(number)
    if values["exempt_Bq"] and activity <= float(values["exempt_Bq"]):
        return "none"
    return "5"
