"""Documents: what may be attached, how it is kept, and how it is handed out again."""

from __future__ import annotations

import hashlib
import io
import uuid
import zipfile
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from config.accounts.models import Role
from inventory.calc.errors import DomainError
from inventory.documents import content
from inventory.documents.actions import Document, add_document, attach_to_record
from inventory.ledger.files import Upload, path_of
from inventory.ledger.models import Attachment, Record
from inventory.ledger.verify import verify
from inventory.ledger.write import read_body
from tests import factories
from tests.pages import Page, browser, staff, stop_clock

PDF = b"%PDF-1.7\n% invented\n"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)
JPEG = b"\xff\xd8\xff\xe0" + bytes(20)


def package(*names: str, mimetype: str = "") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        if mimetype:
            file.writestr("mimetype", mimetype)
        for name in names:
            file.writestr(name, "x")
    return out.getvalue()


XLSX = package("[Content_Types].xml", "xl/workbook.xml")
DOCX = package("[Content_Types].xml", "word/document.xml")
ODS = package("content.xml", mimetype="application/vnd.oasis.opendocument.spreadsheet")


# ---------------------------------------------------------------- what may be attached


@pytest.mark.parametrize(
    ("name", "data", "word"),
    [
        ("a.pdf", PDF, "PDF"),
        ("a.PNG", PNG, "PNG"),
        ("a.jpg", JPEG, "JPEG"),
        ("a.jpeg", JPEG, "JPEG"),
        ("a.txt", "185 Bq, µSv".encode(), "text"),
        ("a.csv", "1;2\r\n3;4\r\n".encode("cp1252"), "text"),
        ("a.xlsx", XLSX, "XLSX"),
        ("a.docx", DOCX, "DOCX"),
        ("a.ods", ODS, "ODS"),
    ],
)
def test_the_content_says_what_a_file_is(name, data, word):
    kept, kind = content.checked(name, data)
    assert (kept, kind.word) == (name, word)


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("a.pdf", b"", "document_empty"),
        ("a.exe", b"MZ" + bytes(60), "document_type"),
        ("a.pdf", b"\x7fELF" + bytes(60), "document_type"),
        ("a.gif", b"GIF89a" + bytes(60), "document_type"),
        ("a.zip", package("a.txt"), "document_type"),
        ("a.xlsx", b"PK\x03\x04 no package", "document_type"),
        ("a.xlsx", package("[Content_Types].xml", "ppt/slide.xml"), "document_type"),
        ("a.xlsm", package("[Content_Types].xml", "xl/vbaProject.bin"), "document_macros"),
        ("a.pdf", PNG, "document_ending"),
        ("a.html", b"<html><script>alert(1)</script></html>", "document_ending"),
        ("a.svg", b"<svg xmlns='x'><script/></svg>", "document_ending"),
        ("certificate", PDF, "document_ending"),
        ("a.pdf\u202etxt", PDF, "document_ending"),
    ],
)
def test_what_may_not_be_attached_is_refused_with_a_sentence(name, data, code):
    with pytest.raises(DomainError) as refused:
        content.checked(name, data)
    assert (refused.value.code, refused.value.field) == (code, "file")


def test_more_than_ten_megabytes_are_refused_and_ten_are_not():
    largest = PDF + bytes(content.LARGEST - len(PDF))
    assert content.checked("a.pdf", largest)[0] == "a.pdf"
    with pytest.raises(DomainError) as refused:
        content.checked("a.pdf", largest + b"x")
    assert refused.value.code == "document_too_large"


@pytest.mark.parametrize(
    ("name", "clean"),
    [
        ("../../etc/passwd.txt", "passwd.txt"),
        ("C:\\scans\\one.pdf", "one.pdf"),
        ("..hidden.pdf", "hidden.pdf"),
        ('a"b<c>\r\n\x00d\u202e.pdf', "abcd.pdf"),
        ("  two   words .pdf", "two words.pdf"),
        (".pdf", "pdf"),
        ("", "file"),
        ("Prüfschein 4711.pdf", "Prüfschein 4711.pdf"),
        ("x" * 300 + ".pdf", "x" * 116 + ".pdf"),
    ],
)
def test_a_name_is_cleaned(name, clean):
    assert content.clean_name(name) == clean


# ---------------------------------------------------------------- how it is kept


@pytest.fixture(scope="module")
def source(site):
    return factories.make_source(site, serial="K-1")


def certificate(**fields: Any) -> Document:
    values = {"title": "Certificate 4711", "file": Upload("c.pdf", PDF), "kind": "certificate"}
    return Document(**(values | fields))


def add(item: Any, document: Document, **fields: Any) -> Record:
    return add_document(
        item, document, **({"by": factories.rps_of(item.site), "at": factories.tick()} | fields)
    )


@pytest.mark.django_db
def test_a_document_is_a_record_about_the_thing_with_its_file(source):
    record = add(source, certificate(dated_on=date(2020, 11, 1)))
    assert record.kind == "document_added"
    assert [one.item for one in record.about.all()] == [source]
    assert read_body(record)["detail"] == {
        "title": "Certificate 4711",
        "document_kind": "certificate",
        "dated_on": "2020-11-01",
    }
    kept = record.attachments.get()
    assert (kept.name, kept.sha256) == ("c.pdf", hashlib.sha256(PDF).hexdigest())
    assert path_of(kept.sha256).read_bytes() == PDF
    assert list(verify(record.chain)) == []


@pytest.mark.django_db
def test_the_day_on_a_document_makes_no_late_entry(source):
    record = add(source, certificate(dated_on=date(2010, 1, 1)))
    assert record.effective_on == source.site.day(record.recorded_at)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"title": "  "}, "document_needs_title"),
        ({"dated_on": date(2030, 1, 1)}, "document_dated_in_future"),
        ({"file": Upload("c.pdf", b"")}, "document_empty"),
    ],
)
def test_an_incomplete_document_writes_nothing(source, fields, code):
    before = Record.objects.count()
    with pytest.raises(DomainError) as refused:
        add(source, certificate(**fields))
    assert refused.value.code == code
    assert Record.objects.count() == before


@pytest.mark.django_db
def test_the_same_request_writes_once(source):
    key = uuid.uuid4()
    first = add(source, certificate(), request_key=key)
    assert add(source, certificate(), request_key=key) == first
    assert Attachment.objects.count() == 1


@pytest.mark.django_db
def test_a_file_attached_to_a_record_names_it_and_concerns_the_same_things(source, counter):
    wipe = factories.record_wipe(source, counter, date(2025, 10, 1))
    record = attach_to_record(
        wipe, certificate(), by=factories.rps_of(source.site), at=factories.tick()
    )
    assert [(one.target, one.role) for one in record.links.all()] == [(wipe, "documents")]
    assert [one.item for one in record.about.all()] == [source]
    assert wipe.attachments.count() == 0


@pytest.mark.django_db
def test_a_document_changes_no_requirement(source, counter):
    from inventory.timeline import RequirementSpan

    factories.record_wipe(source, counter, date(2025, 10, 1))
    spans = RequirementSpan.objects.filter(item=source).order_by("requirement", "from_on")
    fields = ("requirement", "from_on", "until_on", "state", "due_on")
    before = list(spans.values_list(*fields))
    add(source, certificate())
    assert list(spans.values_list(*fields)) == before


# ---------------------------------------------------------------- on pages


@pytest.fixture
def clock(monkeypatch):
    stop_clock(monkeypatch)


def send(client: Any, address: str, data: bytes = PDF, name: str = "c.pdf", **fields: Any) -> Any:
    sent = {
        **{"request_key": str(uuid.uuid4()), "seen": "9999", "title": "Certificate 4711"},
        **{"document_kind": "certificate", "dated_on": "2020-11-01"},
        "file": SimpleUploadedFile(name, data),
    }
    return client.post(address, sent | fields)


def form_of(item: Any) -> str:
    return reverse("document-new", args=["thornmere", item.code])


@pytest.mark.django_db
def test_an_uploaded_document_stands_on_the_page_with_its_hash_and_comes_back(clock, source):
    client = browser(factories.rps_of(source.site))
    response = send(client, form_of(source), name="../Certificate 4711.pdf")
    assert response["Location"] == reverse("item", args=["thornmere", source.code])
    page = Page(client.get(response["Location"]))
    digest = hashlib.sha256(PDF).hexdigest()
    assert digest in page.text
    assert "Certificate of 1 Nov 2020" in page.text
    file = client.get(next(link for link in page.links() if "/files/" in link))
    assert b"".join(file.streaming_content) == PDF
    disposition = file["Content-Disposition"]
    assert disposition == 'attachment; filename="Certificate 4711.pdf"'
    assert file["X-Content-Type-Options"] == "nosniff"
    assert file["Content-Type"] == "application/pdf"


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["gauge", "monitor", "location"])
def test_every_thing_takes_documents(clock, site, counter, kind):
    made = {
        "gauge": factories.make_gauge,
        "monitor": lambda _site: counter,
        "location": factories.make_location,
    }
    item = made[kind](site)
    client = browser(factories.rps_of(site))
    send(client, form_of(item))
    assert "Certificate 4711" in Page(client.get(f"/thornmere/items/{item.code}/")).text


@pytest.mark.django_db
def test_a_double_click_writes_once_and_another_file_is_another_act(clock, source):
    client, key = browser(factories.rps_of(source.site)), str(uuid.uuid4())
    before = Record.objects.count()
    for _ in range(2):
        send(client, form_of(source), request_key=key)
    assert Record.objects.count() == before + 1
    send(client, form_of(source), data=PDF + b"2", request_key=key)
    assert Record.objects.count() == before + 2


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "data", "sentence"),
    [
        ("c.pdf", b"", "The file is empty."),
        ("c.exe", b"MZ" + bytes(60), "is none of these: PDF, PNG"),
        ("c.png", PDF, "holds PDF: give it the ending .pdf"),
        ("c.pdf", PDF + bytes(content.LARGEST), "is larger than 10 MB"),
    ],
)
def test_the_form_refuses_with_one_sentence_and_keeps_what_was_written(
    clock, source, name, data, sentence
):
    before = Record.objects.count()
    page = Page(send(browser(factories.rps_of(source.site)), form_of(source), data, name))
    assert sentence in page.text
    assert any(attrs.get("value") == "Certificate 4711" for attrs in page.all("input"))
    assert Record.objects.count() == before


@pytest.mark.django_db
def test_a_file_that_was_changed_on_disk_is_not_handed_out(clock, source):
    record = add(source, certificate(file=Upload("c.pdf", PDF + b"to be spoilt")))
    kept = record.attachments.get()
    path_of(kept.sha256).write_bytes(PDF + b"spoilt")
    address = reverse("document", args=["thornmere", record.seq, kept.sha256])
    client = browser(factories.rps_of(source.site))
    response = client.get(address)
    assert response.status_code == 409
    assert "is no longer the file that was recorded" in Page(response).text
    assert b"spoilt" not in response.content
    path_of(kept.sha256).unlink()
    assert "cannot be read where it was kept" in Page(client.get(address)).text


@pytest.mark.django_db
def test_a_text_is_handed_out_as_a_download_never_as_a_page(clock, source):
    html = b"<html><script>alert(1)</script></html>"
    record = add(source, certificate(file=Upload("c.txt", html)))
    kept = record.attachments.get()
    address = reverse("document", args=["thornmere", record.seq, kept.sha256])
    response = browser(factories.rps_of(source.site)).get(address)
    assert response["Content-Type"] == "text/plain; charset=utf-8"
    assert response["Content-Disposition"].startswith("attachment")
    assert "default-src 'none'" in response["Content-Security-Policy"]


@pytest.mark.django_db
def test_a_hash_of_another_record_is_not_found(clock, source, counter):
    record = add(source, certificate())
    wipe = factories.record_wipe(source, counter, date(2025, 10, 1))
    kept = record.attachments.get()
    client = browser(factories.rps_of(source.site))
    assert client.get(f"/thornmere/records/{wipe.seq}/files/{kept.sha256}/").status_code == 404
    assert client.get(f"/thornmere/records/{record.seq}/files/{'0' * 64}/").status_code == 404


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("role", "offered"),
    [(Role.RPS, True), (Role.TECHNICIAN, True), (Role.MANAGER, False), (Role.INSPECTOR, False)],
)
def test_adding_is_offered_to_those_who_enter(clock, site, source, counter, role, offered):
    wipe = factories.record_wipe(source, counter, date(2025, 10, 1))
    client = browser(staff(site, role))
    item = Page(client.get(f"/thornmere/items/{source.code}/"))
    assert (form_of(source) in item.links()) is offered
    record = Page(client.get(f"/thornmere/records/{wipe.seq}/"))
    attach = reverse("document-attach", args=["thornmere", wipe.seq])
    assert (attach in record.links()) is offered


@pytest.mark.django_db
def test_what_was_attached_to_a_record_stands_on_its_page(clock, source, counter):
    wipe = factories.record_wipe(source, counter, date(2025, 10, 1))
    client = browser(factories.rps_of(source.site))
    send(client, reverse("document-attach", args=["thornmere", wipe.seq]))
    page = Page(client.get(f"/thornmere/records/{wipe.seq}/"))
    assert "Certificate 4711" in page.text
    assert hashlib.sha256(PDF).hexdigest() in page.text
