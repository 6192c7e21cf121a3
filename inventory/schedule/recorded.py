"""What a record about a schedule, a setting or a confirmation says, for the time line: made from
its text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from inventory.access import schedule_text
from inventory.knowledge import SCHEDULE_KIND, schedule_of
from inventory.ledger.body import day
from inventory.rules.adopted import assemble
from inventory.rules.load import row_from
from inventory.schedule.models import CONFIRMED_KIND, DRAFT_KIND, SETTING_KIND
from inventory.schedule.showing import loosened_text, progress_text
from inventory.schedule.spoken import title_of, word
from inventory.schedule.versions import left
from inventory.schedule.wording import decided_text, on_whose_word, row_sentence
from inventory.sentences import day_text

KINDS = (SCHEDULE_KIND, DRAFT_KIND, SETTING_KIND, CONFIRMED_KIND)


def recorded_lines(body: Mapping[str, Any]) -> Iterator[str]:
    """Sentences of a record of one of KINDS; its reason comes last."""
    makers = {
        SCHEDULE_KIND: _schedule,
        DRAFT_KIND: _draft,
        SETTING_KIND: _setting,
        CONFIRMED_KIND: _confirmed,
    }
    yield from makers[body["kind"]](body)
    if body["reason"]:
        yield body["reason"] if body["reason"].endswith(".") else f"{body['reason']}."


def _schedule(body: Mapping[str, Any]) -> Iterator[str]:
    schedule = schedule_of(body)
    yield schedule_text(schedule)
    yield _("In force from %(on)s.") % {"on": day_text(schedule.from_on)}
    if review := day(body["detail"].get("review_on")):
        yield _("To be looked at again by %(on)s.") % {"on": day_text(review)}
    yield from filter(None, [loosened_text(body["detail"])])
    yield from _own(body["detail"])


def _own(detail: Mapping[str, Any]) -> Iterator[str]:
    """How far it is the site's own."""
    rows, removed = (len(detail.get(name) or ()) for name in ("rows", "removed"))
    if rows or removed:
        yield _("Rows of the site's own: %(rows)s, left out: %(removed)s.") % {
            "rows": rows,
            "removed": removed,
        }


def _draft(body: Mapping[str, Any]) -> Iterator[str]:
    detail = body["detail"]
    if detail.get("discarded"):
        yield _("The draft was discarded.")
        return
    yield progress_text(len(left(detail)), len(assemble(detail).rows))
    yield from _own(detail)


def _setting(body: Mapping[str, Any]) -> Iterator[str]:
    detail = body["detail"]
    values = {
        "what": title_of(detail["requirement"], None),
        "whose": word("authority", detail["authority"]),
    }
    if detail["row"] is None:
        yield _("Taken back: %(what)s (%(whose)s).") % values
        return
    row = row_from("setting", detail["row"])
    yield f"{_upper(values['what'])}: {row_sentence(row)}"
    yield on_whose_word(row)
    if until := day(detail["until_on"]):
        yield _("Until %(on)s.") % {"on": day_text(until)}
    yield from filter(None, [_decided(detail)])


def _decided(detail: Mapping[str, Any]) -> str:
    on: date | None = day(detail["decided_on"])
    return decided_text(detail["because"], detail["decided_by"], on)


def _confirmed(body: Mapping[str, Any]) -> Iterator[str]:
    detail = body["detail"]
    values = {"what": title_of(detail["requirement"], None), "row": detail["row"]}
    yield _upper(_("%(what)s: row %(row)s decides, as decay had proposed.") % values)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
