"""What is not at its place on a day: missing, out, on its way, away, visiting; and what moved
last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import uuid4

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from config.accounts.models import Site
from config.permissions import ENTER
from inventory.calc import moves
from inventory.custody.forms import MOVABLE
from inventory.custody.now import expected, past_expected, visits
from inventory.custody.wording import late_by, not_here, past_count_text, place_text
from inventory.ledger.models import Record, RecordItem
from inventory.ledger.write import last_seq
from inventory.sentences import day_text
from inventory.timeline import Stay
from reports.forms import as_of
from reports.pages.happened import about_lines, kind_word, labels_in

PAGE = 30
VISITING = "visiting"
#: The parts of the page, what must be looked at first coming first.
PARTS: Mapping[str, Any] = {
    moves.LOST: gettext_lazy("Missing"),
    moves.WENT_OUT: gettext_lazy("Out at a job"),
    moves.IN_TRANSIT: gettext_lazy("Sent away, arrival not confirmed"),
    moves.AWAY: gettext_lazy("Away"),
    VISITING: gettext_lazy("Visiting"),
}
#: What most often comes next.
NEXT: Mapping[str, tuple[str, Any]] = {
    moves.LOST: (moves.FOUND, gettext_lazy("Found")),
    moves.WENT_OUT: (moves.BACK, gettext_lazy("Back")),
    moves.IN_TRANSIT: (moves.ARRIVED, gettext_lazy("Arrived there")),
    moves.AWAY: (moves.RETURNED, gettext_lazy("Returned")),
    VISITING: (moves.LEFT, gettext_lazy("Left")),
}
COUNTED: Mapping[str, Any] = {
    moves.LOST: gettext_lazy("%(n)s missing"),
    moves.WENT_OUT: gettext_lazy("%(n)s out at a job"),
    moves.IN_TRANSIT: gettext_lazy("%(n)s on the way"),
    moves.AWAY: gettext_lazy("%(n)s away"),
    VISITING: gettext_lazy("%(n)s visiting"),
}


def page(request: Any, site: str) -> HttpResponse:
    """The movements of a site, as of a day."""
    at, form = as_of(request)
    lines = _lines(request, at.on)
    newest = _newest(request, at.on)
    context = {
        "on": "" if at.on == request.today else day_text(at.on),
        "form_on": form,
        "parts": [
            {"key": key, "title": title, "lines": lines[key]}
            for key, title in PARTS.items()
            if lines[key]
        ],
        "sentence": _sentence(lines),
        "seen": last_seq(request.site),
        "today": request.today,
        "page": newest,
        "newest": list(_movements(request, list(newest))),
        "query": "" if at.on == request.today else f"on={at.on.isoformat()}",
    }
    return render(request, "pages/movements.html", context)


def _sentence(lines: Mapping[str, Sequence[Any]]) -> str:
    """How much of what is not at its place."""
    said = [COUNTED[key] % {"n": len(found)} for key, found in lines.items() if found]
    late = sum(bool(line["late"]) for found in lines.values() for line in found)
    if late:
        said.append(_("%(n)s past the day on which it was expected") % {"n": late})
    return ", ".join(said) if said else _("Everything is at its place, and nothing visits.")


# ---------------------------------------------------------------- what is not at its place


def _lines(request: Any, on: date) -> dict[str, list[dict[str, Any]]]:
    """The lines of each part; what is inside a gauge stands with the gauge."""
    stays = Stay.objects.on(on).filter(site=request.site, item__kind__in=MOVABLE)
    gone = stays.filter(whereabouts__in=moves.NOT_HERE).select_related("item")
    own = [stay for stay in gone.order_by("item__label_sort", "item") if stay.gauge_id is None]
    taken: dict[int, list[str]] = defaultdict(list)
    for stay in gone:
        if stay.gauge_id is not None:
            taken[stay.gauge_id].append(stay.item.label)
    visitors = visits(_ever_visiting(request.site), on)
    here = stays.filter(item__in=visitors).select_related("item", "gauge", "location")
    out: dict[str, list[dict[str, Any]]] = {key: [] for key in PARTS}
    awaited = expected([stay.item_id for stay in own], on)
    for stay in own:
        line = _line(request, stay, stay.whereabouts, on)
        line["with"] = sorted(taken[stay.item_id])
        line |= _when(awaited.get(stay.item_id), on)
        out[stay.whereabouts].append(line)
    for stay in here.order_by("item__label_sort", "item"):
        visit = visitors[stay.item_id]
        line = _line(request, stay, VISITING, on) | {"owner": visit.owner}
        line |= _when(visit.until, on, visits=True)
        out[VISITING].append(line)
    return out


def late_text(site: Site, on: date) -> str:
    """A sentence about what has not come back, or not left, on the day on which it should have;
    nothing when there is nothing."""
    late = len(past_expected(site, on))
    return past_count_text(late) if late else ""


def _line(request: Any, stay: Stay, part: str, on: date) -> dict[str, Any]:
    verb, label = NEXT[part]
    item = stay.item
    address = reverse("movement-new", args=[request.site.slug, item.code])
    return {
        "label": item.label,
        "kind": item.get_kind_display(),
        "url": reverse("item", args=[request.site.slug, item.code]),
        "where": not_here(stay) if part != VISITING else _place(stay),
        "may_move": bool(request.roles & ENTER) and on == request.today,
        "verb": verb,
        "next": label,
        "address": address,
        "next_url": f"{address}?verb={verb}",
        "at_once": verb in (moves.BACK, moves.LEFT),  # nothing more needs to be said
        "key": uuid4(),
        "keeping": stay.keeping,
    }


def _place(stay: Stay) -> str:
    return place_text(stay, [str(one) for one in (stay.gauge, stay.location) if one])


def _when(expected: date | None, on: date, *, visits: bool = False) -> dict[str, Any]:
    """The day on which it is expected back, or to leave, and how late it is."""
    if expected is None:
        return {"expected": "", "late": ""}
    said = _("to leave on %(on)s") if visits else _("expected back on %(on)s")
    return {"expected": said % {"on": day_text(expected)}, "late": late_by(expected, on)}


def _ever_visiting(site: Site) -> Any:
    came = RecordItem.objects.filter(record__site=site, kind=moves.RECEIVED)
    return came.exclude(record__movement__owner="").values("item")


# ---------------------------------------------------------------- what moved last


def _newest(request: Any, on: date) -> Any:
    found = (
        RecordItem.objects.filter(
            record__site=request.site, kind__in=moves.VERBS, effective_on__lte=on
        )
        .select_related("item", "record__recorded_by", "record__replaced_by")
        .order_by("-effective_on", "-record__seq")
    )
    return Paginator(found, PAGE).get_page(request.GET.get("page"))


def _movements(request: Any, mentions: Sequence[RecordItem]) -> Iterator[dict[str, Any]]:
    labels = labels_in(mention.record for mention in mentions)
    for mention in mentions:
        record, item = mention.record, mention.item
        yield {
            "on": day_text(record.effective_on),
            "label": item.label,
            "item_url": reverse("item", args=[request.site.slug, item.code]),
            "title": capfirst(kind_word(record.kind)),
            "url": reverse("record", args=[request.site.slug, record.seq]),
            "text": " ".join(about_lines(record, item, mention, labels)),
            "replaced": _replaced(record),
        }


def _replaced(record: Record) -> str:
    newer = getattr(record, "replaced_by", None)
    return _("Replaced by record %(seq)s.") % {"seq": newer.seq} if newer else ""
