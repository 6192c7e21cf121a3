"""Where things are, a second time: written from the domain's words, verb by verb, with plain loops
over every movement that was told. It shares no code with the calculation that it checks.

A movement is a dict: number, day, clock ("" or "HH:MM"), thing, verb, gauge, place, kept, whom,
theirs. A thing is a gauge or monitor, or a source, which can be inside a gauge.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Any

GONE_BUT_BACK = ("transferred", "left")
Told = dict[str, Any]


def nothing() -> Told:
    return {"is": "nowhere", "gauge": None, "place": None, "home": None, "kept": "in_use",
            "whom": "", "theirs": False}  # fmt: skip


def in_order(movements: list[Told]) -> list[Told]:
    def when(one: Told) -> tuple[Any, ...]:
        untimed = "00:00" if one["verb"] == "received" else "99:99"
        return (one["day"], one["clock"] or untimed, one["number"])

    return sorted(movements, key=when)


class Site:
    """Everything that was told of a site: where each thing is, and what cannot have been."""

    def __init__(self, movements: list[Told]) -> None:
        self.wrong: list[tuple[int, str]] = []
        self.lines: dict[str, list[tuple[date, Told]]] = {}
        self.clocks: dict[str, list[str]] = {}  # of the same movements
        of_sources = {one["thing"] for one in movements if one["source"]}
        for thing in sorted({one["thing"] for one in movements} - of_sources):
            self._go_through(thing, movements)
        for thing in sorted(of_sources):
            self._go_through(thing, movements)

    def _go_through(self, thing: str, movements: list[Told]) -> None:
        now, line, clocks = nothing(), [], []
        for one in in_order([one for one in movements if one["thing"] == thing]):
            why = self._why_not(now, one)
            if why:
                self.wrong.append((one["number"], why))
            else:
                now = self._then(now, one)
                line.append((one["day"], deepcopy(now)))
                clocks.append(one["clock"])
        self.lines[thing], self.clocks[thing] = line, clocks

    # -------------------------------------------------------------- may it have happened?

    def _why_not(self, now: Told, one: Told) -> str:  # noqa: C901, one rule a line
        verb, here = one["verb"], now["is"]
        if verb == "received":
            if here == "disposed":
                return "disposed"
            if here == "gauge" and self._moments(now["gauge"], one)[-1] in GONE_BUT_BACK:
                here = "left"
            if here not in ("nowhere", "transferred", "left"):
                return "there already"
            return self._into(one)
        if here == "nowhere":
            return "never received"
        if here in ("transferred", "disposed", "left"):
            return "gone"
        if here == "gauge":
            return self._why_not_from_gauge(now, one)
        if verb == "found":
            return "" if here == "missing" else "not missing"
        if here == "missing":
            return "missing"
        if verb == "missing":
            return ""
        if verb == "back":
            return "" if here == "out" else "not out"
        if here == "out":
            return "out"
        if verb == "arrived":
            return "" if here == "transit" else "not on its way"
        if verb == "returned":
            return "" if here in ("transit", "away") else "not away"
        if here == "transit":
            return "on its way"
        if verb in ("transferred", "disposed"):
            return "not ours" if now["theirs"] else ""
        if here == "away":
            return "away"
        if verb == "removed":
            return "in no gauge"
        if verb in ("out", "sent_away"):
            return "not ours" if now["theirs"] else ""
        if verb == "left":
            return "" if now["theirs"] else "ours"
        if verb == "installed":
            return self._into(one)
        kept = "stored" if verb == "stored" else one["kept"]
        if kept == now["kept"] and one["place"] == now["place"]:
            return "no change"
        if verb == "moved" and kept == "packed" and now["kept"] != "packed":
            return "unpacked"
        return ""

    def _why_not_from_gauge(self, now: Told, one: Told) -> str:
        verb, gauge = one["verb"], now["gauge"]
        held = self._moments(gauge, one)
        if all(state in ("transferred", "disposed", "left") for state in held):
            return "gone with its gauge"
        if verb == "found":
            return "" if "missing" in held else "not missing"
        if verb == "missing":
            real = [state for state in held if state not in ("transferred", "disposed", "left")]
            return "missing with its gauge" if set(real) == {"missing"} else ""
        if verb not in ("removed", "installed"):
            return "inside"
        if "place" not in held:
            return "its gauge is not here"
        if verb == "installed":
            return "in it already" if one["gauge"] == gauge else self._into(one)
        return "unpacked" if one["kept"] == "packed" and now["kept"] != "packed" else ""

    def _into(self, one: Told) -> str:
        if one["gauge"] is None or "place" in self._moments(one["gauge"], one):
            return ""
        return "no gauge there"

    def _moments(self, gauge: str, one: Told) -> list[str]:
        """How a gauge may have been when something else moved: as it was the evening before, and
        after each movement of the day. Two clocks tell what was over, and what was to come."""
        day, clock = one["day"], one["clock"]
        moments, clocks = ["nowhere"], [""]
        for (on, state), its in zip(
            self.lines.get(gauge, []), self.clocks.get(gauge, []), strict=True
        ):
            if on < day:
                moments = [state["is"]]
            elif on == day:
                moments.append(state["is"])
                clocks.append(its)
        possible = []
        for place, moment in enumerate(moments):
            over = any(clock and its and its < clock for its in clocks[place + 1 :])
            to_come = bool(clock and clocks[place] and clocks[place] > clock)
            if not over and not to_come:
                possible.append(moment)
        return possible

    # -------------------------------------------------------------- and then?

    def _then(self, now: Told, one: Told) -> Told:
        verb = one["verb"]
        then = {**now, "gauge": None, "place": None, "whom": one["whom"]}
        if verb == "received":
            then["theirs"] = one["theirs"]
        if one["gauge"] is not None:
            return {**then, "is": "gauge", "gauge": one["gauge"], "kept": one["kept"],
                    "home": None, "whom": ""}  # fmt: skip
        if verb in ("received", "removed", "moved", "stored", "back", "returned", "found"):
            place = one["place"] or now["home"]
            kept = "stored" if verb == "stored" else one["kept"]
            return {**then, "is": "place", "place": place, "home": place, "kept": kept, "whom": ""}
        if verb == "out":
            return {**then, "is": "out", "kept": one["kept"]}
        if verb == "sent_away":
            return {**then, "is": "transit"}
        if verb == "arrived":
            return {**then, "is": "away", "whom": one["whom"] or now["whom"]}
        if verb == "missing":
            return {**then, "is": "missing"}
        return {**then, "is": verb}

    # -------------------------------------------------------------- where is it?

    def where(self, thing: str, day: date) -> tuple[Any, ...] | None:
        """Gauge, place, whereabouts, how it is kept, with whom; None when it is not here."""
        state = self._evening(thing, day)
        if state is None or state["is"] in ("transferred", "disposed", "left"):
            return None
        if state["is"] != "gauge":
            word = {"place": "at_location", "transit": "in_transit"}.get(state["is"], state["is"])
            return (None, state["place"], word, state["kept"], state["whom"])
        held = self.where(state["gauge"], day)
        if held is None:
            if self._evening(state["gauge"], day) is None:
                return (state["gauge"], None, "in_gauge", state["kept"], "")
            return None
        _, place, word, kept, whom = held
        return (state["gauge"], place, "in_gauge" if word == "at_location" else word, kept, whom)

    def since(self, thing: str, day: date) -> date:
        """Since when it has been there: since it or its gauge last moved."""
        moved = [on for on, _ in self.lines[thing] if on <= day]
        state = self._evening(thing, day)
        if state is not None and state["gauge"] is not None:
            moved += [on for on, _ in self.lines.get(state["gauge"], []) if on <= day]
        return max(moved)

    def visits(self, thing: str, day: date) -> bool:
        """Whether it, or the gauge that it is in, belongs to somebody else."""
        state = self._evening(thing, day)
        if state is None:
            return False
        return bool(state["theirs"]) or (
            state["gauge"] is not None and self.visits(state["gauge"], day)
        )

    def _evening(self, thing: str, day: date) -> Told | None:
        found = None
        for on, state in self.lines.get(thing, []):
            if on <= day:
                found = state
        return found


VERBS = (
    *("received", "installed", "removed", "moved", "stored", "out", "back", "sent_away"),
    *("arrived", "returned", "transferred", "disposed", "missing", "found", "left"),
)
_last: list[Any] = [None, None]


def of_records(all_told: Any) -> Site:
    """The movements that records tell, as ``told`` reads them. The last answer is kept: the same
    records are asked about many days."""
    if _last[0] is not all_told:
        live = [one for one in all_told if one["kind"] in VERBS and one["live"]]
        _last[:] = [all_told, Site([_of_record(one) for one in live])]
    site: Site = _last[1]
    return site


def _of_record(one: Any) -> Told:
    detail, item = one["detail"], one["items"][0]
    return {
        "number": one["order"][2],
        "day": one["day"],
        "clock": one["effective_time"] or "",
        "thing": item["item"],
        "source": item["kind"] == "source",
        "verb": one["kind"],
        "gauge": detail["gauge"],
        "place": detail["location"],
        "kept": detail.get("keeping", "in_use"),
        "whom": detail.get("away_to", ""),
        "theirs": bool(detail.get("owner")),
    }
