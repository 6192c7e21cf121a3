"""Walk the site along its own links: one address for every name of the permission table."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from html import unescape
from urllib.parse import urljoin, urlsplit

from django.urls import Resolver404, resolve

LINK = re.compile(r"""<a\b[^>]*?\bhref="([^"#]+)""")
#: Addresses that end something.
NEVER = {"logout"}


def name_of(address: str) -> str | None:
    """The name of the address, None for one that is not ours."""
    parts = urlsplit(address)
    if parts.scheme or parts.netloc:
        return None
    try:
        return resolve(parts.path).view_name
    except Resolver404:
        return None


def walk(
    read: Callable[[str], str | None],
    starts: list[str],
    *,
    each: int = 6,
    more: Mapping[str, int] | None = None,
    most: int = 400,
) -> dict[str, list[str]]:
    """Every name that links lead to from the starts, with up to ``each`` addresses of it (``more``
    says how many of some) in the order found. ``read`` gives the HTML of an address, None for
    anything that is no page (those are named too)."""
    found: dict[str, list[str]] = {}
    waiting, seen = list(starts), set(starts)
    visited = 0
    while waiting and visited < most:
        address = waiting.pop(0)
        name = name_of(address)
        if (
            name is None
            or name in NEVER
            or len(found.get(name, ())) >= (more or {}).get(name, each)
        ):
            continue
        found.setdefault(name, []).append(address)
        visited += 1
        for link in LINK.findall(read(address) or ""):
            target = urljoin(address, unescape(link))
            if target not in seen and name_of(target) is not None:
                seen.add(target)
                waiting.append(target)
    return found
