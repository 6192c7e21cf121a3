"""Addresses that serve several kinds: which page corrects a record, which describes a thing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from config.permissions import DECIDE, ENTER
from inventory.calc.stays import VERBS
from inventory.custody import views as custody
from inventory.evidence import views as evidence
from inventory.evidence.kinds import is_check
from inventory.evidence.models import HAPPENING_KIND
from inventory.items import views as items
from inventory.ledger.body import DESCRIBED
from inventory.ledger.models import Item, ItemKind, Record
from inventory.pages import item_of, record_of, sent_key
from surveys.awaited import views as awaited
from surveys.laboratories.forms import LaboratoryForm
from surveys.leak import views as leak
from surveys.leak.models import LEAK_TEST_KIND, SENT_KIND
from surveys.monitors import views as monitors
from surveys.monitors.forms import MonitorForm
from surveys.monitors.models import CALIBRATION_KIND

FORMS: items.Forms = {
    **items.FORMS,
    ItemKind.MONITOR: MonitorForm,
    ItemKind.LABORATORY: LaboratoryForm,
}
PAGES = {
    LEAK_TEST_KIND: leak.correct,
    CALIBRATION_KIND: monitors.correct,
    SENT_KIND: awaited.correct,
    HAPPENING_KIND: evidence.correct_happening,
    **dict.fromkeys(VERBS, custody.correct),
}


def _page_of(kind: str) -> Any:
    """The page that corrects records of a kind; none for those that no page corrects."""
    return evidence.correct if is_check(kind) else PAGES.get(kind)


def may_correct(record: Record) -> frozenset[str]:
    """The roles that correct a record of this kind on a page; none: it cannot be done there."""
    if _page_of(record.kind) is not None:
        return ENTER
    described = record.kind == DESCRIBED and record.about.filter(item__kind__in=FORMS).exists()
    return DECIDE if described else frozenset()


def correct(request: Any, site: str, seq: int) -> HttpResponse:
    """Correct a record by a replacing one, on the page of its kind."""
    record = record_of(request, seq)
    allowed = may_correct(record)
    newer = Record.objects.filter(replaces=record).first()
    # The double click of the very correction that stands there is answered by its record.
    sent = sent_key(request)
    again = newer is not None and sent is not None and newer.request_key == sent
    if not allowed or (newer is not None and not again):
        messages.error(request, _("This record cannot be corrected here."))
        return redirect("record", site, seq)
    if not request.roles & allowed:
        raise PermissionDenied
    if record.kind != DESCRIBED:
        page: HttpResponse = _page_of(record.kind)(request, site, seq)
        return page
    return items.edit_page(request, Item.objects.get(mentions__record=record), FORMS, record)


def describe(request: Any, site: str, code: str) -> HttpResponse:
    """Change or correct the description of a thing, monitors included."""
    return items.edit_page(request, item_of(request, code), FORMS)
