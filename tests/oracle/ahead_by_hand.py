"""How everything that is due stands to the planned shutdowns of a day, a second time, from the
texts of the records with plain loops. It shares no code with what it checks."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.oracle import movements_by_hand
from tests.oracle.told import about, codes, described, later, state, told

WORK = {"source": "leak_test", "monitor": "calibration"}
#: What a planner must know of, in words, where there is no due date.
WITHOUT_A_DATE = ("failed", "never", "interval not decided")


def shutdowns(site: Any, day: date) -> list[dict[str, Any]]:
    """What was planned at the end of a day and is not over: a record that another one replaced
    by then does not stand, nor does one without days."""
    all_told = told(site)
    planned = [one for one in all_told if one["kind"] == "shutdown_planned" and one["day"] <= day]
    replaced = [int(one["replaces"]) for one in planned if one["replaces"]]
    out = []
    for one in planned:
        detail = one["detail"]
        if int(one["seq"]) in replaced or detail["begins_on"] is None:
            continue
        first, last = (date.fromisoformat(detail[name]) for name in ("begins_on", "ends_on"))
        if last >= day:
            said = {"seq": int(one["seq"]), "first": first, "last": last, "place": detail["place"]}
            out.append(said)
    return out


def verdicts(site: Any, day: date, months: int) -> dict[int, set[tuple[str, str, str, int]]]:
    """By the number of the shutdown's record: code, work, verdict and days of everything there."""
    all_told = told(site)
    out: dict[int, set[tuple[str, str, str, int]]] = {}
    for stop in shutdowns(site, day):
        out[stop["seq"]] = set()
        for kind, work in WORK.items():
            for code in codes(all_told, kind):
                place = _place(code, all_told, day)
                if place is None or not _belongs(place, stop["place"], all_told):
                    continue
                said = _verdict(code, work, stop, all_told, day, months)
                if said is not None:
                    out[stop["seq"]].add((code, work, *said))
    return out


def _place(code: str, all_told: Any, day: date) -> str | None:
    """The location in which a thing is, alone or in a gauge that stands there; what is out, away or
    missing is nowhere."""
    found = movements_by_hand.of_records(all_told).where(code, day)
    if found is None:
        return None
    _gauge, place, whereabouts, _kept, _whom = found
    here: str | None = place if whereabouts in ("at_location", "in_gauge") else None
    return here


def _belongs(place: str | None, to: str | None, all_told: Any) -> bool:
    """Whether a location is that of the shutdown, or lies in it, however deep; by what is known of
    the locations now."""
    if to is None:
        return True
    while place is not None:
        if place == to:
            return True
        place = described(about(place, all_told), date.max)["within"]
    return False


def _verdict(
    code: str, work: str, stop: Any, all_told: Any, day: date, months: int
) -> tuple[str, int] | None:
    sentence, due = state(code, all_told, work, day)
    if due is None:
        return ("no_date", 0) if sentence.startswith(WITHOUT_A_DATE) else None
    if due < stop["first"]:
        return "falls_short", (stop["first"] - due).days
    if due <= stop["last"]:
        return "reached", (due - stop["first"]).days
    if due <= later(stop["last"], months):
        return "take_along", (due - stop["last"]).days
    return None
