"""What is unknown or odd about a source: recorded as it is, named, never refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from inventory.calc.due import Event
from inventory.calc.explain import Step
from inventory.calc.moves import MISSING, RECEIVED, VERBS

LEAK_TEST = "leak_test"
#: After these somebody knows where it is.
PLACED = frozenset(VERBS) - {RECEIVED, MISSING}


def open_points(
    snapshot: Mapping[str, Any], events: Sequence[Event], on: date, *, nuclide_known: bool
) -> list[Step]:
    """Every open point of a source on a day, from its description and what happened by then."""
    past = [event for event in events if event.on <= on and event.live]
    return [
        *_identity(snapshot, nuclide_known),
        *_doubts(snapshot, past),
        *_activity(snapshot),
        *_reference(snapshot, past),
        *_arrival(snapshot, past),
        *_waiting(past, on),
    ]


def _identity(snapshot: Mapping[str, Any], nuclide_known: bool) -> Iterator[Step]:
    if not snapshot.get("serial"):
        why = snapshot.get("serial_unknown_because") or "no reason given"
        yield Step("open_serial_unknown", {"text": why})
    if not nuclide_known:
        yield Step("open_nuclide_unknown", {"text": snapshot.get("nuclide")})
    if snapshot.get("arrival_unknown"):
        yield Step("open_arrival_unknown")


def _doubts(snapshot: Mapping[str, Any], past: Sequence[Event]) -> Iterator[Step]:
    """What whoever loaded a list could not be sure of: each with the text that it is about, and
    settled once that is another."""
    doubts, serial = snapshot.get("doubts") or {}, snapshot.get("serial")
    if serial and doubts.get("serial_repeated") == serial:
        yield Step("open_serial_repeated", {"text": serial})
    if serial and doubts.get("leading_zeros") == serial:
        yield Step("open_leading_zeros", {"text": serial})
    if "place" in doubts and not any(event.kind in PLACED for event in past):
        yield Step("open_place_unknown")


def _activity(snapshot: Mapping[str, Any]) -> Iterator[Step]:
    if not snapshot.get("activity_bq"):
        yield Step("open_activity_unknown")
    elif not snapshot.get("reference_on"):
        yield Step("open_reference_unknown")
    elif snapshot.get("reference_precision") != "day":
        yield Step(
            "open_reference_day_unknown",
            {
                "precision": snapshot.get("reference_precision"),
                "text": snapshot.get("reference_text"),
                "reference_on": date.fromisoformat(snapshot["reference_on"]),
            },
        )


def _reference(snapshot: Mapping[str, Any], past: Sequence[Event]) -> Iterator[Step]:
    if not snapshot.get("reference_on"):
        return
    reference_on = date.fromisoformat(snapshot["reference_on"])
    arrived = [event.on for event in past if event.kind == RECEIVED]
    if arrived and min(arrived) < reference_on:
        yield Step(
            "open_reference_after_arrival",
            {"reference_on": reference_on, "arrived_on": min(arrived)},
        )
    wiped = [event.on for event in past if event.kind == LEAK_TEST]
    if wiped and min(wiped) < reference_on:
        yield Step(
            "open_reference_after_wipe", {"reference_on": reference_on, "wiped_on": min(wiped)}
        )


def _arrival(snapshot: Mapping[str, Any], past: Sequence[Event]) -> Iterator[Step]:
    """What is older than the arrival: the maker's leak-test certificate, or a wipe."""
    arrived = [event.on for event in past if event.kind == RECEIVED]
    if not arrived:
        return
    arrived_on = min(arrived)
    tested = snapshot.get("certificate_on")
    if tested and date.fromisoformat(tested) < arrived_on:
        yield Step(
            "open_certificate_before_arrival",
            {"tested_on": date.fromisoformat(tested), "arrived_on": arrived_on},
        )
    wiped = [event.on for event in past if event.kind == LEAK_TEST and not event.came_with]
    if wiped and min(wiped) < arrived_on:
        yield Step("open_wiped_before_arrival", {"wiped_on": min(wiped), "arrived_on": arrived_on})


def _waiting(past: Sequence[Event], on: date) -> Iterator[Step]:
    for event in past:
        accepted = event.accepted and (event.accepted_on or event.on) <= on
        if event.kind == LEAK_TEST and event.outcome and not accepted:
            yield Step("open_not_accepted", {"seq": event.seq, "done_on": event.on})
