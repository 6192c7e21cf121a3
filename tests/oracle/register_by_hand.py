"""The source register of a day, a second time: written from the domain's words with plain loops.

It reads the text of every record of the site, the nuclide table and the file of the rule set, and
shares no code with what it checks. Everything that is known now counts.
"""

from __future__ import annotations

import json
import tomllib
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from inventory.ledger.models import Record
from inventory.nuclides.models import Nuclide

RULES = Path(__file__).parents[2] / "fixtures" / "rulesets"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
OUTCOMES = {
    "pass": "passes",
    "fail": "fails",
    "inconclusive": "inconclusive",
    "not_evaluable": "not evaluable",
}
UNFIT = {
    "late": "the counter's calibration was late",
    "failed": "the counter was out of use",
    "never_done": "the counter had no calibration that holds",
}


def rows(site: Any, day: date) -> list[dict[str, str]]:
    """One line for every source that was there at the end of the day."""
    told = [json.loads(text) for text in _texts(site)]
    corrected = {int(one["replaces"]) for one in told if one["replaces"]}
    for one in told:
        one["day"] = date.fromisoformat(one["effective_on"])
        one["live"] = int(one["seq"]) not in corrected
        untimed = "00" if one["kind"] == "received" else "99"
        one["order"] = (one["day"], one["effective_time"] or untimed, _place(one, told))
    told.sort(key=lambda one: one["order"])
    sources = {item["item"] for one in told for item in one["items"] if item["kind"] == "source"}
    lines = [_line(code, told, day) for code in sources]
    here = [line for line in lines if line is not None]
    here.sort(key=lambda line: (_fold(f"{line['Nuclide']} {line.pop('serial')}"), line["Code"]))
    return here


def _texts(site: Any) -> Any:
    return Record.objects.filter(site=site).order_by("seq").values_list("body", flat=True)


def _place(one: Any, told: Any) -> int:
    """A correction takes the place of what it corrects, however often that was corrected."""
    while one["replaces"]:
        one = next(other for other in told if other["seq"] == one["replaces"])
    return int(one["seq"])


def _line(code: str, told: Any, day: date) -> dict[str, str] | None:
    mine = [
        (one, item) for one in told for item in one["items"] if item["item"] == code and one["live"]
    ]
    place = _where(mine, told, day)
    if place is None:
        return None
    described = _described(mine, day)
    activity = _activity(described, day)
    serial = described["serial"] or "serial not known"
    made = " ".join(part for part in (described["maker"], described["model"]) if part)
    return {
        "Code": code,
        "Source": ", ".join(part for part in (serial, made) if part),
        "Nuclide": described["nuclide"],
        "As stated": described["activity_text"] or "not known",
        "Reference date": _reference(described),
        "On the day (Bq)": "" if activity is None else repr(activity),
        "Category": _category(described["nuclide"], activity),
        "Where": place,
        "Last wipe": _last_wipe(mine, told, day),
        "Leak test": _leak_test(code, mine, told, described, day),
        "serial": described["serial"],
    }


def _described(mine: Any, day: date) -> dict[str, Any]:
    """The description in force; before the first one, the first one."""
    found: dict[str, Any] = {}
    for one, _item in mine:
        if one["kind"] == "described" and (one["day"] <= day or not found):
            found = one["detail"]
    return found


def _target(mine: Any, day: date) -> dict[str, Any] | None:
    found = None
    for one, _item in mine:
        if one["kind"] in ("received", "installed", "moved") and one["day"] <= day:
            found = one["detail"]
    return found


def _about(code: str, told: Any) -> list[Any]:
    return [
        (one, item) for one in told for item in one["items"] if item["item"] == code and one["live"]
    ]


def _where(mine: Any, told: Any, day: date) -> str | None:
    to = _target(mine, day)
    if to is None:
        return None
    if not to["gauge"]:
        return _described(_about(to["location"], told), day)["label"]
    of_gauge = _about(to["gauge"], told)
    named = [_described(of_gauge, day)["label"]]
    stands = _target(of_gauge, day)
    if stands is not None:
        named.append(_described(_about(stands["location"], told), day)["label"])
    return ", ".join(named)


def _cells(nuclide: str) -> dict[str, str]:
    return Nuclide.objects.get(name=nuclide).values


def _activity(described: Any, day: date) -> float | None:
    if not described["activity_bq"] or not described["reference_on"]:
        return None
    days = (day - date.fromisoformat(described["reference_on"])).days
    half_life = float(_cells(described["nuclide"])["half_life_days"])
    return float(described["activity_bq"]) * 0.5 ** (days / half_life)


def _category(nuclide: str, activity: float | None) -> str:
    cells = _cells(nuclide)
    if activity is None:
        return "not known"
    ratio = 0.0
    if cells["D_TBq"] != "unlimited":
        if not cells["D_TBq"] or "from memory" in cells["D_source"]:
            return "not known"
        ratio = activity / (float(cells["D_TBq"]) * 1e12)
    for number, least in ((1, 1000), (2, 10), (3, 1), (4, 0.01)):
        if ratio >= least:
            return str(number)
    if cells["exempt_Bq"] and activity <= float(cells["exempt_Bq"]):
        return "none"
    return "5"


def _reference(described: Any) -> str:
    if not described["reference_on"]:
        return "not known"
    day = _day(date.fromisoformat(described["reference_on"]))
    if described["reference_precision"] == "day":
        return day
    return f"{day} (stated: {described['reference_text']})"


def _wipes(mine: Any, day: date) -> list[Any]:
    return [
        (one, item)
        for one, item in mine
        if one["kind"] == "leak_test" and item["outcome"] and one["day"] <= day
    ]


def _counts(one: Any, item: Any, told: Any, day: date) -> bool:
    """Only an accepted, valid pass satisfies, from the day of its acceptance on."""
    if item["outcome"] != "pass" or not item["fit"]:
        return False
    if one["accepted_by"]:
        return True
    for other in told:
        names_it = {"role": "accepts", "seq": one["seq"]} in other["links"]
        if names_it and other["live"] and other["day"] <= day:
            return True
    return False


def _last_wipe(mine: Any, told: Any, day: date) -> str:
    wipes = _wipes(mine, day)
    if not wipes:
        return "none recorded"
    one, item = wipes[-1]
    said = OUTCOMES[item["outcome"]]
    if not item["fit"]:
        why = UNFIT[item["unfit_because"].removeprefix("counter_calibration_")]
        said = f"not relied on: {why}"
    elif item["outcome"] == "pass" and not _counts(one, item, told, day):
        said = "entered, not accepted"
    return f"{_day(one['day'])}: {said} (record {one['seq']})"


def _leak_test(code: str, mine: Any, told: Any, described: Any, day: date) -> str:
    if _failed(code, told, day):
        return "failed, out of use"
    rule = _rule(told, described, day)
    if rule.get("result") == "undecided":
        return "interval not decided"
    good = [one for one, item in _wipes(mine, day) if _counts(one, item, told, day)]
    if not good:
        return "never done"
    for one, item in _wipes(mine, day):
        if item["accuses"] and item["outcome"] != "pass" and one["order"] > good[-1]["order"]:
            return "never shown good since it failed"
    due = _later(good[-1]["day"], rule["months"])
    left = (due - day).days
    if left < 0:
        return f"{-left} day{'s' if left < -1 else ''} late"
    if left > rule["lead_days"]:
        return f"good until {_day(due)}"
    return "due today" if left == 0 else f"due in {left} day{'s' if left > 1 else ''}"


def _failed(code: str, told: Any, day: date) -> bool:
    """A leak test that accused, corrected or not, and that nobody had closed by the day."""
    for one in told:
        mentions = [item for item in one["items"] if item["item"] == code]
        if one["kind"] != "leak_test" or one["day"] > day or not mentions:
            continue
        closings = [
            other["day"]
            for other in told
            if other["live"]
            and {"role": "closes", "seq": one["seq"]} in other["links"]
            and code in [item["item"] for item in other["items"]]
        ]
        if mentions[0]["accuses"] and not any(closed <= day for closed in closings):
            return True
    return False


def _rule(told: Any, described: Any, day: date) -> dict[str, Any]:
    """The row of the schedule: one that replaces goes before the default."""
    schedule = None
    for one in told:
        if one["kind"] == "schedule_set" and (one["day"] <= day or schedule is None):
            schedule = one["detail"]
    assert schedule is not None
    name = f"{schedule['rule_set']}-{schedule['version']}.toml"
    found: dict[str, Any] = {}
    gas = _cells(described["nuclide"])["gas"] == "yes"
    for row in tomllib.loads((RULES / name).read_text(encoding="utf-8"))["row"]:
        holds = row["requirement"] == "leak_test" and (gas or not row.get("when"))
        if holds and (not found or row.get("mode") == "replaces"):
            found = row
    return found


def _later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = (date(year + (month == 11), (month + 1) % 12 + 1, 1) - timedelta(1)).day
    return date(year, month + 1, min(day.day, last))


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _fold(text: str) -> str:
    """Small letters, numbers by their size."""
    out, digits = "", ""
    for char in f"{' '.join(text.casefold().split())}.":
        if char.isdigit():
            digits += char
        else:
            out += (digits.rjust(8, "0") if digits else "") + char
            digits = ""
    return out[:-1]
