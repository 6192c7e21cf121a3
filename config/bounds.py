"""What no page takes is refused before anything of it is kept: more than any form sends, and signs
that no database keeps."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

#: More than the largest file with its form: one that is a little too large gets its own sentence.
LARGEST_REQUEST: Final = 32 * 1024 * 1024
#: A browser shows an answer only once it could send everything: so much is taken and dropped.
MOST_DROPPED: Final = 512 * 1024 * 1024
CHUNK: Final = 64 * 1024
#: Takes large uploads in by itself, and refuses them with a sentence of its own.
OWN_BOUNDS: Final = "load-new"


def announced(request: Any) -> int | None:
    """How many bytes a request says that it sends; None where that cannot be read."""
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return None


def drop(request: Any) -> None:
    """Take what is being sent and keep none of it."""
    taken = 0
    while taken < MOST_DROPPED and (chunk := request.read(CHUNK)):
        taken += len(chunk)


class LargestRequestMiddleware:
    """Refuses a request by the size that it announces. Stands before the check of the token, which
    reads everything that is sent, even from somebody who is not logged in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: Any, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """The refusal, or nothing."""
        size = announced(request)
        own = request.resolver_match.view_name == OWN_BOUNDS
        if own or (size is not None and size <= LARGEST_REQUEST):
            return None
        if request.user.is_authenticated:
            drop(request)
        most = {"most": LARGEST_REQUEST // 1024**2}
        return render(request, "413.html", most, status=413)


class NoNulMiddleware:
    """Refuses texts with the sign that PostgreSQL keeps in no text. Stands after the check of who
    may send; no browser sends one."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: Any, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> None:
        """Raises BadRequest."""
        if any("\0" in text for text in _texts(request)):
            raise BadRequest


def _texts(request: Any) -> Iterator[str]:
    yield request.path_info
    sent = [request.GET]
    if request.resolver_match.view_name != OWN_BOUNDS:
        sent.append(request.POST)
    for data in sent:
        for name, values in data.lists():
            yield name
            yield from values
