"""Descriptions of things that are papers or people, and what any description may say besides."""

from __future__ import annotations

from datetime import date
from typing import Any

#: What a description of a source, a gauge, a place or a monitor says only where it is known: a
#: description without the key says nothing of it, as those that are older than the key.
OF_A_SOURCE = (
    *("use", "made_text", "made_on", "made_precision", "working_life_until"),
    *("special_form_certificate", "special_form_until", "iso_2919", "physical_form"),
    "inaccessible",
)
OF_A_GAUGE = ("device_kind", "portable", "type_approved", "quality_on", "detects_leak_in_water")
OF_A_PLACE = ("designation",)
OF_A_MONITOR = ("presence_only", "required_by_law", "radiation")


def said(**facts: Any) -> dict[str, Any]:
    """Those facts that say anything: neither empty nor no."""
    return {name: value for name, value in facts.items() if value}


def permit_snapshot(
    number: str,
    *,
    issued_by: str = "",
    valid_from: date | None = None,
    valid_until: date | None = None,
    conditions: str = "",
    remark: str = "",
) -> dict[str, Any]:
    """The description of a permit; without ``valid_until`` nobody knows when it ends."""
    return {
        "label": number,
        "key": number,
        "number": number,
        "issued_by": issued_by,
        "valid_from": valid_from,
        "valid_until": valid_until,
        "conditions": conditions,
        "remark": remark,
    }


def person_snapshot(
    name: str, *, duty: str = "", since: date | None = None, remark: str = ""
) -> dict[str, Any]:
    """The description of a person with a duty under the local rules, ``since`` a day."""
    person = {"name": name, "duty": duty, "since": since, "remark": remark}
    return {"label": name, "key": name, **person}
