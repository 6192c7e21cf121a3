"""Steps of follow-ups, a second time: read from the texts of the records alone, one by one.

It shares no code with the calculation it checks.
"""

from __future__ import annotations

import json
from typing import Any

from inventory.ledger.models import Record

Row = tuple[int, int, str, str, str | None, int | None, str | None]


def steps_of(item: Any) -> list[Row]:
    """Opening record, adding record, text, who, by when, marking record, day: by number."""
    added: dict[int, dict[str, Any]] = {}
    marked: dict[int, dict[str, Any]] = {}
    for record in Record.objects.filter(about__item=item).order_by("seq"):
        body = json.loads(record.body)
        if body["kind"] not in ("followup_step", "followup_step_done"):
            continue
        place = added if body["kind"] == "followup_step" else marked
        if body["replaces"] is not None:
            del place[int(body["replaces"])]
        if not body["detail"]["withdrawn"]:
            place[int(body["seq"])] = body
    out = []
    for seq, body in added.items():
        detail = body["detail"]
        done = [one for one in marked.values() if int(one["detail"]["step"]) == seq]
        last = done[-1] if done else None
        out.append(
            (
                int(detail["opened_by"]),
                *(seq, detail["text"], detail["who"], detail["by_on"]),
                int(last["seq"]) if last else None,
                last["effective_on"] if last else None,
            )
        )
    return sorted(out)
