"""Receive things: doors to ``surveys.receipt.actions``; what is no source is received as it is."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.http import HttpResponse

from inventory.calc.moves import RECEIVED
from inventory.custody import views as custody
from inventory.custody.forms import MovementForm
from inventory.items import views as items
from inventory.ledger.models import Item, ItemKind, Record
from surveys.receipt.actions import receive, receive_new
from surveys.receipt.forms import NewSourceForm, ReceiptForm


def new(request: Any, site: str, kind: str) -> HttpResponse:
    """Describe a new thing; a source is received with its certificate in the same act."""
    if kind != ItemKind.SOURCE:
        return items.new(request, site, kind)
    return items.new_page(request, NewSourceForm, partial(receive_new, kind=kind))


def move(request: Any, site: str, code: str) -> HttpResponse:
    """Record a movement; a source is received with its certificate."""
    return custody.new_page(request, code, _how)


def _how(verb: str, item: Item) -> tuple[type[MovementForm], custody.Act]:
    if verb == RECEIVED and item.kind == ItemKind.SOURCE:
        return ReceiptForm, _receive
    return MovementForm, custody.record_new


def _receive(request: Any, form: Any) -> Record:
    keys = {name: form.cleaned_data[name] for name in ("request_key", "seen")}
    return receive(form.movement(), form.test(), by=request.user, at=request.now, **keys)
