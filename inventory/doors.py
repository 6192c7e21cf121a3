"""What every command needs: the site, the person, the day, one sentence instead of a traceback."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any

from django.core.management.base import CommandError, OutputWrapper

from config.accounts.models import Role, Site, SiteRole, User
from inventory.calc.dates import parse_date
from inventory.calc.errors import DomainError
from inventory.sentences import error_text


@contextmanager
def one_sentence(*tables: Any) -> Iterator[None]:
    """A domain error ends the command with its sentence."""
    try:
        yield
    except DomainError as error:
        raise CommandError(error_text(error, *tables)) from error


def site_named(slug: str) -> Site:
    """The site with a short name."""
    site = Site.objects.filter(slug=slug).first()
    if site is None:
        known = ", ".join(Site.objects.values_list("slug", flat=True)) or "none"
        raise CommandError(error_text(DomainError("site_unknown", {"text": slug, "known": known})))
    return site


def day_of(text: str | None, default: date) -> date:
    """A whole day written like 2026-11-24."""
    if text is None:
        return default
    with one_sentence():
        found = parse_date(text)
    if found.precision != "day":
        raise CommandError(f"“{text}” is not a whole day: write it like 2026-11-24.")
    return found.on


def person(username: str | None, site: Site, on: date) -> User:
    """Who a command writes for: the named user, or the site's only supervisor."""
    if username is not None:
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(f"There is no user {username}.")
        return user
    held = SiteRole.objects.on(on).filter(site=site, role=Role.RPS).select_related("user")
    users = {role.user for role in held}
    if len(users) != 1:
        raise CommandError("Say with --by which supervisor this is recorded for.")
    return users.pop()


def say(out: OutputWrapper, rows: Sequence[Mapping[str, Any]], columns: Mapping[str, str]) -> None:
    """A table for people: ``columns`` maps keys to heads."""
    texts = [[str(row[key] if row[key] is not None else "–") for key in columns] for row in rows]
    heads = list(columns.values())
    widths = [
        max(len(head), *(len(text[place]) for text in texts)) if texts else len(head)
        for place, head in enumerate(heads)
    ]
    for line in (heads, ["-" * width for width in widths], *texts):
        out.write("  ".join(text.ljust(w) for text, w in zip(line, widths, strict=True)).rstrip())


def say_json(out: OutputWrapper, data: Any) -> None:
    """JSON for programs."""
    out.write(json.dumps(data, indent=2, ensure_ascii=False))
