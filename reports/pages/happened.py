"""What a record says about an item, in a sentence or two: made from the record's own text."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from inventory.calc.stays import VERBS
from inventory.ledger.models import Item, Record, RecordItem
from inventory.sentences import day_text, value_text
from surveys.leak import wording
from surveys.leak.models import LEAK_TEST_KIND
from surveys.monitors.models import CALIBRATION_KIND


def labels_in(records: Iterable[Record]) -> dict[str, str]:
    """What the gauges and locations that these records mention are called: one query."""
    codes = set()
    for record in records:
        if record.kind in VERBS:
            detail = json.loads(record.body)["detail"]
            codes |= {detail["gauge"], detail["location"]} - {None}
    return dict(Item.objects.filter(code__in=codes).values_list("code", "label"))


def about_lines(
    record: Record, item: Item, mention: RecordItem, labels: Mapping[str, str]
) -> Iterator[str]:
    """Sentences for the time line of an item; ``labels`` from ``labels_in``."""
    body = json.loads(record.body)
    if record.kind == LEAK_TEST_KIND:
        yield from _leak_test(body, item, mention)
    elif record.kind == CALIBRATION_KIND:
        yield from _calibration(body, mention)
    elif record.kind in VERBS:
        yield from _movement(body, labels)
    elif record.reason:
        yield record.reason


def _leak_test(body: Mapping[str, Any], item: Item, mention: RecordItem) -> Iterator[str]:
    for point in body["points"]:
        if point["item"] == item.code:
            yield wording.finding(point)
    if mention.role == "withdrawn":
        yield _("This wipe turned out not to cover it.")
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
    yield ", ".join(labels.get(code, code) for code in codes) + "."
    if detail["supplier"]:
        yield _("From %(supplier)s.") % {"supplier": detail["supplier"]}
