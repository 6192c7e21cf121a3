"""What the views of every app need: fetching through the gate, and forms that write once."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from django import forms
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from inventory.calc.errors import DomainError
from inventory.ledger.models import Item, Record
from inventory.ledger.write import Overtaken, last_seq
from inventory.sentences import day_text, error_text, value_text


def item_of(request: Any, code: str) -> Item:
    """The item with this code on the site of the page; another one does not exist (404)."""
    found = Item.objects.visible_to(request.user, request.today).filter(site=request.site)
    item = found.filter(code=code.upper()).first()
    if item is None:
        raise Http404
    return item


def record_of(request: Any, seq: int) -> Record:
    """The record with this number on the site of the page; another one does not exist (404)."""
    found = Record.objects.visible_to(request.user, request.today).filter(
        site=request.site, seq=seq
    )
    record = found.select_related("recorded_by", "accepted_by", "instrument", "replaces").first()
    if record is None:
        raise Http404
    return record


def replacing(site: str, old: Record) -> dict[str, str]:
    """The record that a correction is about: its title and its page."""
    values = {
        "kind": value_text("kind", old.kind),
        "on": day_text(old.effective_on),
        "seq": old.seq,
    }
    return {
        "title": _("Record %(seq)s: %(kind)s of %(on)s") % values,
        "url": reverse("record", args=[site, old.seq]),
    }


def content_key(key: uuid.UUID, data: Any) -> uuid.UUID:
    """The key under which a form with this content writes (``data``: as it was sent)."""
    skipped = {"csrfmiddlewaretoken", "request_key", "seen", "do"}
    content = {name: data.getlist(name) for name in sorted(data) if name not in skipped}
    return uuid.uuid5(key, json.dumps(content, sort_keys=True))


def sent_key(request: Any) -> uuid.UUID | None:
    """The key of the form that a request sends; None where it has none that can be read."""
    try:
        return content_key(uuid.UUID(request.POST.get("request_key", "")), request.POST)
    except ValueError:
        return None


class WritingForm(forms.Form):
    """A form whose saving writes evidence: a double click or a resend writes once, and what others
    wrote meanwhile is told instead of overwritten."""

    error_css_class = "field-wrong"
    #: Its fields by the name that a domain error has for them, where that is another one.
    NAMED: ClassVar[Mapping[str, str]] = {}
    request_key = forms.UUIDField(widget=forms.HiddenInput)
    seen = forms.IntegerField(widget=forms.HiddenInput)

    @classmethod
    def fresh(cls, request: Any, **initial: Any) -> dict[str, Any]:
        """What a newly opened form starts with."""
        return {"request_key": uuid.uuid4(), "seen": last_seq(request.site), **initial}

    def clean_request_key(self) -> uuid.UUID:
        """The key of this form *with this content*: the same sent twice writes once, but a form
        that was gone back to and changed is a new act, never taken for the old one."""
        return content_key(self.cleaned_data["request_key"], self.data)

    def save_with(self, act: Callable[[], Record], *tables: Any) -> Record | None:
        """Run the act; a domain error or what others wrote becomes an error of the form."""
        try:
            return act()
        except DomainError as error:
            self.refuse(error, *tables)
        except Overtaken as overtaken:
            self.add_error(None, overtaken_text(overtaken))
            self.look_again(max(record.seq for record in overtaken.records))
        return None

    def refuse(self, error: DomainError, *tables: Any) -> None:
        """Say a domain error beside the field that it is about."""
        field = self.NAMED.get(error.field or "", error.field)
        self.add_error(field if field in self.fields else None, error_text(error, *tables))

    def look_again(self, seq: int) -> None:
        """From now on this form knows of everything up to a record: the person was told."""
        data: Any = self.data.copy()  # type: ignore[attr-defined] # a QueryDict
        data[self.add_prefix("seen")] = str(seq)
        self.data = data


def overtaken_text(overtaken: Overtaken) -> str:
    """What happened meanwhile, as a sentence."""
    said = [
        _("record %(seq)s, %(kind)s of %(on)s by %(by)s")
        % {
            "seq": record.seq,
            "kind": value_text("kind", record.kind),
            "on": day_text(record.effective_on),
            "by": record.recorded_by.name,
        }
        for record in overtaken.records
    ]
    return _(
        "Meanwhile somebody else recorded about the same: %(records)s. Nothing of yours has been "
        "saved; look at it, then send again if it still holds."
    ) % {"records": "; ".join(said)}
