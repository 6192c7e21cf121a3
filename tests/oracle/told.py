"""What the records of a site tell, read from their texts with plain loops: shared by the slow
second implementations of the registers. It shares no code with what they check."""

from __future__ import annotations

import json
import tomllib
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from inventory.ledger.models import Record
from inventory.nuclides.models import Nuclide
from tests.oracle import movements_by_hand

RULES = Path(__file__).parents[2] / "fixtures" / "rulesets"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
OUTCOMES = {
    "pass": "passes",
    "fail": "fails",
    "inconclusive": "inconclusive",
    "not_evaluable": "not evaluable",
}
ELSEWHERE = {
    "out": "out at {whom} since {since}",
    "in_transit": "sent to {whom} on {since}, arrival not confirmed",
    "away": "away at {whom} since {since}",
    "missing": "missing since {since}",
}
KEPT = {
    "stored": "in storage",
    "standby": "on standby",
    "packed": "in the maker’s shipping container",
}
UNFIT = {
    "late": "the counter's calibration was late",
    "failed": "the counter was out of use",
    "never_done": "the counter had no calibration that holds",
}


def told(site: Any, known: datetime | None = None) -> list[Any]:
    """Every text of the site in the order in which things happened; ``known``: of those that had
    been recorded by then."""
    texts = Record.objects.filter(site=site).order_by("seq").values_list("body", flat=True)
    out = [json.loads(text) for text in texts]
    out = [one for one in out if known is None or moment(one) <= known]
    corrected = {int(one["replaces"]) for one in out if one["replaces"]}
    for one in out:
        one["day"] = date.fromisoformat(one["effective_on"])
        one["live"] = int(one["seq"]) not in corrected
        untimed = "00" if one["kind"] == "received" else "99"
        one["order"] = (one["day"], one["effective_time"] or untimed, _place(one, out))
        local = moment(one).astimezone(ZoneInfo(site.time_zone))
        one["entered_on"] = local.date()
    out.sort(key=lambda one: one["order"])
    return out


def moment(one: Any) -> datetime:
    return datetime.fromisoformat(one["recorded_at"])


def _place(one: Any, all_told: Any) -> int:
    """A correction takes the place of what it corrects, however often that was corrected."""
    while one["replaces"]:
        one = next(other for other in all_told if other["seq"] == one["replaces"])
    return int(one["seq"])


def codes(all_told: Any, kind: str) -> set[str]:
    """The codes of the things of a kind."""
    return {item["item"] for one in all_told for item in one["items"] if item["kind"] == kind}


def about(code: str, all_told: Any) -> list[Any]:
    """The records about a thing that nobody corrected, each with what it says of it."""
    return [
        (one, item)
        for one in all_told
        for item in one["items"]
        if item["item"] == code and one["live"]
    ]


def described(mine: Any, day: date) -> dict[str, Any]:
    """The description in force; before the first one, the first one."""
    found: dict[str, Any] = {}
    for one, _item in mine:
        if one["kind"] == "described" and (one["day"] <= day or not found):
            found = one["detail"]
    return found


def called(code: str, all_told: Any, day: date) -> str:
    label: str = described(about(code, all_told), day)["label"]
    return label


def where(mine: Any, all_told: Any, day: date) -> str | None:
    """Gauge and place at the end of the day, or who has it; None when it was not there."""
    if not mine:
        return None
    told_of = movements_by_hand.of_records(all_told)
    found = told_of.where(mine[0][1]["item"], day)
    if found is None:
        return None
    gauge, place, whereabouts, keeping, whom = found
    named = [called(code, all_told, day) for code in (gauge, place) if code]
    since = day_text(told_of.since(mine[0][1]["item"], day))
    if whereabouts in ELSEWHERE:
        named.append(ELSEWHERE[whereabouts].format(whom=whom, since=since))
    elif keeping != "in_use":
        named.append(KEPT[keeping])
    if told_of.visits(mine[0][1]["item"], day):
        named.append("visiting")
    return ", ".join(named)


def cells(nuclide: str) -> dict[str, str]:
    values: dict[str, str] = Nuclide.objects.get(name=nuclide).values
    return values


def evidence(mine: Any, kind: str, day: date) -> list[Any]:
    return [
        (one, item)
        for one, item in mine
        if one["kind"] == kind and item["outcome"] and one["day"] <= day
    ]


def counts(one: Any, item: Any, all_told: Any, day: date) -> bool:
    """Only an accepted, valid pass satisfies, from the day of its acceptance on."""
    if item["outcome"] != "pass" or not item["fit"]:
        return False
    return bool(one["accepted_by"]) or acceptance(one, all_told, day) is not None


def acceptance(one: Any, all_told: Any, day: date) -> Any:
    """The first record by the day that accepts this one."""
    for other in all_told:
        names_it = {"role": "accepts", "seq": one["seq"]} in other["links"]
        if names_it and other["live"] and other["day"] <= day:
            return other
    return None


def newest(mine: Any, all_told: Any, kind: str, day: date) -> str:
    """The newest evidence in words."""
    found = evidence(mine, kind, day)
    if not found:
        return "none recorded"
    one, item = found[-1]
    said = OUTCOMES[item["outcome"]]
    if not item["fit"]:
        why = UNFIT[item["unfit_because"].removeprefix("counter_calibration_")]
        said = f"{said}, though {why}" if item["accuses"] else f"not relied on: {why}"
    elif item["outcome"] == "pass" and not counts(one, item, all_told, day):
        said = "entered, not accepted"
    return f"{day_text(one['day'])}: {said} (record {one['seq']})"


def state(code: str, all_told: Any, kind: str, day: date) -> tuple[str, date | None]:
    """What a requirement says on the day, and when it is due."""
    mine = about(code, all_told)
    if open_follow_ups(code, all_told, day, kind):
        return "failed, out of use", None
    if where(mine, all_told, day) is None:
        return "not required", None
    row = rule(all_told, described(mine, day), kind, day)
    if row.get("result") == "undecided":
        return "interval not decided", None
    good = [(one, item) for one, item in evidence(mine, kind, day)
            if counts(one, item, all_told, day)]  # fmt: skip
    if not good:
        return "never done", None
    last, item = good[-1]
    for one, other in evidence(mine, kind, day):
        if other["accuses"] and other["outcome"] != "pass" and one["order"] > last["order"]:
            return "never shown good since it failed", None
    due = later(last["day"], row["months"])
    if item["valid_until"]:
        due = min(due, date.fromisoformat(item["valid_until"]))
    left = (due - day).days
    if left < 0:
        return f"{-left} day{'s' if left < -1 else ''} late", due
    if left > row["lead_days"]:
        return f"good until {day_text(due)}", due
    return ("due today" if left == 0 else f"due in {left} day{'s' if left > 1 else ''}"), due


def open_follow_ups(code: str, all_told: Any, day: date, kind: str = "") -> list[Any]:
    """The records that accused, corrected or not, and that nobody had closed by the day."""
    out = []
    for one in all_told:
        mentions = [item for item in one["items"] if item["item"] == code]
        if (kind and one["kind"] != kind) or one["day"] > day or not mentions:
            continue
        closings = [
            other["day"]
            for other in all_told
            if other["live"]
            and {"role": "closes", "seq": one["seq"]} in other["links"]
            and code in [item["item"] for item in other["items"]]
        ]
        if mentions[0]["accuses"] and not any(closed <= day for closed in closings):
            out.append(one)
    return out


def rule(all_told: Any, what: Any, requirement: str, day: date) -> dict[str, Any]:
    """The row of the schedule: one that replaces goes before the default."""
    schedule = None
    for one in all_told:
        if one["kind"] == "schedule_set" and (one["day"] <= day or schedule is None):
            schedule = one["detail"]
    assert schedule is not None
    name = f"{schedule['rule_set']}-{schedule['version']}.toml"
    found: dict[str, Any] = {}
    gas = "nuclide" in what and cells(what["nuclide"])["gas"] == "yes"
    for row in tomllib.loads((RULES / name).read_text(encoding="utf-8"))["row"]:
        holds = row["requirement"] == requirement and (gas or not row.get("when"))
        if holds and (not found or row.get("mode") == "replaces"):
            found = row
    return found


def later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = (date(year + (month == 11), (month + 1) % 12 + 1, 1) - timedelta(1)).day
    return date(year, month + 1, min(day.day, last))


def day_text(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def fold(text: str) -> str:
    """Small letters, numbers by their size."""
    out, digits = "", ""
    for char in f"{' '.join(text.casefold().split())}.":
        if char.isdigit():
            digits += char
        else:
            out += (digits.rjust(8, "0") if digits else "") + char
            digits = ""
    return out[:-1]
