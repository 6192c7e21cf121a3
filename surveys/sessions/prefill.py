"""What a new session starts with: today, the person at the bench, and what the last one said."""

from __future__ import annotations

from typing import Any

from inventory.ledger.models import Item, Record
from inventory.ledger.write import read_body
from surveys.leak.models import COUNTED_IN, SESSION_KIND
from surveys.sessions.picks import name_of
from surveys.sessions.rows import ROWS, Rows


def new_session(request: Any) -> dict[str, Any]:
    """Today, by this person; counter, check source and times as in the site's last session."""
    usual = _last(request)
    usual.setdefault("counter", _only_counter(request))
    return {
        "counted_on": request.today,
        "counted_by": request.user.name,
        "wiped_on": request.today,
        "sampled_by": request.user.name,
        **usual,
    }


def rows_asked_for(request: Any) -> Rows:
    """Rows for what the address names: ``?what=CODE``, several times."""
    codes = [code.upper() for code in request.GET.getlist("what")]
    items = Item.objects.visible_to(request.user, request.today).filter(
        site=request.site, code__in=codes
    )
    named = {item.code: item for item in items.select_related("source", "gauge")} if codes else {}
    found = [named[code] for code in codes if code in named]
    values = [{"what": name_of(one)} for one in found if one.kind in ("source", "gauge")]
    return Rows.filled(values, ROWS)


def _only_counter(request: Any) -> str | None:
    counters = Item.objects.filter(site=request.site, monitor__monitor_kind="wipe_counter")[:2]
    return counters[0].code if len(counters) == 1 else None


def _last(request: Any) -> dict[str, Any]:
    last = (
        Record.objects.filter(site=request.site, kind=SESSION_KIND)
        .select_related("instrument")
        .order_by("-effective_on", "-seq")
        .first()
    )
    if last is None or last.instrument is None:
        return {}
    detail = read_body(last)["detail"]
    out: dict[str, Any] = {
        "counter": last.instrument.code,
        "background_seconds": _times(detail["background"]),
    }
    if detail["check"]:
        out["check_source"] = _called(request, detail["check"]["source"])
        out["check_seconds"] = _times(detail["check"]["counts"])
    wipe = last.linked_from.filter(role=COUNTED_IN).select_related("record").first()
    if wipe is not None:
        out["seconds"] = _times(read_body(wipe.record)["detail"]["gross"][:1])
    return out


def _called(request: Any, code: str) -> str:
    item = Item.objects.filter(site=request.site, code=code).select_related("source").first()
    return name_of(item) if item else code


def _times(counts: list[list[str]]) -> str:
    """The times of counts as they are written in a form."""
    return " + ".join(str(seconds).removesuffix(".0") for _number, seconds in counts if seconds)
