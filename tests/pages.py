"""What the tests of pages share: the moment it is, a person with a browser, what a page says."""

from __future__ import annotations

from datetime import UTC, date, datetime
from html.parser import HTMLParser
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from config import clock
from config.accounts.models import Role, Site, User
from tests.factories import give_role, make_user

#: Later than everything that the factories write.
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
VOID = {"area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


def stop_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Views and commands believe that it is NOW."""
    monkeypatch.setattr(clock, "now", lambda: NOW)


def staff(site: Site, role: Role, name: str = "") -> User:
    """A person with one role on one site."""
    user = make_user(name)
    give_role(user, site, role)
    return user


def browser(user: User | None = None) -> Client:
    """A browser in which this person has logged in."""
    client = Client()
    if user is not None:
        client.force_login(user)
    return client


class Page(HTMLParser):
    """A page as a reader meets it; a tag that is not closed where it must be is a fault."""

    def __init__(self, response: HttpResponse) -> None:
        super().__init__()
        self.html = response.content.decode()
        self.tags: list[tuple[str, dict[str, Any]]] = []
        self.faults: list[str] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(self.html)
        self.close()
        self.faults += [f"<{tag}> is never closed" for tag in self._open]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def all(self, name: str) -> list[dict[str, Any]]:
        return [attrs for tag, attrs in self.tags if tag == name]

    def links(self) -> list[str]:
        return [attrs.get("href", "") for attrs in self.all("a")]

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open.pop() != tag:
            self.faults.append(f"</{tag}> closes something else")

    def handle_data(self, data: str) -> None:
        if not {"script", "style"} & set(self._open):
            self.words.append(data)
