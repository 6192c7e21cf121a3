"""Add a document: to a thing, or to something that happened."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from config.accounts.models import Site, User
from inventory.calc.errors import DomainError
from inventory.documents.content import checked
from inventory.documents.models import DOCUMENT_KIND, DOCUMENTS, DocumentKind
from inventory.ledger.files import Upload
from inventory.ledger.models import Item, Record
from inventory.ledger.write import About, Draft, writing


@dataclass(frozen=True, slots=True)
class Document:
    """A file with what it is; ``dated_on`` is the day that stands on it, where one does."""

    title: str
    file: Upload
    kind: str = DocumentKind.OTHER
    dated_on: date | None = None
    remark: str = ""


def add_document(
    item: Item,
    document: Document,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Add a document to a thing. It happens on the day of recording; the day that stands on the
    document is kept beside it. Raises DomainError as ``content.checked`` does, and
    document_needs_title, document_dated_in_future."""
    return _add(item.site, [item], None, document, by, at, request_key, seen)


def attach_to_record(
    record: Record,
    document: Document,
    *,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None = None,
    seen: int | None = None,
) -> Record:
    """Add a document to a record: a new record about the same items that names it."""
    assert record.site is not None
    items = list(Item.objects.filter(mentions__record=record).order_by("pk"))
    return _add(record.site, items, record, document, by, at, request_key, seen)


def _add(
    site: Site,
    items: Sequence[Item],
    target: Record | None,
    document: Document,
    by: User,
    at: datetime,
    request_key: uuid.UUID | None,
    seen: int | None,
) -> Record:
    name, _kind = checked(document.file.name, document.file.content)
    if not document.title.strip():
        raise DomainError("document_needs_title", field="title")
    with writing(site, by=by, at=at, seen=seen) as ledger:
        if done := ledger.already(request_key, DOCUMENT_KIND):
            return done
        if document.dated_on is not None and document.dated_on > ledger.today:
            values = {"dated_on": document.dated_on}
            raise DomainError("document_dated_in_future", values, field="dated_on")
        return ledger.append(
            Draft(
                DOCUMENT_KIND,
                ledger.today,
                [About(item) for item in items],
                detail={
                    "title": document.title.strip(),
                    "document_kind": DocumentKind(document.kind).value,
                    "dated_on": document.dated_on,
                },
                links=[(target, DOCUMENTS)] if target else [],
                attachments=[Upload(name, document.file.content)],
                request_key=request_key,
                performed_by=by.name,
                remark=document.remark,
            )
        )
