"""What the form of a wipe starts with: a new one, or the record to be corrected."""

from __future__ import annotations

import json
from typing import Any

from django.db.models import Q

from inventory.ledger.models import Item, ItemKind, Record
from inventory.timeline import Stay
from surveys.leak.models import Way


def new_wipe(request: Any) -> dict[str, Any]:
    """Today, by the person at the form, on the only counter there is."""
    code = request.GET.get("source", "").upper()
    chosen = Item.objects.visible_to(request.user, request.today).filter(
        site=request.site, kind=ItemKind.SOURCE, code=code
    )
    counters = Item.objects.filter(site=request.site, monitor__monitor_kind="wipe_counter")[:2]
    return {
        "sources": [item.code for item in chosen],
        "wiped_on": request.today,
        "counted_on": request.today,
        "sampled_by": request.user.name,
        "way": Way.COUNTS,
        "why": "routine",
        "counter": counters[0].code if len(counters) == 1 else None,
    }


def near_sources(request: Any, sources: Any, replaces: Record | None) -> Any:
    """The source that the page was opened for and those in the same gauge, to be ticked; for a
    correction those of the record and their neighbours. None: choose from the whole list."""
    chosen = sources.filter(kind=ItemKind.SOURCE)
    if replaces is not None:
        chosen = chosen.filter(mentions__record=replaces)
    else:
        chosen = chosen.filter(code=request.GET.get("source", "").upper())
    keys = list(chosen.values_list("pk", flat=True))
    if not keys:
        return None
    gauges = Stay.objects.on(request.today).filter(item__in=keys, gauge__isnull=False)
    beside = Stay.objects.on(request.today).filter(gauge__in=gauges.values("gauge"))
    return sources.filter(Q(pk__in=keys) | Q(pk__in=beside.values("item")))


def from_record(request: Any, old: Record) -> dict[str, Any]:
    """Everything as it was entered, to be corrected."""
    body = json.loads(old.body)
    detail = body["detail"]
    stated = detail.get("stated", {})
    return {
        "sources": [one["item"] for one in body["items"] if one["role"] == "subject"],
        "wiped_on": old.effective_on,
        "wiped_time": old.effective_time,
        "sampled_by": body["performed_by"],
        "counter": body["instrument"],
        "remark": body["remark"],
        **{
            name: detail.get(name)
            for name in (
                *("way", "why", "method", "point_wiped", "counted_on", "counted_by"),
                *("laboratory", "report", "reported_on", "declared_by", "document"),
            )
        },
        **_counts(detail),
        **stated,
        **_laboratory(detail),
        "declared": {True: "passed", False: "failed"}.get(detail.get("passed"), ""),
    }


def _laboratory(detail: dict[str, Any]) -> dict[str, Any]:
    """One that the site describes is chosen, another one written."""
    code = detail.get("laboratory_code")
    return {"described": code, "laboratory": ""} if code else {}


def _counts(detail: dict[str, Any]) -> dict[str, str]:
    out = {}
    for name in ("gross", "background"):
        pairs = detail.get(name) or []
        out[f"{name}_counts"] = " + ".join(_plain(count) for count, _ in pairs)
        times = [_plain(seconds) for _, seconds in pairs if seconds]
        out[f"{name}_seconds"] = " + ".join(times)
    return out


def _plain(text: str) -> str:
    number = float(text)
    return str(int(number)) if number == int(number) else repr(number)
