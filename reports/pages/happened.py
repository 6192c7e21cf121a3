"""What a record says about an item, in a sentence or two: made from the record's own text."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.stays import VERBS
from inventory.custody.wording import movement_lines
from inventory.documents.models import DOCUMENT_KIND
from inventory.documents.wording import document_text
from inventory.evidence.kinds import is_check
from inventory.evidence.models import HAPPENING_KIND
from inventory.evidence.wording import evidence_lines
from inventory.followups import steps as followup_steps
from inventory.followups.wording import step_lines
from inventory.ledger.models import Item, Record, RecordItem
from inventory.requirements.plans import PLAN_KINDS
from inventory.requirements.wording import plan_line
from inventory.schedule import recorded as schedule_records
from inventory.sentences import day_text, value_text
from inventory.shutdowns.models import SHUTDOWN_KIND
from inventory.shutdowns.wording import shutdown_line
from surveys.awaited.wording import completes_lines, sent_lines
from surveys.leak import wording
from surveys.leak.models import GIVEN_UP_KIND, LEAK_TEST_KIND, SENT_KIND, SESSION_KIND
from surveys.monitors.models import CALIBRATION_KIND
from surveys.sessions.wording import session_lines


def kind_word(kind: str, own: Mapping[str, str] | None = None) -> str:
    """What happened, in a word; a kind that nobody has put in words yet reads like one. ``own``:
    the titles of kinds that the site defines itself."""
    if own and kind in own:
        return own[kind]
    word = value_text("kind", kind)
    return word.replace("_", " ") if word == kind else word


def labels_in(records: Iterable[Record]) -> dict[str, str]:
    """What the gauges and locations that these records mention are called: one query."""
    codes = set()
    for record in records:
        if record.kind in VERBS:
            detail = json.loads(record.body)["detail"]
            codes |= {detail["gauge"], detail["location"]} - {None}
        elif record.kind == SHUTDOWN_KIND:
            codes |= {json.loads(record.body)["detail"]["place"]} - {None}
    return dict(Item.objects.filter(code__in=codes).values_list("code", "label"))


def about_lines(
    record: Record, item: Item, mention: RecordItem, labels: Mapping[str, str]
) -> Iterator[str]:
    """Sentences for the time line of an item; ``labels`` from ``labels_in``."""
    body = json.loads(record.body)
    if is_check(record.kind) or record.kind == HAPPENING_KIND:
        yield from evidence_lines(body, item.code, mention)
    elif record.kind == SHUTDOWN_KIND:
        yield shutdown_line(body, labels)
    elif record.kind in VERBS:
        yield from _movement(body, labels)
    elif record.kind in (LEAK_TEST_KIND, CALIBRATION_KIND, SENT_KIND, GIVEN_UP_KIND, SESSION_KIND):
        yield from _measured(record, body, item, mention)
    else:
        yield from _written(record, body)


def _measured(
    record: Record, body: Mapping[str, Any], item: Item, mention: RecordItem
) -> Iterator[str]:
    """Of a test or of what belongs to one."""
    if record.kind == LEAK_TEST_KIND:
        yield from _leak_test(body, item, mention)
    elif record.kind == CALIBRATION_KIND:
        yield from _calibration(body, mention)
    elif record.kind == SENT_KIND:
        yield from sent_lines(body, mention.role)
    elif record.kind == GIVEN_UP_KIND:
        yield from (*completes_lines(body), record.reason)
    else:
        yield from session_lines(body, mention.role)


def _written(record: Record, body: Mapping[str, Any]) -> Iterator[str]:
    """Of what was planned, decided or said."""
    if record.kind == DOCUMENT_KIND:
        yield from _document(body)
    elif record.kind in PLAN_KINDS:
        yield plan_line(body)
    elif record.kind in followup_steps.KINDS:
        yield step_lines(body)
        if record.replaces_id:
            yield record.reason
    elif record.kind in schedule_records.KINDS:
        yield from schedule_records.recorded_lines(body)
    elif record.reason:
        yield record.reason


def _leak_test(body: Mapping[str, Any], item: Item, mention: RecordItem) -> Iterator[str]:
    for point in body["points"]:
        if point["item"] == item.code:
            yield wording.finding(point)
    if mention.role == "withdrawn":
        yield _("This wipe turned out not to cover it.")
    yield from completes_lines(body)
    if not mention.fit:
        yield wording.fit_text(mention.fit, mention.unfit_because)
    if body["accepted_by"] is None:
        yield _("Entered; it satisfies only once the supervisor has accepted it.")


def _calibration(body: Mapping[str, Any], mention: RecordItem) -> Iterator[str]:
    if mention.role == "withdrawn":
        yield _("This calibration turned out to be of another monitor.")
        return
    said = value_text("outcome", mention.outcome).capitalize()
    if mention.valid_until:
        said += _(", certificate valid until %(on)s") % {"on": day_text(mention.valid_until)}
    yield f"{said}."
    names = [f"{point['nuclide']} {point['efficiency']}" for point in body["points"]]
    if names:
        yield _("Efficiencies: %(list)s.") % {"list": ", ".join(names)}


def _movement(body: Mapping[str, Any], labels: Mapping[str, str]) -> Iterator[str]:
    detail = body["detail"]
    codes = [code for code in (detail["gauge"], detail["location"]) if code]
    yield from movement_lines(detail, [labels.get(code, code) for code in codes])
    if body["remark"]:
        yield body["remark"]


def _document(body: Mapping[str, Any]) -> Iterator[str]:
    detail = body["detail"]
    names = ", ".join(entry["name"] for entry in body["attachments"])
    values = {"title": detail["title"], "what": document_text(detail), "names": names}
    yield _("%(title)s (%(what)s): %(names)s.") % values
    if body["remark"]:
        yield body["remark"]
