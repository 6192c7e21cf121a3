"""Everything that happened to an item, newest first, and where it was."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from config.accounts.models import OPEN_END
from inventory.custody.wording import place_text
from inventory.evidence.kinds import own_titles
from inventory.ledger.models import Item, Record, RecordItem
from inventory.sentences import day_text
from inventory.timeline import Stay
from reports.pages.happened import about_lines, kind_word, labels_in


def history(request: Any, item: Item) -> list[dict[str, Any]]:
    """Every record about an item, corrected ones included."""
    mentions = (
        RecordItem.objects.filter(item=item)
        .select_related("record__recorded_by", "record__replaces", "record__replaced_by")
        .order_by("-effective_on", "-record__seq")
    )
    labels = labels_in(mention.record for mention in mentions)
    own = own_titles(item.site, {mention.kind for mention in mentions})
    return [_event(request, item, mention, labels, own) for mention in mentions]


def _event(
    request: Any, item: Item, mention: RecordItem, labels: dict[str, str], own: dict[str, str]
) -> dict[str, Any]:
    record = mention.record
    newer = getattr(record, "replaced_by", None)
    recorded = request.site.day(record.recorded_at)
    late = recorded > record.effective_on
    return {
        "on_text": day_text(record.effective_on),
        "title": _("%(kind)s (record %(seq)s)")
        % {"kind": capfirst(kind_word(record.kind, own)), "seq": record.seq},
        "text": " ".join(about_lines(record, item, mention, labels)),
        "url": reverse("record", args=[request.site.slug, record.seq]),
        "late_text": _("Entered on %(on)s.") % {"on": day_text(recorded)} if late else "",
        "replaced": newer is not None,
        "replaced_text": _correction(newer) if newer else "",
        "corrects_text": _corrects(record),
        "who": _who(record),
    }


def _correction(newer: Record) -> str:
    return _("Record %(seq)s stands in its place: %(why)s") % {
        "seq": newer.seq,
        "why": newer.reason,
    }


def _corrects(record: Record) -> str:
    if record.replaces is None:
        return ""
    return _("Corrects record %(seq)s: %(why)s") % {
        "seq": record.replaces.seq,
        "why": record.reason,
    }


def _who(record: Record) -> str:
    values = {"by": record.recorded_by.name, "done": record.performed_by}
    if record.performed_by and record.performed_by != record.recorded_by.name:
        return _("Done by %(done)s, recorded by %(by)s") % values
    return _("Recorded by %(by)s") % values


def stays(item: Item, on: date) -> Iterator[dict[str, Any]]:
    """Where an item was, newest first; ``now``: there on the day asked about."""
    found = Stay.objects.filter(item=item).select_related("gauge", "location").order_by("-from_on")
    for stay in found:
        still = stay.until_on == OPEN_END
        yield {
            "from_text": day_text(stay.from_on),
            "until_text": _("still there") if still else day_text(stay.until_on),
            "where": place_text(stay, [str(one) for one in (stay.gauge, stay.location) if one]),
            "now": stay.from_on <= on <= stay.until_on,
        }
