"""What no page takes: more than any form sends, and signs that no database keeps."""

from __future__ import annotations

import io
import tempfile
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from config.accounts.models import Role
from config.bounds import LARGEST_REQUEST
from inventory.ledger.models import Record
from reports.exchange.models import PendingFile
from tests import factories, loading
from tests.pages import Page, browser, staff, stop_clock


class Counted(io.RawIOBase):
    """What a browser sends, counted as it is read."""

    def __init__(self, size: int) -> None:
        self.size = self.left = size

    def read(self, size: int = -1) -> bytes:
        given = self.left if size < 0 else min(size, self.left)
        self.left -= given
        return b"x" * given


def send(client: Client, address: str, size: int) -> tuple[Any, Counted]:
    body = Counted(size)
    response = client.generic(
        "POST",
        address,
        content_type="multipart/form-data; boundary=x",
        **{"wsgi.input": body, "CONTENT_LENGTH": str(size)},
    )
    return response, body


@pytest.fixture
def no_files(monkeypatch):
    def refuse(*args: Any, **kwargs: Any) -> Any:
        raise AssertionError("something was kept")

    monkeypatch.setattr(tempfile, "NamedTemporaryFile", refuse)


def test_of_a_huge_request_by_nobody_nothing_is_read(site, no_files):
    response, body = send(Client(enforce_csrf_checks=True), reverse("login"), LARGEST_REQUEST + 1)
    assert response.status_code == 413
    assert body.left == body.size


def test_a_huge_document_is_refused_with_a_sentence_and_kept_nowhere(site, no_files):
    store = factories.make_location(site, "Store")
    address = reverse("document-new", args=["thornmere", store.code])
    response, body = send(browser(factories.rps_of(site)), address, LARGEST_REQUEST + 1)
    assert response.status_code == 413
    assert "A file may have at most 10 MB." in Page(response).text
    assert body.left == 0


def test_a_length_that_is_none_is_refused(site):
    response = Client().generic("POST", reverse("login"), CONTENT_LENGTH="much")
    assert response.status_code == 413


@pytest.mark.parametrize("size", [100, 20 * 1024 * 1024, 200 * 1024 * 1024])
def test_an_upload_without_its_token_is_refused_whatever_its_size(site, size):
    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.rps_of(site))
    response, _body = send(client, reverse("load-new", args=["thornmere"]), size)
    assert response.status_code in (403, 413)
    assert PendingFile.objects.count() == 0


@pytest.mark.parametrize(
    "address",
    [
        "/thornmere/items/%00/",
        "/thornmere/nuclides/%00/",
        "/thornmere/?line=%00",
        "/thornmere/book/?line=%00:leak_test",
        "/thornmere/wipes/send/?source=%00",
        "/thornmere/sessions/new/?what=%00",
    ],
)
def test_an_address_with_a_sign_that_no_database_keeps_is_not_understood(site, address):
    client = browser(factories.rps_of(site))
    assert client.get(address).status_code == 400


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("book", {"line": "\0:leak_test"}),
        ("unbook", {"line": "A\0:leak_test"}),
        ("session-new", {"do": "row", "row": "1", "wipes-1-what": "\0"}),
        ("wipes-send", {"wipes-0-sources": "a\0b"}),
    ],
)
def test_a_form_with_a_sign_that_no_database_keeps_writes_nothing(site, name, data):
    client = browser(factories.rps_of(site))
    before = Record.objects.count()
    assert client.post(reverse(name, args=["thornmere"]), data).status_code == 400
    assert Record.objects.count() == before


def test_who_may_not_send_at_all_is_told_that_first(site, monkeypatch):
    stop_clock(monkeypatch)
    inspector = browser(staff(site, Role.INSPECTOR))
    address = reverse("load-file", args=["thornmere", loading.waiting_file(site).pk])
    assert inspector.post(address, {"do": "\0"}).status_code == 403
