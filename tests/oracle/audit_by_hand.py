"""The history audit, a second time: written from the domain's words, one day after the other.

It reads the text of every record of the site, the nuclide table and the file of the rule set, and
shares no code with what it checks. The decision of a wipe is that of ``leak_by_roots``.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from inventory.ledger.models import Record
from inventory.nuclides.models import Nuclide
from tests.oracle import leak_by_roots, movements_by_hand

RULES = Path(__file__).parents[2] / "fixtures" / "rulesets"
DAY = timedelta(days=1)
#: Kind of finding, code, from, until, days late or without, records.
Line = tuple[str, str, str, str, int, tuple[int, ...]]


class Site:
    """Everything that was told by a moment about what happened by a day."""

    def __init__(self, site: Any, day: date, known: Any = None) -> None:
        records = Record.objects.filter(site=site).order_by("seq")
        if known is not None:
            records = records.filter(recorded_at__lte=known)
        self.told = [json.loads(text) for text in records.values_list("body", flat=True)]
        self.day = day
        corrected = {int(one["replaces"]) for one in self.told if one["replaces"]}
        for one in self.told:
            one["day"] = date.fromisoformat(one["effective_on"])
            one["live"] = int(one["seq"]) not in corrected
            untimed = "00" if one["kind"] == "received" else "99"
            one["order"] = (one["day"], one["effective_time"] or untimed, self._place(one))
        self.told.sort(key=lambda one: one["order"])

    def _place(self, one: Any) -> int:
        while one["replaces"]:
            one = next(other for other in self.told if other["seq"] == one["replaces"])
        return int(one["seq"])

    def codes(self, kind: str) -> set[str]:
        return {
            item["item"]
            for one in self.told
            for item in one["items"]
            if item["kind"] == kind and one["kind"] == "described" and one["day"] <= self.day
        }

    def of(self, code: str) -> list[tuple[Any, Any]]:
        return [(one, item) for one in self.told for item in one["items"] if item["item"] == code]

    def described(self, code: str, day: date) -> Any:
        found = None
        for one, _item in self.of(code):
            if one["kind"] == "described" and one["live"] and (one["day"] <= day or found is None):
                found = one["detail"]
        return found

    def schedule(self, day: date) -> Any:
        found = None
        for one in self.told:
            if one["kind"] == "schedule_set" and one["live"] and (one["day"] <= day or not found):
                found = one["detail"]
        name = f"{found['rule_set']}-{found['version']}.toml"
        return tomllib.loads((RULES / name).read_text(encoding="utf-8"))

    def accepted_from(self, one: Any) -> date | None:
        """From which day on a record counts as accepted."""
        if one["accepted_by"]:
            return one["day"]
        days = [
            other["day"]
            for other in self.told
            if other["live"] and {"role": "accepts", "seq": one["seq"]} in other["links"]
        ]
        return max(min(days), one["day"]) if days else None

    def closed_on(self, one: Any, code: str) -> date | None:
        days = [
            other["day"]
            for other in sorted(self.told, key=lambda each: int(each["seq"]))
            if other["live"]
            and {"role": "closes", "seq": one["seq"]} in other["links"]
            and code in [item["item"] for item in other["items"]]
        ]
        return days[0] if days else None


class DayByDay:
    """What a requirement said of one thing at the end of each day."""

    def __init__(self, site: Site, code: str, requirement: str) -> None:
        self.site, self.code, self.requirement = site, code, requirement
        self.mine = site.of(code)
        self.records = [
            (one, item, site.accepted_from(one))
            for one, item in self.mine
            if one["kind"] == requirement and item["outcome"]
        ]
        self.accusing = [
            (one, site.closed_on(one, code))
            for one, item in self.mine
            if one["kind"] == requirement and item["accuses"]
        ]
        gas = False
        described = site.described(code, site.day) or {}
        if described.get("nuclide"):
            gas = Nuclide.objects.get(name=described["nuclide"]).values["gas"] == "yes"
        self.rules: dict[date, Any] = {}
        self.gas = gas
        self.first = min((one["day"] for one, _ in self.mine), default=site.day)
        self.days = []
        day = self.first
        while day <= site.day:
            self.days.append((day, *self.says(day)))
            day += DAY

    def rule(self, day: date) -> Any:
        changes = [one["day"] for one in self.site.told if one["kind"] == "schedule_set"]
        since = max((on for on in changes if on <= day), default=date.min)
        if since not in self.rules:
            found: dict[str, Any] = {}
            for row in self.site.schedule(day)["row"]:
                holds = row["requirement"] == self.requirement and (self.gas or not row.get("when"))
                if holds and (not found or row.get("mode") == "replaces"):
                    found = row
            self.rules[since] = found
        return self.rules[since]

    def here(self, day: date) -> bool:
        return movements_by_hand.of_records(self.site.told).where(self.code, day) is not None

    def says(self, day: date) -> tuple[str, date | None, int | None]:
        """State, due date, and the number of the record that decides."""
        still_open = [
            one
            for one, closed in self.accusing
            if one["day"] <= day and (closed is None or day < closed)
        ]
        if still_open:
            first = min(still_open, key=lambda one: (one["day"], int(one["seq"])))
            return "failed", None, int(first["seq"])
        if not self.here(day):
            return "not_required", None, None
        rule = self.rule(day)
        if rule.get("result") == "undecided":
            return "undecided", None, None
        good, worse = None, None
        for one, item, accepted in self.records:
            if one["day"] > day or not one["live"]:
                continue
            if item["outcome"] == "pass":
                if item["fit"] and accepted is not None and accepted <= day:
                    good, worse = one, None
            elif item["accuses"]:
                worse = one
        if good is None or worse is not None:
            deciding = int(worse["seq"]) if good is not None and worse is not None else None
            return "never_done", None, deciding
        due = months_later(good["day"], rule["months"])
        until = next(i for o, i, _ in self.records if o is good).get("valid_until")
        if until:
            due = min(due, date.fromisoformat(until))
        return ("late" if due < day else "good"), due, int(good["seq"])

    def gaps(self, late: str, without: str) -> Iterator[Line]:
        """Runs of days that are late or have nothing, and what was done a single day too late."""
        runs: list[list[Any]] = []
        for day, state, due, record in self.days:
            if runs and runs[-1][0] == state and (state != "good" or runs[-1][-1][1] == due):
                runs[-1].append((day, due, record))
            else:
                runs.append([state, (day, due, record)])
        for run, after in zip(runs, [*runs[1:], None], strict=True):
            state, (first, first_due, first_record), last = run[0], run[1], run[-1]
            ended = after[1][0] if after else None
            next_record = after[1][2] if after else None
            until = ended.isoformat() if ended else ""
            if state == "late":
                days = ((ended or self.site.day) - first_due).days
                begins = first_due + DAY
                yield (
                    late,
                    self.code,
                    begins.isoformat(),
                    until,
                    days,
                    self._seqs(first_record, next_record),
                )
            elif state == "never_done":
                days = (last[0] - first).days + 1
                yield (
                    without,
                    self.code,
                    first.isoformat(),
                    until,
                    days,
                    self._seqs(last[2], next_record),
                )
            elif state == "good" and after and after[0] == "good" and last[1] == last[0]:
                yield late, self.code, until, until, 1, self._seqs(last[2], next_record)

    def _seqs(self, *records: int | None) -> tuple[int, ...]:
        return tuple(seq for seq in records if seq is not None)

    def failures(self) -> Iterator[Line]:
        for one, closed in self.accusing:
            if one["day"] <= self.site.day and (closed is None or self.site.day < closed):
                yield "failure_open", self.code, one["effective_on"], "", 0, (int(one["seq"]),)

    def shares(self) -> tuple[int, int, int, int]:
        """Days in date and days that count: of the last three years, of all."""
        since = months_later(self.site.day, -36) + DAY
        counted = [(day, state) for day, state, _due, _record in self.days]
        counted = [one for one in counted if one[1] in ("good", "late", "never_done")]
        recent = [one for one in counted if one[0] >= since]
        return (
            sum(state == "good" for _day, state in recent),
            len(recent),
            sum(state == "good" for _day, state in counted),
            len(counted),
        )


def findings(site: Any, day: date, known: Any = None) -> set[Line]:
    """Every finding of the site that has to do with days and wipes."""
    told = Site(site, day, known)
    out: set[Line] = set()
    for code in told.codes("source"):
        line = DayByDay(told, code, "leak_test")
        out |= set(line.gaps("late", "no_evidence")) | set(line.failures())
        out |= set(_wipes(told, code, line))
        out |= set(_old(told, code, line))
    for code in told.codes("monitor"):
        line = DayByDay(told, code, "calibration")
        out |= set(line.gaps("calibration_late", "no_calibration")) | set(line.failures())
        out |= set(_unfit(told, code, line))
    return out


def shares(site: Any, day: date, known: Any = None) -> dict[str, tuple[int, int, int, int]]:
    """How punctual each source was, where it was not always in the last three years."""
    told = Site(site, day, known)
    lines = {code: DayByDay(told, code, "leak_test").shares() for code in told.codes("source")}
    return {code: found for code, found in lines.items() if found[0] != found[1]}


def _past(told: Site, line: DayByDay) -> list[Any]:
    return [one for one in line.records if one[0]["live"] and one[0]["day"] <= told.day]


def _old(told: Site, code: str, line: DayByDay) -> Iterator[Line]:
    past = _past(told, line)
    if past and line.days[-1][1] != "not_required":
        newest = past[-1][0]
        if newest["day"] < months_later(told.day, -36):
            yield "old", code, newest["effective_on"], "", 0, (int(newest["seq"]),)


def _wipes(told: Site, code: str, line: DayByDay) -> Iterator[Line]:
    for one, _item, _accepted in _past(told, line):
        point = next(each for each in one["points"] if each["item"] == code)
        detail, recorded = one["detail"], point["verdict"]
        finding = recorded["finding"]
        if detail["way"] == "counts":
            finding = _judged(told, code, one)
        claim = detail.get("claimed") or {True: "passed", False: "failed"}.get(
            detail.get("passed"), ""
        )
        for kind in _kinds(finding, claim, recorded):
            yield kind, code, one["effective_on"], "", 0, (int(one["seq"]),)


def _kinds(finding: str, claim: str, recorded: Any) -> Iterator[str]:
    outcome = _outcome(finding)
    blind = finding == "inconclusive_insensitive"
    if blind:
        yield "could_not_tell"
    elif finding == "inconclusive_declared":
        yield "bare"
    elif (claim, outcome) in {
        ("passed", "fail"),
        ("passed", "inconclusive"),
        ("passed", "not_evaluable"),
        ("failed", "pass"),
        ("failed", "inconclusive"),
        ("failed", "not_evaluable"),
    }:
        yield "says_otherwise"
    if outcome != recorded["outcome"] and not blind:
        yield "judged_anew"


def _outcome(finding: str) -> str:
    return next(
        word
        for word in ("pass", "fail", "inconclusive", "not_evaluable")
        if finding.startswith(word)
    )


def _judged(told: Site, code: str, one: Any) -> str:
    """The finding of one gross and one background count, with the calibration of that day."""
    nuclide = told.described(code, one["day"])["nuclide"]
    if Nuclide.objects.get(name=nuclide).values["gas"] == "yes":
        return "not_evaluable_gas"
    efficiency = _efficiency(told, one["instrument"], nuclide, one["detail"]["counted_on"])
    if efficiency is None:
        return "not_evaluable_efficiency"
    limit = told.schedule(one["day"])["leak_limit"]
    ((gross, t_g),), ((background, t_0),) = one["detail"]["gross"], one["detail"]["background"]
    setup = leak_by_roots.Setup(
        n_g=int(float(gross)),
        t_g=float(t_g),
        n_0=int(float(background)),
        t_0=float(t_0),
        eps=float(efficiency["efficiency"]),
        u_rel=float(efficiency["u_rel"] or 0.3),
        limit=float(limit["bq"]),
        reached_fails=limit["comparator"] == "reaches",
    )
    return leak_by_roots.finding(setup)


def _efficiency(told: Site, counter: str, nuclide: str, counted_on: str) -> Any:
    day = date.fromisoformat(counted_on)
    last = None
    for one, item in told.of(counter):
        accepted = told.accepted_from(one) if one["kind"] == "calibration" else None
        good = one["live"] and item["outcome"] == "pass" and item["fit"]
        if accepted is not None and good and accepted <= day and one["day"] <= day:
            last = one
    points = last["points"] if last else []
    return next((point for point in points if point["nuclide"] == nuclide), None)


def _unfit(told: Site, code: str, line: DayByDay) -> Iterator[Line]:
    """Wipes counted on this counter that are not relied on, then or as known now."""
    states = {day: state for day, state, _due, _record in line.days}
    for one in told.told:
        if one["kind"] != "leak_test" or one["instrument"] != code or not one["live"]:
            continue
        subjects = [item for item in one["items"] if item["outcome"]]
        counted_on = one["detail"]["counted_on"]
        counted = date.fromisoformat(counted_on)
        state = states.get(counted, line.says(counted)[0])
        bad = state != "good" or any(not item["fit"] for item in subjects)
        if one["day"] <= told.day and bad and subjects:
            yield "counted_unfit", code, counted_on, "", 0, (int(one["seq"]),)


def months_later(day: date, months: int) -> date:
    """The same day of another month, or that month's last day where it has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    number = day.day
    while True:
        try:
            return date(year, month + 1, number)
        except ValueError:
            number -= 1
