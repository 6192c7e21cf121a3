"""The register of what is overdue and open on a day, a second time, from the texts of the records.

Rows as sets: their order is a matter of urgency, which the register itself is asked about.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from tests.oracle.told import (
    about,
    acceptance,
    called,
    cells,
    codes,
    day_text,
    described,
    evidence,
    newest,
    open_follow_ups,
    rule,
    state,
    told,
    where,
)

REQUIREMENTS = {"source": ("leak_test", "leak test"), "monitor": ("calibration", "calibration")}
WORDS = {"leak_test": "leak test", "calibration": "calibration"}


def rows(site: Any, day: date, known: datetime | None = None) -> list[dict[str, str]]:
    """Requirements to look at, open follow-ups, open points."""
    all_told = told(site, known)
    out: list[dict[str, str]] = []
    for kind in REQUIREMENTS:
        for code in codes(all_told, kind):
            out += _requirement(code, kind, all_told, day)
            out += [_follow_up(code, kind, one, all_told, day)
                    for one in open_follow_ups(code, all_told, day)]  # fmt: skip
            if kind == "source" and where(about(code, all_told), all_told, day):
                out += _open_points(code, all_told, day)
    return out


def _shared(code: str, kind: str, all_told: Any, day: date) -> dict[str, str]:
    return {
        "Code": code,
        "Subject": called(code, all_told, day),
        "Kind": kind,
        "Where": where(about(code, all_told), all_told, day) or "not on site",
        "Due on": "",
        "Clause": "",
        "Last recorded": "",
        "Last recorded on": "",
    }


def _requirement(code: str, kind: str, all_told: Any, day: date) -> list[dict[str, str]]:
    record_kind, word = REQUIREMENTS[kind]
    sentence, due = state(code, all_told, record_kind, day)
    if sentence.startswith("good until") or sentence == "not required":
        return []
    mine = about(code, all_told)
    found = evidence(mine, record_kind, day)
    row = {} if sentence.startswith("failed") else rule(all_told, described(mine, day), record_kind,
                                                        day)  # fmt: skip
    return [
        {
            **_shared(code, kind, all_told, day),
            "To be done": word,
            "State": sentence,
            "Due on": due.isoformat() if due else "",
            "Clause": f"{row['document']}, {row['clause']}" if row else "",
            "Last recorded": newest(mine, all_told, record_kind, day),
            "Last recorded on": found[-1][0]["effective_on"] if found else "",
            "why": f"every {row['months']} months" if due else "",
        }
    ]


def _follow_up(code: str, kind: str, one: Any, all_told: Any, day: date) -> dict[str, str]:
    on = day_text(one["day"])
    return {
        **_shared(code, kind, all_told, day),
        "To be done": "follow-up",
        "State": f"open since {on}",
        "why": f"{WORDS[one['kind']]} of {on} (record {one['seq']}) failed or accused.",
    }


def _open_points(code: str, all_told: Any, day: date) -> list[dict[str, str]]:
    mine = about(code, all_told)
    what = described(mine, day)
    shared = {**_shared(code, "source", all_told, day), "To be done": "open point", "State": "open"}
    return [shared | {"why": text} for text in _texts(what, mine, all_told, day)]


def _texts(what: Any, mine: Any, all_told: Any, day: date) -> Any:
    if not what["serial"]:
        yield f"The serial is not known: {what['serial_unknown_because']}."
    assert cells(what["nuclide"])
    if not what["activity_bq"]:
        yield "The activity is not known: totals say “at least”."
    reference = date.fromisoformat(what["reference_on"])  # each source of the random world has one
    if what["activity_bq"] and what["reference_precision"] != "day":
        yield (
            f"Only the {what['reference_precision']} of the reference date is known "
            f"(“{what['reference_text']}”): its last day, {day_text(reference)}, is used."
        )
    yield from _contradictions(reference, mine, day)
    for one, _item in evidence(mine, "leak_test", day):
        if not one["accepted_by"] and acceptance(one, all_told, day) is None:
            yield f"Record {one['seq']} of {day_text(one['day'])} waits to be accepted."


def _contradictions(reference: date, mine: Any, day: date) -> Any:
    arrived = [one["day"] for one, _item in mine if one["kind"] == "received" and one["day"] <= day]
    if arrived and reference > min(arrived):
        yield (
            f"The reference date {day_text(reference)} lies after arrival on "
            f"{day_text(min(arrived))}."
        )
    wiped = [one["day"] for one, _item in mine if one["kind"] == "leak_test" and one["day"] <= day]
    if arrived and wiped and min(wiped) < min(arrived):
        yield (
            f"The wipe of {day_text(min(wiped))} is older than the arrival on "
            f"{day_text(min(arrived))}."
        )
    if wiped and reference > min(wiped):
        yield (
            f"The reference date {day_text(reference)} lies after the wipe of "
            f"{day_text(min(wiped))}."
        )
