"""Kinds of requirement that a site defines itself."""

from __future__ import annotations

import re
from typing import Any

from inventory.calc.errors import DomainError
from inventory.rules.adopted import assemble
from inventory.rules.schema import OWN, REQUIREMENTS
from inventory.schedule.pieces import Detail

#: What a kind of a site's own can be about, and how it may be called.
SUBJECTS = tuple(dict.fromkeys(subject for subject, _kind in REQUIREMENTS.values()))
LONGEST_NAME = 30
_NAME = re.compile(r"own-[a-z0-9]+(-[a-z0-9]+)*")


def with_kind(detail: Detail, name: str, title: str, subject: str) -> dict[str, Any]:
    """A kind of requirement of the site's own."""
    kinds = list(detail.get("own_kinds") or ())
    if not _NAME.fullmatch(name) or len(name) > LONGEST_NAME:
        raise DomainError("own_kind_name", {"text": name, "length": LONGEST_NAME}, field="name")
    if not title.strip():
        raise DomainError("own_kind_needs_title", field="title")
    if subject not in SUBJECTS:
        raise DomainError("own_kind_subject", {"text": subject}, field="subject")
    if any(one["name"] == name for one in kinds):
        raise DomainError("own_kind_twice", {"text": name}, field="name")
    kind = {"name": name, "title": title.strip(), "subject": subject}
    return {**detail, "own_kinds": [*kinds, kind]}


def without_kind(detail: Detail, name: str) -> dict[str, Any]:
    """A kind of the site's own that no row uses any more."""
    kinds = [dict(one) for one in detail.get("own_kinds") or ()]
    if not any(one["name"] == name for one in kinds):
        raise DomainError("own_kind_unknown", {"requirement": name})
    if assemble(detail).rows_for(name):
        raise DomainError("own_kind_has_rows", {"requirement": name})
    return {**detail, "own_kinds": [one for one in kinds if one["name"] != name]}


def own_name(title: str) -> str:
    """The name of an own kind from its title: own-warning-lamp."""
    words = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")
    return f"{OWN}{words}"[:LONGEST_NAME].rstrip("-")
